"""All plants together: one shift table, normals across like ovens, and ovens that differ from their sisters.

    spark-submit --py-files humidity.py,normals.py,shift_tables.py,sisters.py,tree.py fleet.py --lake URL --out URL

reads a lake by its manifests and writes, as folders of Parquet or CSV: `shifts` (every plant's tables in one), `agreement`
(the same worked out from the readings, column by column), `normals`, `sisters` and `differing`. The tables are advice
about where to look; an oven belongs to its maker's limits, local codes and licensed people.
"""

import argparse

from pyspark.sql import SparkSession

import normals
import shift_tables
import sisters
from tree import Tree


def arguments():
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--lake", required=True, help="the url of [lake], as Spark writes it (file:///..., s3a://...)")
    parser.add_argument("--out", required=True, help="the folder for the results; those of before are replaced")
    parser.add_argument("--from", dest="first", metavar="YYYY-MM-DD", help="the first day (UTC)")
    parser.add_argument("--to", dest="last", metavar="YYYY-MM-DD", help="the last day (UTC)")
    parser.add_argument("--format", choices=["parquet", "csv"], default="parquet")
    return parser.parse_args()


def main():
    asked = arguments()
    spark = SparkSession.builder.appName("ovenward fleet").getOrCreate()
    # Times are UTC everywhere in the lake; a local date stands in a column of its own.
    spark.conf.set("spark.sql.session.timeZone", "UTC")
    tree = Tree(spark, asked.lake, asked.first, asked.last)

    def write(name, frame):
        one_file = frame.coalesce(1).write.mode("overwrite").format(asked.format).option("header", True)
        one_file.save(f"{asked.out.rstrip('/')}/{name}")

    shifts = tree.shifts().cache()
    write("shifts", shifts.orderBy("site", "line", "starts", "product", "zone"))
    print(f"shifts: {shifts.count()} rows of {tree.ovens().count()} ovens, {tree.rows.get('readings', 0)} readings")

    figures, missing = shift_tables.agreement(shifts, shift_tables.recomputed(tree))
    figures = figures.cache()
    write("agreement", figures)
    told = figures.collect()
    differing = sum(figure.differing for figure in told)
    compared = sum(figure.compared for figure in told)
    print(f"agreement: {compared} figures worked out again, {differing} differ, {missing} rows only on one side")
    for figure in told:
        if figure.differing:
            print(f"  {figure.column}: {figure.differing} rows, by up to {figure.largest_relative_difference}")

    across = normals.across(tree)
    if across is None:
        print("normals: none is approved in any plant")
    else:
        write("normals", across)
        print(f"normals: {across.count()} rows of like ovens at one bake time")

    compared = sisters.compared(sisters.levels(shifts, tree.ovens())).cache()
    write("sisters", compared)
    far = sisters.differing(compared).cache()
    write("differing", far)
    print(f"sisters: {compared.count()} figures compared, {far.count()} far from their sisters")
    for row in far.collect():
        print(f"  {sisters.in_words(row)}")
    spark.stop()


if __name__ == "__main__":
    main()
