#!/usr/bin/env python3
"""Whether the service stays the same size: 24 hours of a large plant in 20 minutes.

100 ovens with 39 numeric tags each send 3,900 readings a second through mosquitto with the settings of deploy/, as
they would at 1 Hz. The plant's clock and the service's run 72 times as fast, so that hours are sealed and days joined as
they would be. (At 1 Hz by that clock too, it would be 281,000 a second, which mosquitto does not carry on one core.)
"""

import datetime
import sys
import time

import support

support.use_own_python()

RATE = 3900
LOOK_S = 5
HEAD = ["plant h", "stored", "memory MB", "hot.db MB", "log MB", "segments"]


def main():
    parser = support.arguments(__doc__)
    parser.add_argument("--hours", type=float, default=24, help="hours of plant time (default: %(default)s)")
    parser.add_argument("--minutes", type=float, default=20, help="minutes of ours (default: %(default)s)")
    asked = parser.parse_args()
    programs = support.programs(asked.binaries)
    speed = asked.hours * 60 / asked.minutes
    readings = round(RATE * asked.minutes * 60)
    print(support.machine(), f"{speed:.0f} times as fast, {RATE:,} readings/s", sep="; ", flush=True)
    # Shortly before midnight (UTC), so that a day ends early in the run.
    begins = (datetime.datetime.now(datetime.UTC) - datetime.timedelta(days=1)).replace(hour=22, minute=30, second=0)
    clock = begins.isoformat(timespec="milliseconds").replace("+00:00", "Z")
    with support.folder() as place, support.broker(place, "deploy") as (_, port):
        config, page = support.plant(place, port, "json")
        serve = [programs / "ovenward", "--config", config, "serve", "--clock-from", clock, "--clock-speed", speed]
        with support.running(serve, cwd=place) as service:
            support.wait_for("the service", lambda: support.metric(page, "ovenward_broker_connected") == 1.0)
            flood = support.flood(programs, port, "json", readings, RATE) + ["--from", clock, "--speed", speed]
            with support.running(flood) as publisher:
                rows = watch(service, publisher, place, page, readings, speed)
            repeated = int(support.metric(page, "ovenward_readings_repeated_total") or 0)
    support.table(HEAD, rows[:: max(1, len(rows) // 20)] + rows[-1:])
    stored = rows[-1][1]
    print(f"sent {readings:,}, stored {stored:,}, lost {readings - stored:,}, delivered twice {repeated:,}")
    settled = rows[len(rows) // 4 :]
    memory = [row[2] for row in settled]
    print(f"memory after the first quarter {memory[0]} to {max(memory)} MB; largest log {max(row[4] for row in rows)} MB")


def watch(service, publisher, place, page, readings, speed):
    """Looks until everything is stored, or nothing more comes."""
    rows, began, quiet = [], time.monotonic(), 0
    while quiet < 6 and (not rows or rows[-1][1] < readings):
        time.sleep(LOOK_S)
        if service.ended():
            sys.exit("the service has ended")
        stored = int(support.metric(page, "ovenward_readings_stored_total") or 0)
        quiet = quiet + 1 if publisher.ended() and rows and rows[-1][1] == stored else 0
        hours = (time.monotonic() - began) * speed / 3600
        segments = sum(1 for _ in place.glob("data/readings/**/[0-9]*.parquet"))
        rows.append([round(hours, 2), stored, round(service.memory()), size(place, ""), size(place, "-wal"), segments])
    return rows


def size(place, suffix):
    path = place / f"data/hot.db{suffix}"
    return round(path.stat().st_size / 1e6) if path.exists() else 0


if __name__ == "__main__":
    main()
