#!/usr/bin/env python3
"""What the lake of many plants costs: `ovenward lake push` of days of Millbrook Bakery into a folder, and the fleet job
over them on one core and on two.

The folder is on this machine, so what a network adds is not in the figures. The job's Python with Spark is that of
tests/run (`--python`).
"""

import os
import subprocess
import sys
import time
from pathlib import Path

import support

FROM = "2026-06-02T00:00:00Z"
JOB = support.REPOSITORY / "deploy/fleet"
MODULES = ["humidity.py", "normals.py", "shift_tables.py", "sisters.py", "tree.py"]
HEAD = ["what", "wall s", "CPU s", "peak MB", "readings", "readings/CPU s"]


def cost(command, **how):
    """Wall seconds, CPU seconds and peak memory (MB) of a command."""
    began = time.monotonic()
    quiet = {"stdout": subprocess.DEVNULL, "stderr": subprocess.DEVNULL}
    process = subprocess.Popen([str(part) for part in command], **quiet, **how)
    _, status, used = os.wait4(process.pid, 0)
    process.returncode = os.waitstatus_to_exitcode(status)
    if process.returncode != 0:
        sys.exit(f"{command[0]} failed")
    return time.monotonic() - began, used.ru_utime + used.ru_stime, used.ru_maxrss * 1024 / 1e6


def row(what, figures, readings):
    wall, cpu, peak = figures
    return [what, f"{wall:.1f}", f"{cpu:.1f}", f"{peak:.0f}", f"{readings:,}", f"{readings / cpu:,.0f}"]


def main():
    parser = support.arguments(__doc__)
    parser.add_argument("--python", type=Path, default=support.REPOSITORY / "target/fleet/bin", help="where spark-submit is")
    parser.add_argument("--days", type=float, default=1.0)
    parser.add_argument("--interval", type=float, default=1.0, help="seconds between two readings of a signal")
    parser.add_argument("--cores", type=int, nargs="+", default=[1, 2], help="of the job, one run each")
    asked = parser.parse_args()
    programs = support.programs(asked.binaries)
    print(support.machine(), flush=True)
    with support.folder() as place:
        lake = place / "lake"
        lake.mkdir()
        config = (support.REPOSITORY / "config/demo.toml").read_text()
        (place / "plant.toml").write_text(f'{config}\n[lake]\nurl = "file://{lake}"\n')
        subprocess.run([programs / "bakehouse", "csv", "--from", FROM, "--days", str(asked.days), "--interval",
                        str(asked.interval), "--out", place / "day.csv"], check=True, stderr=subprocess.DEVNULL)  # fmt: skip
        readings = sum(1 for _ in open(place / "day.csv")) - 1
        ovenward = [programs / "ovenward", "--config", place / "plant.toml"]
        rows = [row("backfill", cost([*ovenward, "backfill", place / "day.csv"]), readings)]
        rows.append(row("lake push", cost([*ovenward, "lake", "push"]), readings))
        rows.append(row("lake push, nothing new", cost([*ovenward, "lake", "push"]), readings))
        rows.append(row("lake verify", cost([*ovenward, "lake", "verify"]), readings))
        environment = {**os.environ, "PATH": f"{asked.python}:{os.environ['PATH']}", "SPARK_LOCAL_IP": "127.0.0.1"}
        for cores in asked.cores:
            command = [asked.python / "spark-submit", "--master", f"local[{cores}]", "--driver-memory", "2g",
                       "--conf", "spark.ui.enabled=false", "--conf", "spark.sql.shuffle.partitions=4", "--py-files",
                       ",".join(MODULES), "fleet.py", "--lake", f"file://{lake}", "--out", f"file://{place}/out"]  # fmt: skip
            rows.append(row(f"the job on {cores}", cost(command, cwd=JOB, env=environment), readings))
        support.table(HEAD, rows)
        sizes = {}
        for file in lake.rglob("*"):
            if file.is_file():
                kind = file.relative_to(lake).parts[0]
                objects, size = sizes.get(kind, (0, 0))
                sizes[kind] = (objects + 1, size + file.stat().st_size)
        table = [[kind, objects, f"{size:,}", f"{size / readings:.3f}"] for kind, (objects, size) in sorted(sizes.items())]
        support.table(["kind", "objects", "bytes", "bytes a reading"], table)
    print(f"load {os.getloadavg()[0]:.1f} at the end")


if __name__ == "__main__":
    sys.exit(main())
