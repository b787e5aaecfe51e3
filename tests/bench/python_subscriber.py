"""What a careful script would be: groups of 50 ms, acknowledged after they are on the disk."""

import json
import os
import sys
import time

import paho.mqtt.client as mqtt
import pyarrow as pa
from paho.mqtt.packettypes import PacketTypes
from paho.mqtt.properties import Properties

GROUP_S = 0.050
SCHEMA = pa.schema([("time", pa.string()), ("tag", pa.string()), ("value", pa.float64())])


def main(port, payload, path, progress):
    client = mqtt.Client(mqtt.CallbackAPIVersion.VERSION2, "script", protocol=mqtt.MQTTv5, manual_ack=True)
    waiting = []
    client.on_message = lambda _client, _data, message: waiting.append(message)
    client.on_connect = lambda *_: client.subscribe("mill/#", qos=1)
    client.on_subscribe = lambda *_: note(progress, 0)
    properties = Properties(PacketTypes.CONNECT)
    properties.ReceiveMaximum = 2000
    client.connect("127.0.0.1", port, properties=properties)
    written = 0
    with open(path, "wb") as file, pa.ipc.new_stream(file, SCHEMA) as stream:
        due = time.monotonic() + GROUP_S
        while True:
            client.loop(timeout=GROUP_S)
            if time.monotonic() < due:
                continue
            due = time.monotonic() + GROUP_S
            if waiting:
                stream.write_batch(batch(waiting, payload))
                file.flush()
                os.fsync(file.fileno())
                for message in waiting:
                    client.ack(message.mid, message.qos)
                written += len(waiting)
                waiting.clear()
                note(progress, written)


def batch(messages, payload):
    if payload == "json":
        readings = [json.loads(message.payload) for message in messages]
        times = [reading["time"] for reading in readings]
        values = [reading["value"] for reading in readings]
    else:
        times = [str(message.timestamp) for message in messages]
        values = [float(message.payload) for message in messages]
    return pa.record_batch([times, [message.topic for message in messages], values], schema=SCHEMA)


def note(progress, written):
    with open(progress, "w", encoding="ascii") as file:
        file.write(str(written))


main(int(sys.argv[1]), sys.argv[2], sys.argv[3], sys.argv[4])
