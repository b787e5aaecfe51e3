#!/usr/bin/env python3
"""What the shift tables of a month cost: `ovenward shifts` beside DuckDB on the same files.

Both read the month that storage.py has left behind. DuckDB is asked less: mean and the three quantiles of each tag and
shift. `ovenward shifts` also finds when what was baked, turns humidity into moisture, dew point and humidity ratio,
counts coverage, and summarises these.
"""

import os
import subprocess
import sys
import time

import support

support.use_own_python()

import millbrook

HEAD = ["what", "wall s", "CPU s", "peak MB"]
# Shifts of eight hours from 06:00 British summer time, which is 05:00 UTC.
QUERY = """
SELECT line, tag, (epoch(time) - 5 * 3600)::BIGINT // (8 * 3600) AS shift,
       count(*), avg(value), quantile_cont(value, [0.05, 0.5, 0.95])
FROM read_parquet('{files}', hive_partitioning = true) WHERE value IS NOT NULL GROUP BY ALL
"""


def main():
    parser = support.arguments(__doc__)
    parser.add_argument("--rounds", type=int, default=3, help="the best of these counts (default: %(default)s)")
    asked = parser.parse_args()
    programs = support.programs(asked.binaries)
    month = millbrook.MONTH
    if not (month / "complete").exists():
        sys.exit("there is no month yet; run tests/bench/storage.py first")
    print(support.machine(), flush=True)
    shifts = [programs / "ovenward", "--config", month / "plant.toml", "shifts", "--format", "csv", "--out", os.devnull]
    whole = ["--from", "2026-06-01", "--to", "2026-07-01"]
    query = f"import duckdb; duckdb.sql('SET threads = {os.cpu_count()}; SET enable_progress_bar = false'); duckdb.sql('''{QUERY}''').fetchall()"
    query = query.format(files=month / "data/readings/**/*.parquet")
    commands = {
        "ovenward, the month": [*shifts, *whole],
        "DuckDB, the month": [sys.executable, "-c", query],
        "ovenward, a day": [*shifts, "--date", "2026-06-15"],
    }
    best = {name: min(cost(command) for _ in range(asked.rounds)) for name, command in commands.items()}
    support.table(HEAD, [[name, f"{wall:.2f}", f"{cpu:.2f}", f"{peak:.0f}"] for name, (cpu, wall, peak) in best.items()])


def cost(command):
    """CPU seconds, wall seconds and the most memory (MB) of a command."""
    began = time.monotonic()
    process = subprocess.Popen([str(part) for part in command])
    _, status, used = os.wait4(process.pid, 0)
    process.returncode = os.waitstatus_to_exitcode(status)
    if process.returncode != 0:
        sys.exit(f"{command[0]} failed")
    return used.ru_utime + used.ru_stime, time.monotonic() - began, used.ru_maxrss * 1024 / 1e6


if __name__ == "__main__":
    main()
