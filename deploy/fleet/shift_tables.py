"""The shift profile table once more, from the readings: a check of the tables that the plants sent.

What is taken from the plants is when which product was baked (their stretches); everything else is worked out anew by
the definitions that stand beside the columns in `ovenward export --what shifts`. A reading counts if it lies in a
stretch, has a quality of 64 or more, and is believable by the config; statistics count each reading once; quantiles
interpolate between the two readings next to rank (n - 1) q.

Not worked out here, since it needs more than readings: `coverage_pct` (it knows what was lost on the way to the
plant's service), `normal_id`, `departure` and `alerts` (what detection made of it).
"""

from pyspark.sql import Window
from pyspark.sql import functions as F

from humidity import with_humidity

SHIFT = ["site", "line", "date", "shift", "product"]
ZONE = [*SHIFT, "zone"]
COLUMNS = [
    "running_min", "readings", "moisture_pct_mean", "moisture_pct_p05", "moisture_pct_p50", "moisture_pct_p95",
    "dew_point_c_mean", "humidity_ratio_mean", "air_temperature_c_mean", "air_temperature_c_p05",
    "air_temperature_c_p95", "exhaust_damper_pct_mean", "band_speed_m_min_mean", "band_speed_m_min_max",
    "bake_time_min_mean", "peak_zone", "drop_1_to_2_pct", "zone3_to_peak_pct",
]  # fmt: skip
# Two ways of adding up the same readings differ by no more than this share of the sum.
ROUNDING = 1e-9


def recomputed(tree):
    """A row for each zone of each oven, shift and product in which something was baked."""
    baked = _measured(tree)
    minutes = (F.unix_micros("ends") - F.unix_micros("starts")) / F.lit(60e6)
    rows = tree.stretches().groupBy(*SHIFT).agg(F.sum(minutes).alias("running_min"))
    rows = rows.join(_zones(tree), ["site", "line"])
    rows = rows.join(_by_zone(baked), ZONE, "left").join(_by_line(baked), SHIFT, "left")
    return _shape(rows.fillna(0, ["readings"]))


def agreement(own, recomputed_rows):
    """A row a column: how many rows were compared, how far apart the two are at most, and how many differ."""
    ours = own.select(*ZONE[:2], F.col("date").cast("string").alias("date"), *ZONE[3:], *COLUMNS)
    theirs = recomputed_rows.select(*ZONE, *(F.col(column).alias(f"{column}_again") for column in COLUMNS))
    both = ours.withColumn("here", F.lit(1)).join(theirs.withColumn("there", F.lit(1)), ZONE, "full").cache()
    pairs = ", ".join(f"'{name}', cast({name} as double), cast({name}_again as double)" for name in COLUMNS)
    figures = both.select(F.expr(f"stack({len(COLUMNS)}, {pairs}) as (column, one, other)"))
    one, other = F.col("one"), F.col("other")
    apart = F.abs(one - other) / F.greatest(F.abs(one), F.abs(other), F.lit(1e-300))
    differs = (one.isNull() != other.isNull()) | F.coalesce(apart > ROUNDING, F.lit(False))
    by_column = figures.groupBy("column").agg(
        F.count("*").alias("rows"),
        F.count(apart).alias("compared"),
        F.max(apart).alias("largest_relative_difference"),
        F.sum(differs.cast("long")).alias("differing"),
    )
    missing = both.where(F.col("here").isNull() | F.col("there").isNull()).count()
    return by_column.orderBy("column"), missing


def _zones(tree):
    ovens = tree.ovens().select("site", "line", F.explode(F.sequence(F.lit(1), "zones")).alias("zone"))
    return F.broadcast(ovens)


def _measured(tree):
    """Readings of numbers in stretches of baking, each in the unit used for calculation."""
    raw = F.col("value") * F.col("scale") + F.col("offset")
    believable = (F.col("min").isNull() | (raw >= F.col("min"))) & (F.col("max").isNull() | (raw <= F.col("max")))
    readings = tree.readings().where("value is not null and quality >= 64")
    # By tag and not by folder: a signal that the config moved to another line keeps its tag.
    readings = readings.select("site", "tag", "time", "value", F.col("date").alias("day"))
    signals = tree.signals()
    has_speed = signals.where("quantity = 'band_speed'").select("site", "line").distinct()
    signals = signals.join(has_speed.withColumn("has_speed", F.lit(True)), ["site", "line"], "left")
    signals = signals.join(tree.ovens().select("site", "line", "length_m"), ["site", "line"])
    readings = readings.join(F.broadcast(signals), ["site", "tag"]).where(believable)
    readings = readings.withColumn("base", raw * F.col("factor") + F.col("base_offset"))
    # A reading meets the stretches of its own day only, of which there are few.
    days = F.sequence(F.to_date("starts"), F.to_date(F.timestamp_micros(F.unix_micros("ends") - 1)))
    stretches = tree.stretches().select(*SHIFT, F.explode(days).alias("day"), "starts", "ends")
    stretches = F.broadcast(stretches.withColumn("day", F.col("day").cast("string")))
    baked = readings.join(stretches, ["site", "line", "day"]).where("time >= starts and time < ends")
    return _with_meaning(baked)


def _with_meaning(baked):
    quantity, value = F.col("quantity"), F.col("base")
    # Of a line that measures its band speed, a bake time that is sent as well says nothing.
    speed = F.when((quantity == "band_speed") & (value >= 0), value).when(
        (quantity == "bake_time") & (value > 0) & F.col("has_speed").isNull(), F.col("length_m") / value
    )
    return (
        with_humidity(baked)
        .withColumn("air", F.when((quantity == "air_temperature") & (value > -273.15), value))
        .withColumn("damper", F.when(quantity == "exhaust_damper", value))
        .withColumn("speed", speed)
    )


def _by_zone(baked):
    moisture = F.col("fraction") * 100
    counted = F.count("fraction") + F.count("air") + F.count("damper")
    return baked.where("zone is not null").groupBy(*ZONE).agg(
        counted.alias("readings"),
        F.avg(moisture).alias("moisture_pct_mean"),
        *(F.percentile(moisture, F.lit(q)).alias(f"moisture_pct_p{q * 100:02.0f}") for q in (0.05, 0.5, 0.95)),
        F.avg("dew_point").alias("dew_point_c_mean"),
        F.avg("ratio").alias("humidity_ratio_mean"),
        F.avg("air").alias("air_temperature_c_mean"),
        *(F.percentile("air", F.lit(q)).alias(f"air_temperature_c_p{q * 100:02.0f}") for q in (0.05, 0.95)),
        F.avg("damper").alias("exhaust_damper_pct_mean"),
    )


def _by_line(baked):
    bake_time = F.when(F.col("speed") > 0, F.col("length_m") / F.col("speed"))
    return baked.where("zone is null").groupBy(*SHIFT).agg(
        F.avg("speed").alias("band_speed_m_min_mean"),
        F.max("speed").alias("band_speed_m_min_max"),
        F.avg(bake_time).alias("bake_time_min_mean"),
    )


def _shape(rows):
    """The shape of the humidity profile, from the mean moisture of the zones."""
    whole = Window.partitionBy(*SHIFT)
    moisture = F.col("moisture_pct_mean")
    of_zone = lambda zone: F.max(F.when(F.col("zone") == zone, moisture)).over(whole)
    peak = F.max(moisture).over(whole)
    rows = rows.withColumn("peak", peak)
    at_peak = F.min(F.when(moisture == F.col("peak"), F.col("zone"))).over(whole)
    share = lambda part, of: F.when(of > 0, 100 * part / of)
    return (
        rows.withColumn("peak_zone", at_peak)
        .withColumn("drop_1_to_2_pct", share(of_zone(1) - of_zone(2), of_zone(1)))
        .withColumn("zone3_to_peak_pct", share(of_zone(3), F.col("peak")))
        .drop("peak")
    )
