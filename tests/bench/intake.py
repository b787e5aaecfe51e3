#!/usr/bin/env python3
"""How many readings a second go from the plant through mosquitto onto the disk, and what that costs.

The same publisher (`bakehouse flood`, QoS 1) sends the same readings to three subscribers in turn: `mosquitto_sub`
that throws them away, `ovenward serve` that acknowledges after the commit, and a Python script that acknowledges
after an fsync. A run ends when the subscriber has everything, or has had nothing new for 15 s.
"""

import shutil
import sys
import time
from pathlib import Path

import support

support.use_own_python()

SUBSCRIBERS = ["none", "bare", "ovenward", "script"]
PATIENCE_S = 15
HEAD = ["broker", "payload", "subscriber", "readings", "published/s", "received/s", "lost", "publisher µs",
        "broker µs", "subscriber µs", "subscriber MB"]  # fmt: skip


def main():
    parser = support.arguments(__doc__)
    parser.add_argument("--readings", type=int, default=1_500_000, help="readings of a run (default: %(default)s)")
    parser.add_argument("--rate", type=int, help="readings a second; as fast as the broker takes them without it")
    parser.add_argument("--payload", choices=["json", "number"], nargs="+", default=["json", "number"])
    parser.add_argument("--broker", choices=["deploy", "default"], nargs="+", default=["deploy"])
    parser.add_argument("--subscriber", choices=SUBSCRIBERS, nargs="+", default=SUBSCRIBERS)
    asked = parser.parse_args()
    programs = support.programs(asked.binaries)
    print(support.machine(), flush=True)
    rows = []
    for settings in asked.broker:
        for payload in asked.payload:
            for name in asked.subscriber:
                with support.folder() as place, support.broker(place, settings) as (broker, port):
                    figures = run(programs, place, broker, port, name, payload, asked)
                rows.append([settings, payload, name, *figures])
                print(*rows[-1], sep="  ", file=sys.stderr, flush=True)
    support.table(HEAD, rows)


def run(programs, place, broker, port, name, payload, asked):
    with Subscriber(programs, place, port, name, payload, asked.readings) as subscriber:
        support.wait_for(f"{name} to subscribe", subscriber.is_ready)
        before = broker.used()[0], subscriber.used()[0]
        flood = support.flood(programs, port, payload, asked.readings, asked.rate or 1_000_000)
        began = time.monotonic()
        with support.running(flood) as publisher:
            while not publisher.ended():
                publisher.used()
                subscriber.used()
                time.sleep(0.02)
            published_s = time.monotonic() - began
            if publisher.process.returncode != 0:
                sys.exit("the publisher failed")
        received, at = 0, time.monotonic()
        while received < asked.readings and time.monotonic() - at < PATIENCE_S and name != "none":
            now = subscriber.received()
            if now > received:
                received, at = now, time.monotonic()
            time.sleep(0.05)
        received_s = at - began
        used = [publisher.used()[0], broker.used()[0] - before[0], subscriber.used()[0] - before[1]]
    micros = [f"{1e6 * seconds / asked.readings:.1f}" for seconds in used]
    if name == "none":
        return [asked.readings, f"{asked.readings / published_s:,.0f}", "", "", *micros[:2], "", ""]
    return [asked.readings, f"{asked.readings / published_s:,.0f}", f"{received / received_s:,.0f}",
            asked.readings - received, *micros, f"{subscriber.used()[1]:.0f}"]  # fmt: skip


class Subscriber:
    """One of the three, with how far it has come."""

    def __init__(self, programs, place, port, name, payload, total):
        self.name, self.total = name, total
        self.progress = place / "progress"
        started = {"none": self.none, "bare": self.bare, "ovenward": self.ovenward, "script": self.script}
        command = started[name](programs, place, port, payload)
        self.process = support.Running(command, cwd=place) if command else None
        self.began = time.monotonic()

    def none(self, *_):
        return None

    def bare(self, _programs, _place, port, _payload):
        program = shutil.which("mosquitto_sub") or sys.exit("mosquitto_sub is not installed")
        return [program, "-p", port, "-V", "mqttv5", "-q", 1, "-i", "bare", "-t", "mill/#", "-C", self.total,
                "-D", "connect", "receive-maximum", 2000]  # fmt: skip

    def ovenward(self, programs, place, port, payload):
        config, self.page = support.plant(place, port, payload)
        return [programs / "ovenward", "--config", config, "serve"]

    def script(self, _programs, place, port, payload):
        script = Path(__file__).with_name("python_subscriber.py")
        return [sys.executable, script, port, payload, place / "readings.arrow", self.progress]

    def is_ready(self):
        if self.name == "ovenward":
            return support.metric(self.page, "ovenward_broker_connected") == 1.0
        if self.name == "script":
            return self.progress.exists()
        # It says nothing: a second is plenty to subscribe to one topic.
        return time.monotonic() - self.began > 1.0

    def received(self):
        if self.name == "ovenward":
            return int(support.metric(self.page, "ovenward_readings_stored_total") or 0)
        if self.name == "script":
            return int(self.progress.read_text() or 0)
        self.used()
        return self.total if self.process.ended() else 0

    def used(self):
        return self.process.used() if self.process else (0.0, 0.0)

    def __enter__(self):
        return self

    def __exit__(self, *_):
        if self.process:
            self.process.stop()


if __name__ == "__main__":
    main()
