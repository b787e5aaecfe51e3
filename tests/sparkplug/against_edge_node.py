"""The running program against an edge node on an independent Sparkplug library, with mosquitto between them: births,
aliases, what comes out of order or never, deaths, a kill between birth and data, and the host application."""

import argparse
import json
import pathlib
import subprocess
import sys
import tempfile
import time

sys.path.insert(0, str(pathlib.Path(__file__).resolve().parents[1] / "shared"))

from edge import NODE, Edge, Witness, now_ms
from plant import Plant, wait_for

# So long nothing must happen to be believed.
A_WHILE_S = 4
DEVICE_TAG = "Millbrook/gateway-1/tunnel-1#"
ALIASES = {"band": 1, "product": 2, "zone 1/dew": 3, "zone 1/air": 4}
VALUES = {"band": 1.2, "product": "T800", "zone 1/dew": 72.4, "zone 1/air": 221}

CONFIG = """
[site]
id = "millbrook"
time_zone = "Europe/London"
elevation_m = 95
[broker]
url = "mqtt://127.0.0.1:{broker}"
payload = "sparkplug"
[sparkplug]
mode = "{mode}"
[console]
bind = "127.0.0.1:{page}"
[[product]]
code = "T800"
[[product]]
code = "R060"
[[line]]
id = "tunnel-1"
firing = "direct"
[line.signals]
band_speed = {{ topic = "Millbrook/gateway-1", metric = "band" }}
product = {{ topic = "Millbrook/gateway-1/{{line}}", metric = "product" }}
[[line.zone]]
length_m = 7.0
[line.zone.signals]
dew_point = {{ topic = "Millbrook/gateway-1/{{line}}", metric = "zone {{zone}}/dew" }}
air_temperature = {{ topic = "Millbrook/gateway-1/{{line}}", metric = "zone {{zone}}/air" }}
"""


class SparkplugPlant(Plant):
    """A plant whose edge nodes speak Sparkplug."""

    def configure(self, mode):
        config = CONFIG.format(broker=self.broker_port, page=self.page_port, mode=mode)
        (self.folder / "plant.toml").write_text(config)

    def items(self, path):
        answer = self.page(path)
        return json.loads(answer)["items"] if answer else []

    def last(self, metric):
        """The last of a metric of the device: its number or text, and its quality."""
        tags = {signal["tag"]: signal for signal in self.items("/api/v1/signals")}
        found = tags.get(DEVICE_TAG + metric, {})
        return (found.get("text") or found.get("value"), found.get("quality"))

    def problems(self):
        return json.loads(self.page("/api/v1/status"))["problems"]

    def sequence_gaps(self):
        return [gap for gap in self.items("/api/v1/gaps") if gap["cause"] == "sequence-broken"]

    def rejected(self, reason):
        start = f'ovenward_rejected_total{{reason="{reason}"}} '
        counts = [line for line in self.page("/metrics").splitlines() if line.startswith(start)]
        return int(counts[0].removeprefix(start)) if counts else 0

    def stored(self):
        command = [self.program, "--config", "plant.toml", "store", "--format", "json"]
        return json.loads(subprocess.run(command, cwd=self.folder, check=True, capture_output=True).stdout)["readings"]


def names_by_birth(plant):
    plant.configure("passive")
    plant.serve()
    witness, edge = Witness(plant.broker_port), Edge(plant.broker_port, dict(ALIASES))
    edge.data({"zone 1/dew": 70.0})
    wait_for("data before a birth to be rejected", lambda: plant.rejected("no-birth") == 1)
    wait_for("the want of a birth to be told", lambda: f"{NODE}/tunnel-1" in "".join(plant.problems()))
    assert plant.page("/readyz") == "ready", "the service does its work"
    edge.birth(VALUES)
    wait_for("the values of the birth", lambda: plant.last("zone 1/dew") == (72.4, "good"))
    assert plant.last("product") == ("T800", "good") and plant.last("zone 1/air") == (221, "good")
    wait_for("the trouble to be over", lambda: plant.problems() == [])
    edge.data({"zone 1/dew": 73.25, "zone 1/air": -7})
    wait_for("a value by its alias", lambda: plant.last("zone 1/dew") == (73.25, "good"))
    assert plant.last("zone 1/air") == (-7, "good")
    before = plant.stored()
    edge.data({"zone 1/dew": 60.5}, at=now_ms() - 3_600_000, historical=True)
    wait_for("the past", lambda: plant.stored() == before + 1)
    assert plant.last("zone 1/dew") == (73.25, "good"), "what was is not what is"
    assert witness.seen == [], "the service only listens"
    edge.vanish()
    plant.stop()


def order_and_loss(plant):
    plant.configure("passive")
    plant.serve()
    edge = Edge(plant.broker_port, dict(ALIASES))
    edge.birth(VALUES)
    for seq, value in [(2, 70.0), (4, 72.0), (3, 71.0), (5, 73.0)]:
        edge.data({"zone 1/dew": value}, seq=seq)
    wait_for("what came out of order", lambda: plant.last("zone 1/dew") == (73.0, "good"))
    time.sleep(A_WHILE_S)
    assert plant.sequence_gaps() == [], "nothing was lost"
    edge.data({"zone 1/dew": 74.0}, seq=9)
    gap = wait_for("the hole to be kept as a gap", plant.sequence_gaps)[0]
    assert gap["lost"] == 3, gap
    edge.vanish()
    plant.stop()


def aliases_used_again(plant):
    plant.configure("passive")
    plant.serve()
    edge = Edge(plant.broker_port, dict(ALIASES))
    edge.birth(VALUES)
    edge.aliases.update({"zone 1/dew": 4, "zone 1/air": 3})
    edge.birth(VALUES)
    edge.data({"zone 1/dew": 66.5, "zone 1/air": 230})
    wait_for("the new meaning of the aliases", lambda: plant.last("zone 1/dew") == (66.5, "good"))
    assert plant.last("zone 1/air") == (230, "good")
    edge.vanish()
    plant.stop()


def killed_between_birth_and_data(plant):
    plant.configure("passive")
    plant.serve()
    edge = Edge(plant.broker_port, dict(ALIASES))
    edge.birth(VALUES)
    wait_for("the birth", lambda: plant.last("zone 1/dew") == (72.4, "good"))
    plant.kill()
    # The broker keeps it, although it needs no acknowledgement: that is one of the settings that are shipped.
    edge.data({"zone 1/dew": 68.5})
    plant.serve()
    wait_for("what was sent meanwhile, by its alias", lambda: plant.last("zone 1/dew") == (68.5, "good"))
    assert plant.rejected("no-birth") == 0 and plant.sequence_gaps() == []
    edge.vanish()
    plant.stop()


def deaths(plant):
    plant.configure("passive")
    plant.serve()
    edge = Edge(plant.broker_port, dict(ALIASES))
    edge.birth(VALUES)
    wait_for("the birth", lambda: plant.last("zone 1/dew") == (72.4, "good"))
    edge.device_death()
    wait_for("the death of the device", lambda: plant.last("zone 1/dew")[1] == "bad")
    edge.data({"zone 1/dew": 69.0})
    wait_for("data after the death to be rejected", lambda: plant.rejected("no-birth") == 1)
    edge.birth(VALUES)
    wait_for("the next birth", lambda: plant.last("zone 1/dew") == (72.4, "good"))
    edge.vanish()
    wait_for("the last will of the node", lambda: plant.last("zone 1/dew")[1] == "bad")
    edge.connect()
    edge.birth(VALUES)
    wait_for("the node to be back", lambda: plant.last("zone 1/dew") == (72.4, "good"))
    edge.vanish()
    plant.stop()


def host_application(plant):
    witness = Witness(plant.broker_port)
    edge = Edge(plant.broker_port, dict(ALIASES))
    plant.configure("host")
    plant.serve()
    wait_for("the state of the host", lambda: witness.states() and json.loads(witness.states()[-1])["online"])
    wait_for("the birth to be asked for", lambda: edge.asked == 1)
    edge.birth(VALUES)
    edge.data({"zone 1/dew": 67.5})
    wait_for("a value by its alias", lambda: plant.last("zone 1/dew") == (67.5, "good"))
    witness.mqtt.publish("spBv1.0/STATE/ovenward-millbrook", '{"online":false,"timestamp":0}', qos=1, retain=True)
    contradicted = lambda: [json.loads(state)["online"] for state in witness.states()][-2:] == [False, True]
    wait_for("the host to contradict who says that it is gone", contradicted)
    plant.kill()
    wait_for("the last will of the host", lambda: json.loads(witness.states()[-1])["online"] is False)
    plant.serve()
    wait_for("the host to be back", lambda: json.loads(witness.states()[-1])["online"])
    plant.stop()
    wait_for("the farewell of the host", lambda: json.loads(witness.states()[-1])["online"] is False)
    topics = {topic for topic, _ in witness.seen}
    assert topics == {"spBv1.0/STATE/ovenward-millbrook", "spBv1.0/Millbrook/NCMD/gateway-1"}, topics
    edge.vanish()


TESTS = [names_by_birth, order_and_loss, aliases_used_again, killed_between_birth_and_data, deaths, host_application]


def main():
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--binaries", required=True, type=pathlib.Path, help="the folder of the built programs")
    binaries = parser.parse_args().binaries.resolve()
    for test in TESTS:
        with tempfile.TemporaryDirectory() as folder:
            plant = SparkplugPlant(pathlib.Path(folder), binaries)
            try:
                test(plant)
                print(f"ok {test.__name__}", flush=True)
            except BaseException:
                print((plant.folder / "serve.log").read_text()[-4000:])
                raise
            finally:
                plant.end()
    print(f"{len(TESTS)} passed, 0 failed")


if __name__ == "__main__":
    main()
