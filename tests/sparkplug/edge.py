"""An edge node on an independent Sparkplug library: it sends what it is told to, in the order in which it is told to."""

import time

from paho.mqtt import client as paho
from pysparkplug import Client, DataType, DBirth, DData, DDeath, Message, MessageType, Metric, NBirth, NData, NDeath
from pysparkplug import QoS, Topic

GROUP, NODE, DEVICE = "Millbrook", "gateway-1", "tunnel-1"
NAMES = {"band": DataType.DOUBLE, "product": DataType.STRING, "zone 1/dew": DataType.FLOAT, "zone 1/air": DataType.INT16}
OF_NODE = ["band"]


def now_ms():
    return int(time.time() * 1000)


def next_millisecond():
    """A metric has one value a millisecond: what is told after another is told at a later one."""
    time.sleep(0.002)


class Edge:
    """One edge node with one device. `aliases` says which number stands for which name until the next birth."""

    def __init__(self, port, aliases):
        self.port, self.aliases, self.bd_seq, self.seq, self.asked = port, aliases, 0, 0, 0
        self.connect()

    def connect(self):
        self.client = Client()
        death = Metric(timestamp=now_ms(), name="bdSeq", datatype=DataType.INT64, value=self.bd_seq)
        will = NDeath(timestamp=now_ms(), bd_seq_metric=death)
        self.client.set_will(Message(topic=self.topic("NDEATH"), payload=will, qos=QoS.AT_LEAST_ONCE, retain=False))
        self.client.subscribe(self.topic("NCMD"), QoS.AT_LEAST_ONCE, self.command)
        connected = []
        self.client.connect("127.0.0.1", port=self.port, callback=lambda _: connected.append(True))
        while not connected:
            time.sleep(0.02)

    def topic(self, kind):
        device = DEVICE if kind.startswith("D") else None
        return Topic(message_type=MessageType[kind], group_id=GROUP, edge_node_id=NODE, device_id=device)

    def command(self, _client, message):
        if any(metric.name == "Node Control/Rebirth" and metric.value for metric in message.payload.metrics):
            self.asked += 1

    def publish(self, kind, payload):
        # Births always carry datatypes; data leave them out, as the standard allows.
        self.client.publish(Message(topic=self.topic(kind), payload=payload, qos=QoS.AT_MOST_ONCE, retain=False))

    def next_seq(self):
        self.seq = (self.seq + 1) % 256
        return self.seq

    def metric(self, name, value, by_alias, at=None, historical=False):
        return Metric(
            timestamp=at or now_ms(),
            name=None if by_alias else name,
            alias=self.aliases[name],
            datatype=NAMES[name],
            value=value,
            is_historical=historical,
        )

    def birth(self, values):
        """Both births, with these values."""
        next_millisecond()
        self.seq = 0
        of_node = [self.metric(name, values[name], False) for name in OF_NODE]
        session = Metric(timestamp=now_ms(), name="bdSeq", datatype=DataType.INT64, value=self.bd_seq)
        self.publish("NBIRTH", NBirth(timestamp=now_ms(), seq=0, metrics=(session, *of_node)))
        of_device = [self.metric(name, value, False) for name, value in values.items() if name not in OF_NODE]
        self.publish("DBIRTH", DBirth(timestamp=now_ms(), seq=self.next_seq(), metrics=tuple(of_device)))

    def data(self, values, seq=None, at=None, historical=False):
        """Values of the device, by aliases alone."""
        next_millisecond()
        seq = self.next_seq() if seq is None else seq
        metrics = tuple(self.metric(name, value, True, at, historical) for name, value in values.items())
        self.publish("DDATA", DData(timestamp=now_ms(), seq=seq, metrics=metrics))

    def device_death(self):
        self.publish("DDEATH", DDeath(timestamp=now_ms(), seq=self.next_seq()))

    def vanish(self):
        """Breaks the connection without a word, so that the broker publishes the last will."""
        mqtt = self.client._client
        mqtt.loop_stop()
        mqtt.socket().close()
        self.bd_seq += 1


class Witness:
    """Sees what anybody publishes for edge nodes and hosts."""

    def __init__(self, port):
        self.seen = []
        self.mqtt = paho.Client()
        self.mqtt.on_connect = lambda client, *_: client.subscribe([("spBv1.0/STATE/#", 1), ("spBv1.0/+/NCMD/#", 1)])
        self.mqtt.on_message = lambda _client, _data, message: self.seen.append((message.topic, message.payload))
        self.mqtt.connect("127.0.0.1", port)
        self.mqtt.loop_start()

    def states(self):
        return [payload for topic, payload in self.seen if topic.startswith("spBv1.0/STATE/")]
