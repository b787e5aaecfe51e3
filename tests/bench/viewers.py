#!/usr/bin/env python3
"""What people who watch cost: the same readings with nobody and with many who listen to the live events.

`bakehouse flood` sends for 100 ovens alike, at the plant's own pace (every tag once a second) and as fast as the broker
takes it; meanwhile each viewer reads `/api/v1/live` as a browser does. A run ends when everything is stored.
"""

import asyncio
import sys
import threading
import time

import support

PATIENCE_S = 15
TAGS = 3900
HEAD = ["pace", "viewers", "readings", "stored/s", "lost", "behind s", "ovenward % of a core", "peak MB", "events/s each",
        "longest gap s", "sent MB/s"]  # fmt: skip


def main():
    parser = support.arguments(__doc__)
    parser.add_argument("--viewers", type=int, nargs="+", default=[0, 200])
    parser.add_argument("--seconds", type=int, default=60, help="of the plant's own pace (default: %(default)s)")
    parser.add_argument("--readings", type=int, default=600_000, help="as fast as they go (default: %(default)s)")
    asked = parser.parse_args()
    programs = support.programs(asked.binaries)
    print(support.machine(), flush=True)
    rows = []
    for pace, readings, rate in [("plant", TAGS * asked.seconds, TAGS), ("fastest", asked.readings, 1_000_000)]:
        for viewers in asked.viewers:
            with support.folder() as place, support.broker(place, "deploy") as (_, port):
                rows.append([pace, viewers, readings, *run(programs, place, port, readings, rate, viewers)])
            print(*rows[-1], sep="  ", file=sys.stderr, flush=True)
    support.table(HEAD, rows)


def run(programs, place, port, readings, rate, viewers):
    config, page = support.plant(place, port, "json")
    with support.running([programs / "ovenward", "--config", config, "serve"], cwd=place) as service:
        connected = lambda: support.metric(page, "ovenward_broker_connected") == 1.0  # noqa: E731
        support.wait_for("ovenward to subscribe", connected)
        audience = Audience(page, viewers)
        support.wait_for("every viewer to be told the first event", audience.is_seated)
        before, began = service.used()[0], time.monotonic()
        audience.begin()
        with support.running(support.flood(programs, port, "json", readings, rate)) as publisher:
            support.wait_for("the publisher", publisher.ended, seconds=600)
        published = time.monotonic()
        stored, at = 0, published
        while stored < readings and time.monotonic() - at < PATIENCE_S:
            now = int(support.metric(page, "ovenward_readings_stored_total") or 0)
            if now > stored:
                stored, at = now, time.monotonic()
            time.sleep(0.05)
        took = at - began
        events, gap, sent = audience.end()
        cpu = 100 * (service.used()[0] - before) / (time.monotonic() - began)
        return [f"{stored / took:,.0f}", readings - stored, f"{at - published:.1f}", f"{cpu:.0f}",
                f"{service.used()[1]:.0f}", events, gap, sent]  # fmt: skip


class Audience:
    """So many who listen, each on a connection of its own."""

    def __init__(self, page, count):
        self.page, self.count = page, count
        self.events, self.bytes, self.gap = [0] * count, 0, 0.0
        self.loop = asyncio.new_event_loop()
        self.tasks = []
        self.thread = threading.Thread(target=self.loop.run_forever, daemon=True)
        self.thread.start()
        for place in range(count):
            self.tasks.append(asyncio.run_coroutine_threadsafe(self.listen(place), self.loop))

    async def listen(self, place):
        reader, writer = await asyncio.open_connection("127.0.0.1", self.page, limit=1 << 24)
        writer.write(f"GET /api/v1/live HTTP/1.1\r\nHost: 127.0.0.1:{self.page}\r\n\r\n".encode())
        last = time.monotonic()
        while line := await reader.readline():
            self.bytes += len(line)
            if line.startswith(b"event: status"):
                now = time.monotonic()
                self.events[place] += 1
                self.gap, last = max(self.gap, now - last), now

    async def leave(self):
        others = asyncio.all_tasks() - {asyncio.current_task()}
        for task in others:
            task.cancel()
        await asyncio.gather(*others, return_exceptions=True)

    def is_seated(self):
        for task in self.tasks:
            if task.done():
                sys.exit(f"a viewer was let go: {task.exception()}")
        return all(self.events)

    def begin(self):
        """What came before does not count."""
        self.began, self.bytes, self.gap = time.monotonic(), 0, 0.0
        self.events = [0] * self.count

    def end(self):
        took = time.monotonic() - self.began
        self.is_seated()
        asyncio.run_coroutine_threadsafe(self.leave(), self.loop).result()
        self.loop.call_soon_threadsafe(self.loop.stop)
        self.thread.join()
        if not self.count:
            return "", "", ""
        return f"{min(self.events) / took:.2f}", f"{self.gap:.1f}", f"{self.bytes / took / 1e6:.1f}"


if __name__ == "__main__":
    main()
