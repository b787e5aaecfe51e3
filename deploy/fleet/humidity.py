"""Moist air in Spark's own expressions: no function of Python's runs on the workers.

Saturation by IAPWS R7-97(2012), region 4, equations 30 and 31; humidity ratio by ASHRAE Fundamentals 2017, chapter 1,
equation 20 (both from memory). From 0 °C to the critical point: what is colder, which no oven at work is, has no value here.
"""

from pyspark.sql import functions as F

WATER_TO_AIR_MASS = 0.621945
CRITICAL_C = 373.946
FREEZING_PA = 611.2126774443453
N = [
    0.11670521452767e4, -0.72421316703206e6, -0.17073846940092e2, 0.12020824702470e5, -0.32325550322333e7,
    0.14915108613530e2, -0.48232657361591e4, 0.40511340542057e6, -0.23855557567849, 0.65017534844798e3,
]  # fmt: skip


def saturation_pressure(celsius):
    """°C to Pa, 0 to 373.946 °C, else null."""
    kelvin = celsius + 273.15
    theta = kelvin + N[8] / (kelvin - N[9])
    a = (theta + N[0]) * theta + N[1]
    b = (N[2] * theta + N[3]) * theta + N[4]
    c = (N[5] * theta + N[6]) * theta + N[7]
    root = 2 * c / (F.sqrt(b * b - 4 * a * c) - b)
    return F.when(celsius.between(0, CRITICAL_C), root * root * root * root * 1e6)


def saturation_temperature(pascal):
    """Pa to °C, the inverse of the same equation; below 0 °C null."""
    beta = F.sqrt(F.sqrt(pascal * 1e-6))
    e = (beta + N[2]) * beta + N[5]
    f = (N[0] * beta + N[3]) * beta + N[6]
    g = (N[1] * beta + N[4]) * beta + N[7]
    d = -2 * g / (f + F.sqrt(f * f - 4 * e * g))
    kelvin = (N[9] + d - F.sqrt((N[9] + d) * (N[9] + d) - 4 * (N[8] + N[9] * d))) / 2
    return F.when(pascal >= FREEZING_PA, kelvin - 273.15)


def moisture(quantity, value, pressure_pa):
    """Water by volume, 0 to 1, of a humidity reading of any kind; null of what no air has."""
    by_dew_point = saturation_pressure(value) / pressure_pa
    fraction = (
        F.when(quantity == "dew_point", by_dew_point)
        .when(quantity == "moisture", value / 100)
        .when(quantity == "humidity_ratio", F.when(value >= 0, value / (WATER_TO_AIR_MASS + value)))
    )
    return F.when((fraction >= 0) & (fraction < 1), fraction)


def humidity_ratio(fraction):
    """kg of water a kg of dry air."""
    return WATER_TO_AIR_MASS * fraction / (1 - fraction)


def dew_point(quantity, value, fraction, pressure_pa):
    """°C: the reading itself if that is what it shows."""
    shown = F.when(fraction.isNotNull() & (quantity == "dew_point"), value)
    return F.coalesce(shown, F.when(fraction > 0, saturation_temperature(fraction * pressure_pa)))
