"""Days of Millbrook Bakery, invented: tunnel-1 and tunnel-2 with 40 tags at 1 Hz, as a plant would record them."""

import datetime
import shutil
import subprocess

import polars as pl

import support

FIRST = datetime.date(2026, 6, 1)
LINES = "^mill/tunnel-[12]/"
JITTER_MS = 5
# Left behind by storage.py for tables.py.
MONTH = support.REPOSITORY / "target/bench-month"


def config(place):
    """The demo's bakery, with a store in `place`."""
    return shutil.copy(support.REPOSITORY / "config/demo.toml", place / "plant.toml")


def day(programs, place, number, jitter):
    """Writes one day as CSV, and gives its path: each reading on the second, or up to 5 ms before or after it."""
    drawn, path = place / "drawn.csv", place / "day.csv"
    begins = f"{FIRST + datetime.timedelta(days=number)}T00:00:00Z"
    subprocess.run([programs / "bakehouse", "csv", "--from", begins, "--days", "1", "--interval", "1",
                    "--seed", str(number + 1), "--out", drawn], check=True, stderr=subprocess.DEVNULL)  # fmt: skip
    readings = pl.scan_csv(drawn, schema={"time": pl.String, "tag": pl.String, "value": pl.String})
    readings = readings.filter(pl.col("tag").str.contains(LINES)).collect()
    if jitter:
        readings = readings.with_columns(time=jittered(readings["time"], number))
    readings.write_csv(path)
    drawn.unlink()
    return path


def jittered(times, seed):
    """The same times, each moved by whole milliseconds."""
    span = 2 * JITTER_MS + 1
    moves = pl.int_range(times.len(), eager=True).hash(seed) % span
    # All of it later, so that none falls into the day before.
    moved = times.str.to_datetime("%Y-%m-%dT%H:%M:%S%.3fZ", time_unit="ms") + pl.duration(milliseconds=JITTER_MS)
    moved = moved + (moves.cast(pl.Int64) - JITTER_MS).cast(pl.Duration("ms"))
    return moved.dt.strftime("%Y-%m-%dT%H:%M:%S%.3fZ")


def read_day(path):
    """The readings of a day's CSV with their types, by tag and time: what the store must give back."""
    readings = pl.read_csv(path, schema={"time": pl.String, "tag": pl.String, "value": pl.String})
    return readings.select(
        "tag",
        time=pl.col("time").str.to_datetime("%Y-%m-%dT%H:%M:%S%.3fZ", time_unit="us", time_zone="UTC"),
        value=pl.col("value").cast(pl.Float64, strict=False),
        text=pl.when(pl.col("tag").str.ends_with("/product")).then(pl.col("value")),
    ).sort("tag", "time")
