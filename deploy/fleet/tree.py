"""The lake as data frames: what its manifests list, and nothing else.

A file that no manifest lists was replaced, or left by a push that was cut off; who reads by folders sees it, and some
readings twice. Every object a manifest lists is there: the manifest is written last.
"""

from datetime import date, timedelta

from pyspark.sql import functions as F
from pyspark.sql import types as T

FORMAT = "ovenward-lake-1"
LONGEST_SHIFT = timedelta(days=4)

MANIFEST = T.StructType().add("format", "string").add("site", "string").add("date", "string").add(
    "objects", T.ArrayType(T.StructType().add("kind", "string").add("path", "string").add("rows", "long"))
)

SIGNAL = T.StructType([
    T.StructField(name, kind)
    for names, kind in [
        (("tag", "line", "quantity"), T.StringType()),
        (("scale", "offset", "factor", "base_offset", "min", "max"), T.DoubleType()),
        (("zone",), T.IntegerType()),
    ]
    for name in names
])  # fmt: skip
LINE = T.StructType().add("line", "string").add("firing", "string").add("length_m", "double").add(
    "zones_m", T.ArrayType(T.DoubleType())
)
PLANT = T.StructType().add("site", "string").add("name", "string").add("pressure_pa", "double").add(
    "lines", T.ArrayType(LINE)
).add("signals", T.ArrayType(SIGNAL))

READINGS = "time timestamp, tag string, value double, text string, quality short, site string, line string, date string"
STRETCHES = "site string, line string, date string, shift string, product string, starts timestamp, ends timestamp"


class Tree:
    """What counts in a lake, of the days (UTC) from `first` to `last` (texts such as 2026-06-02; none is no bound)."""

    def __init__(self, spark, root, first=None, last=None):
        self.spark, self.root = spark, root.rstrip("/")
        manifests = self._json("manifests", MANIFEST)
        foreign = manifests.where(F.col("format").isNull() | (F.col("format") != FORMAT)).limit(1).collect()
        if foreign:
            raise SystemExit(f"{root}: a manifest has the format {foreign[0].format!r}, this job reads {FORMAT!r}")
        objects = manifests.select("date", F.explode("objects").alias("object"))
        self.paths, self.rows = {}, {}
        for row in objects.select(F.col("date").alias("day"), "object.*").collect():
            # A shift that ended on the first day may have begun some days before, over a weekend say.
            begins = first and (date.fromisoformat(first) - LONGEST_SHIFT * (row.kind == "readings")).isoformat()
            if row.day and not (begins or row.day) <= row.day <= (last or row.day):
                continue
            self.paths.setdefault(row.kind, []).append(f"{self.root}/{row.path}")
            self.rows[row.kind] = self.rows.get(row.kind, 0) + (row.rows or 0)
        if "shifts" not in self.paths:
            raise SystemExit(f"{root}: no shift of the days asked for is published there")
        self.plants = self._json_files("plant", PLANT).cache()

    def _json(self, folder, schema):
        options = {"multiLine": True, "recursiveFileLookup": True, "pathGlobFilter": "*.json"}
        return self.spark.read.options(**options).schema(schema).json(f"{self.root}/{folder}")

    def _json_files(self, kind, schema):
        return self.spark.read.option("multiLine", True).schema(schema).json(self.paths.get(kind, []))

    def _parquet(self, kind):
        return self.spark.read.parquet(*self.paths[kind])

    def ovens(self):
        """A row an oven: site, line, firing, zones (how many), length_m."""
        line = self.plants.select("site", F.explode("lines").alias("line")).select("site", "line.*")
        return line.select("site", "line", "firing", F.size("zones_m").alias("zones"), "length_m")

    def signals(self):
        """A row a signal, with what makes its readings figures in the units used for calculation."""
        signal = self.plants.select("site", "pressure_pa", F.explode("signals").alias("signal"))
        return signal.select("site", "pressure_pa", "signal.*")

    def shifts(self):
        """The shift profile tables of all plants, as the plants made them."""
        return self._parquet("shifts")

    def stretches(self):
        """When which product was baked, within each shift."""
        if "stretches" not in self.paths:
            return self.spark.createDataFrame([], STRETCHES)
        return self._parquet("stretches")

    def readings(self):
        """Every reading once: time, tag, value or text, quality; `date` is its day (UTC)."""
        if "readings" not in self.paths:
            return self.spark.createDataFrame([], READINGS)
        based = self.spark.read.option("basePath", f"{self.root}/readings")
        return based.parquet(*self.paths["readings"]).withColumn("date", F.col("date").cast("string"))

    def profiles(self):
        """What approved normals expect at each bake time; none if nothing is approved anywhere."""
        return self._parquet("profiles") if "profiles" in self.paths else None
