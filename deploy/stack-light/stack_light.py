#!/usr/bin/env python3
"""A stack light from what ovenward says of a line's load. For each change it runs a command of yours with what each lamp
is to do, such as `green=off yellow=flash white=off`; without a command it prints that. Needs paho-mqtt
(Debian: python3-paho-mqtt). What each colour means, and why, is in the README beside it."""

import argparse
import json
import pathlib
import subprocess
import sys

import paho.mqtt.client as mqtt

LAMPS = ("green", "yellow", "white")
# Nobody can say how the oven runs: the service, the broker or the way there is gone.
LOST = ("off", "off", "flash")
UNKNOWN = ("off", "off", "on")
NORMAL = ("on", "off", "off")
RISING = ("on", "on", "off")
# Overloaded, by the state of the alert. One that nobody has answered flashes, and so does what has no alert yet.
OVERLOADED = {"acknowledged": ("off", "on", "off"), "shelved": UNKNOWN, "out-of-service": UNKNOWN}
CALLS = ("off", "flash", "off")


def lamps(status, load):
    """What the lamps do, by the last `status` and `load`; None is what was never heard. What this program does not know
    is unknown, and never green."""
    if (status or {}).get("state") != "online":
        return LOST
    state, alert = (load or {}).get("state"), (load or {}).get("alert")
    if state == "overloaded":
        return OVERLOADED.get(alert, CALLS)
    return {"normal": NORMAL, "rising": RISING}.get(state, UNKNOWN)


class StackLight:
    def __init__(self, root, line, command):
        self.topics, self.command = {f"{root}/status": "status", f"{root}/{line}/load": "load"}, command
        self.heard, self.shown = {}, None

    def show(self):
        now = lamps(self.heard.get("status"), self.heard.get("load"))
        if now == self.shown:
            return
        self.shown = now
        words = [f"{lamp}={does}" for lamp, does in zip(LAMPS, now)]
        if self.command:
            subprocess.run([*self.command, *words], check=False)
        else:
            print(*words, flush=True)

    def on_connect(self, client, *_):
        client.subscribe([(topic, 1) for topic in self.topics])

    def on_message(self, _client, _data, message):
        try:
            self.heard[self.topics[message.topic]] = json.loads(message.payload)
        except ValueError:
            self.heard.pop(self.topics[message.topic], None)
        self.show()

    def on_disconnect(self, *_):
        # What was heard before says nothing of now.
        self.heard = {}
        self.show()


def main():
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--host", default="127.0.0.1")
    parser.add_argument("--port", type=int, default=1883)
    parser.add_argument("--root", required=True, help="[publish] root and the site's id, such as ovenward/millbrook")
    parser.add_argument("--line", required=True, help="the line's id, such as tunnel-1")
    parser.add_argument("--username")
    parser.add_argument("--password-file", type=pathlib.Path)
    parser.add_argument("--ca-file", help="with TLS: the plant's authority")
    parser.add_argument("command", nargs=argparse.REMAINDER, help="what switches the lamps, with its own arguments")
    arguments = parser.parse_args()
    light = StackLight(arguments.root, arguments.line, arguments.command)
    client = mqtt.Client(client_id=f"stack-light-{arguments.line}")
    client.on_connect, client.on_message, client.on_disconnect = light.on_connect, light.on_message, light.on_disconnect
    if arguments.username:
        client.username_pw_set(arguments.username, arguments.password_file.read_text().strip())
    if arguments.ca_file:
        client.tls_set(arguments.ca_file)
    light.show()
    client.connect_async(arguments.host, arguments.port, keepalive=10)
    client.loop_forever(retry_first_connection=True)


if __name__ == "__main__":
    sys.exit(main())
