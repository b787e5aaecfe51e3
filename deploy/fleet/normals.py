"""What like ovens have learned of one product: their expected profiles at the same bake time, side by side.

Ovens are alike if they are heated in the same way and have as many zones. Spread is the median distance from the median:
one odd oven among several moves neither. Nothing here says that an oven is wrong; ovens of different lengths and
recipes may well bake one product differently.
"""

from pyspark.sql import functions as F

ALIKE = ["product", "firing", "zones", "zone", "bake_time_min"]
MEASURES = ["moisture_pct", "air_temperature_c"]


def across(tree):
    """A row for each product, kind of oven, zone and bake time that two or more ovens have learned."""
    profiles = tree.profiles()
    if profiles is None:
        return None
    ovens = tree.ovens().select("site", "line", "firing")
    profiles = profiles.join(F.broadcast(ovens), ["site", "line"])
    median = lambda measure: F.percentile(measure, F.lit(0.5))
    centres = profiles.groupBy(*ALIKE).agg(
        F.count_distinct("site", "line").alias("ovens"),
        *(median(measure).alias(f"{measure}_median") for measure in MEASURES),
        *(F.min(measure).alias(f"{measure}_lowest") for measure in MEASURES),
        *(F.max(measure).alias(f"{measure}_highest") for measure in MEASURES),
    )
    around = profiles.join(centres, ALIKE)
    distance = lambda measure: F.abs(F.col(measure) - F.col(f"{measure}_median"))
    spreads = around.groupBy(*ALIKE).agg(
        *(F.percentile(distance(measure), F.lit(0.5)).alias(f"{measure}_spread") for measure in MEASURES)
    )
    return centres.where("ovens >= 2").join(spreads, ALIKE).orderBy(*ALIKE)
