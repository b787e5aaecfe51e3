"""Ovens that differ from their sisters.

Sisters bake the same product in ovens that are heated alike and have as many zones. An oven's level of a figure in a
zone is the median of its shifts; it is held against the median of its sisters' levels, in units of how far those lie from
that median themselves: 1.4826 times the median distance, which is the standard deviation where they lie as a bell. The
oven itself is not among those it is held against, and neither measure is moved by one more odd oven among the sisters.
"""

from pyspark.sql import functions as F

# What makes a level: shifts in which the product was baked at least so long, and so many of them.
SHORTEST_MIN = 20.0
FEWEST_SHIFTS = 3
# A median distance of two or three ovens is chance.
FEWEST_SISTERS = 4
# So many units away is far.
FAR = 6.0
# Column of the shift table: its name, its unit, and the least that sisters are taken to differ by: what two probes of one
# kind side by side may show (common practice, from memory; replace by what yours do).
MEASURES = {
    "moisture_pct_mean": ("moisture", "% vol", 0.6),
    "air_temperature_c_mean": ("air temperature", "degC", 2.0),
    "exhaust_damper_pct_mean": ("exhaust damper", "%", 3.0),
}
ALIKE = ["product", "firing", "zones", "zone", "measure"]


def levels(shifts, ovens):
    """A row for each oven, product, zone and measure with enough shifts."""
    pairs = ", ".join(f"'{column}', {column}" for column in MEASURES)
    long = shifts.where(F.col("running_min") >= SHORTEST_MIN).select(
        "site", "line", "product", "zone", F.expr(f"stack({len(MEASURES)}, {pairs}) as (measure, value)")
    )
    level = long.where("value is not null").groupBy("site", "line", "product", "zone", "measure").agg(
        F.percentile("value", F.lit(0.5)).alias("level"), F.count("*").alias("shifts")
    )
    return level.where(F.col("shifts") >= FEWEST_SHIFTS).join(F.broadcast(ovens), ["site", "line"])


def compared(levels):
    """The same rows with enough sisters, and how far each lies from them."""
    oven = ["site", "line", *ALIKE]
    others = levels.select(
        *ALIKE, F.col("site").alias("of_site"), F.col("line").alias("of_line"), F.col("level").alias("of_level")
    )
    another = (F.col("site") != F.col("of_site")) | (F.col("line") != F.col("of_line"))
    pairs = levels.join(others, ALIKE).where(another).cache()
    centre = pairs.groupBy(*oven).agg(
        F.percentile("of_level", F.lit(0.5)).alias("sisters_median"), F.count("*").alias("sisters")
    )
    around = pairs.join(centre, oven)
    distance = F.abs(F.col("of_level") - F.col("sisters_median"))
    spread = around.groupBy(*oven).agg((1.4826 * F.percentile(distance, F.lit(0.5))).alias("sisters_spread"))
    rows = levels.join(centre, oven).join(spread, oven).where(F.col("sisters") >= FEWEST_SISTERS)
    least = F.create_map(*(F.lit(part) for name, (_, _, least) in MEASURES.items() for part in (name, least)))
    unit = F.greatest("sisters_spread", least[F.col("measure")])
    return rows.withColumn("deviation", (F.col("level") - F.col("sisters_median")) / unit)


def differing(compared):
    """Those that are far away, farthest first."""
    return compared.where(F.abs("deviation") >= FAR).orderBy(F.abs("deviation").desc(), "site", "line", "product", "zone")


def in_words(row):
    """A sentence for a person."""
    name, unit, _ = MEASURES[row.measure]
    apart = abs(row.level - row.sisters_median)
    way = "above" if row.level > row.sisters_median else "below"
    return (
        f"{row.line} of {row.site}, {row.product}, zone {row.zone}: {name} {row.level:.1f} {unit}, {apart:.1f} {way} the "
        f"median of {row.sisters} sisters ({row.sisters_median:.1f}, within {row.sisters_spread:.1f}), over {row.shifts} shifts"
    )
