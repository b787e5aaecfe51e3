#!/usr/bin/env python3
"""How many bytes a stored reading takes: 40 tags at 1 Hz, on the second and with jitter, beside other ways.

Each day is written by `bakehouse csv`, loaded by `ovenward backfill`, sealed, and read back by polars, which must find
every reading as it was. Beside it: what polars' own writer makes of the same rows, as they come and sorted like
ours, and 16 bytes a reading, the least that two plain columns of time and value take. The regular days stay in
target/bench-month, for tables.py.
"""

import shutil
import subprocess

import support

support.use_own_python()

import millbrook
import polars as pl

HEAD = ["times", "days", "readings", "ovenward B", "polars, as it comes B", "polars, sorted B", "raw B", "exact"]
KEPT = ["tag", "time", "value", "text"]


def main():
    parser = support.arguments(__doc__)
    parser.add_argument("--days", type=int, default=30, help="days of regular times (default: %(default)s)")
    parser.add_argument("--jitter-days", type=int, default=3, help="days with jitter (default: %(default)s)")
    asked = parser.parse_args()
    programs = support.programs(asked.binaries)
    print(support.machine(), flush=True)
    shutil.rmtree(millbrook.MONTH, ignore_errors=True)
    millbrook.MONTH.mkdir(parents=True)
    rows = [["regular", asked.days, *measure(programs, millbrook.MONTH, asked.days, jitter=False)]]
    (millbrook.MONTH / "complete").touch()
    with support.folder() as place:
        rows.append(["±5 ms", asked.jitter_days, *measure(programs, place, asked.jitter_days, jitter=True)])
    support.table(HEAD, rows)


def measure(programs, place, days, jitter):
    config = millbrook.config(place)
    readings, bytes_by_polars, exact = 0, [0, 0], True
    for number in range(days):
        path = millbrook.day(programs, place, number, jitter)
        backfill = [programs / "ovenward", "--config", config, "backfill", path]
        subprocess.run(backfill, check=True, stdout=subprocess.DEVNULL)
        wanted = millbrook.read_day(path)
        readings += wanted.height
        exact &= wanted.equals(stored(place, number))
        by_time = wanted.sort("time", maintain_order=True)
        for at, frame in enumerate([by_time, wanted]):
            written = place / "polars.parquet"
            frame.write_parquet(written)
            bytes_by_polars[at] += written.stat().st_size
        path.unlink()
    ours = sum(file.stat().st_size for file in place.glob("data/readings/**/*.parquet"))
    per_reading = [f"{size / readings:.2f}" for size in [ours, *bytes_by_polars]]
    return [f"{readings:,}", *per_reading, "16.00", "yes" if exact else "NO"]


def stored(place, number):
    """A sealed day, as any engine would read it."""
    date = millbrook.FIRST + millbrook.datetime.timedelta(days=number)
    files = list(place.glob(f"data/readings/**/date={date}/*.parquet"))
    return pl.concat(pl.read_parquet(file, hive_partitioning=False) for file in files).select(KEPT).sort("tag", "time")


if __name__ == "__main__":
    main()
