"""Moist air, column by column, in Spark's own expressions: no function of Python's runs on the workers.

Saturation by IAPWS R7-97(2012), region 4, equations 30 and 31; humidity ratio by ASHRAE Fundamentals 2017, chapter 1,
equation 20 (both from memory). From 0 °C to the critical point: what is colder, which no oven at work is, has no value here.

Each step is a column of its own. Written into one another, the steps would make expressions of ten thousand terms, since
each uses the one before several times, and Spark would spend more on reading them than on the readings.
"""

from pyspark.sql import functions as F

WATER_TO_AIR_MASS = 0.621945
CRITICAL_C = 373.946
FREEZING_PA = 611.2126774443453
N = [
    0.11670521452767e4, -0.72421316703206e6, -0.17073846940092e2, 0.12020824702470e5, -0.32325550322333e7,
    0.14915108613530e2, -0.48232657361591e4, 0.40511340542057e6, -0.23855557567849, 0.65017534844798e3,
]  # fmt: skip


def with_humidity(frame):
    """Adds what a humidity reading of any kind (`quantity`, `base`, at `pressure_pa`) says: `fraction` of water by volume,
    0 to 1, `ratio`, kg of water a kg of dry air, and `dew_point`, °C. Null of other readings and of what no air has."""
    quantity, value, pressure = F.col("quantity"), F.col("base"), F.col("pressure_pa")
    celsius = F.when((quantity == "dew_point") & value.between(0, CRITICAL_C), value)
    frame = _saturation_pressure(frame, celsius)
    share = (
        F.when(quantity == "dew_point", F.col("_saturation") / pressure)
        .when(quantity == "moisture", value / 100)
        .when((quantity == "humidity_ratio") & (value >= 0), value / (WATER_TO_AIR_MASS + value))
    )
    fraction = F.when((F.col("_share") >= 0) & (F.col("_share") < 1), F.col("_share"))
    ratio = WATER_TO_AIR_MASS * F.col("fraction") / (1 - F.col("fraction"))
    frame = frame.withColumn("_share", share).withColumn("fraction", fraction).withColumn("ratio", ratio)
    # A dew point that is measured is itself; it is worked out of the other kinds alone.
    vapour = F.when(quantity != "dew_point", F.col("fraction") * pressure)
    frame = _saturation_temperature(frame, vapour)
    measured = F.when((quantity == "dew_point") & F.col("fraction").isNotNull(), value)
    frame = frame.withColumn("dew_point", F.coalesce(measured, F.col("_dew")))
    return frame.drop(*(name for name in frame.columns if name.startswith("_")))


def _saturation_pressure(frame, celsius):
    """Adds `_saturation`, Pa."""
    theta, a, b, c = (F.col(name) for name in ("_theta", "_a", "_b", "_c"))
    return (
        frame.withColumn("_kelvin", celsius + 273.15)
        .withColumn("_theta", F.col("_kelvin") + N[8] / (F.col("_kelvin") - N[9]))
        .withColumn("_a", (theta + N[0]) * theta + N[1])
        .withColumn("_b", (N[2] * theta + N[3]) * theta + N[4])
        .withColumn("_c", (N[5] * theta + N[6]) * theta + N[7])
        .withColumn("_root", 2 * c / (F.sqrt(b * b - 4 * a * c) - b))
        .withColumn("_saturation", F.pow("_root", F.lit(4.0)) * 1e6)
    )


def _saturation_temperature(frame, pascal):
    """Adds `_dew`, °C, the inverse of the same equation."""
    beta, e, f, g, d = (F.col(name) for name in ("_beta", "_e", "_f", "_g", "_d"))
    above = N[9] + d
    return (
        frame.withColumn("_vapour", pascal)
        .withColumn("_beta", F.when(F.col("_vapour") >= FREEZING_PA, F.sqrt(F.sqrt(F.col("_vapour") * 1e-6))))
        .withColumn("_e", (beta + N[2]) * beta + N[5])
        .withColumn("_f", (N[0] * beta + N[3]) * beta + N[6])
        .withColumn("_g", (N[1] * beta + N[4]) * beta + N[7])
        .withColumn("_d", -2 * g / (f + F.sqrt(f * f - 4 * e * g)))
        .withColumn("_dew", (above - F.sqrt(above * above - 4 * (N[8] + N[9] * d))) / 2 - 273.15)
    )
