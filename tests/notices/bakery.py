"""A broker, the program, and lines that bake, for one test. Everything in it is invented."""

import datetime
import json
import pathlib
import subprocess
import sys

import paho.mqtt.client as mqtt

sys.path.insert(0, str(pathlib.Path(__file__).resolve().parents[1] / "shared"))

from plant import Plant, wait_for
from receivers import PASSWORD, Authority, MailServer, WebhookReceiver

SECRET = "whsec_MfKQ9r8GKYqrTwjUPD8ILPZIo2LaLaSw"

CONFIG = """
[site]
id = "millbrook"
name = "Millbrook Bakery"
time_zone = "Europe/London"
elevation_m = 95
[broker]
url = "mqtt://127.0.0.1:{broker}"
payload = "json"
[console]
bind = "127.0.0.1:{page}"
[detection]
window_s = 5
allowed_lateness_s = 0
[alerts]
zone3-limit = {{ on_delay_s = 10, off_delay_s = 10 }}
over-steaming = {{ on_delay_s = 10, off_delay_s = 10 }}
[[shift]]
name = "night"
starts = "22:00"
[[shift]]
name = "early"
starts = "06:00"
[[product]]
code = "T800"
max_zone3_moisture_pct = 12
[defaults.line]
firing = "electric"
zones = 3
[defaults.line.signals]
band_speed = "mill/{{line}}/band"
feed = "mill/{{line}}/feed"
steam_flow = "mill/{{line}}/steam"
[defaults.zone]
length_m = 1.0
[defaults.zone.signals]
dew_point = "mill/{{line}}/z{{zone}}/dew"
{lines}
[mail]
host = "127.0.0.1"
port = {smtp}
user = "ovens"
password_file = "mail-password"
ca_file = "plant-ca.pem"
from = "Ovens <ovens@millbrook.example>"
{notify}
"""
ROTA = """
[notify.rota]
url = "https://127.0.0.1:{web}/ovens"
secret_file = "rota-secret"
ca_file = "plant-ca.pem"
"""


class Bakery(Plant):
    def __init__(self, folder, binaries):
        super().__init__(folder, binaries)
        authority = Authority(folder)
        self.mail, self.rota = MailServer(authority), WebhookReceiver(authority)
        (folder / "mail-password").write_bytes(PASSWORD + b"\n")
        (folder / "rota-secret").write_text(SECRET + "\n")
        self.plant = mqtt.Client("plant")
        self.plant.connect("127.0.0.1", self.broker_port)
        self.plant.loop_start()
        self.times = {}

    def configure(self, notify, lines=("tunnel-1",)):
        sections = "".join(f'[[line]]\nid = "{line}"\nname = "{line.replace("tunnel-", "Tunnel oven ")}"\n' for line in lines)
        ports = {"broker": self.broker_port, "page": self.page_port, "smtp": self.mail.port}
        config = CONFIG.format(lines=sections, notify=notify.format(web=self.rota.port), **ports)
        (self.folder / "plant.toml").write_text(config)

    def command(self, *arguments, **options):
        command = [self.program, "--config", "plant.toml", *arguments]
        return subprocess.run(command, cwd=self.folder, capture_output=True, text=True, **options)

    def problems(self):
        return " ".join(json.loads(self.page("/api/v1/status"))["problems"])

    def kept(self, topic):
        """What the broker keeps below a topic of the service, by the last part of its name."""
        command = ["mosquitto_sub", "-p", str(self.broker_port), "-t", f"ovenward/millbrook/{topic}", "-F", "%t %p", "-W", "1"]
        lines = subprocess.run(command, capture_output=True, text=True, check=False).stdout.splitlines()
        return {line.split(" ", 1)[0].rsplit("/", 1)[1]: json.loads(line.split(" ", 1)[1]) for line in lines}

    def bake(self, line="tunnel-1", minutes=1.0, start=None, dew=40.0, fed=1, steam=50.0):
        """So many minutes of baking after those before, with this dew point in zone 3."""
        time_ = self.times.setdefault(line, start or datetime.datetime.now(datetime.UTC) - datetime.timedelta(hours=2))
        last = None
        for step in range(round(minutes * 12)):
            trembling = 0.1 * (step % 5)
            values = {"band": 1.0, "feed": fed, "steam": steam + trembling}
            values |= {"z1/dew": 85 + trembling, "z2/dew": 70 + trembling, "z3/dew": dew + trembling}
            for name, value in values.items():
                payload = json.dumps({"value": value, "time": time_.isoformat()})
                last = self.plant.publish(f"mill/{line}/{name}", payload, qos=1)
            time_ += datetime.timedelta(seconds=5)
        self.times[line] = time_
        last.wait_for_publish()

    def overload(self, line="tunnel-1"):
        """A high alert: zone 3 above its limit."""
        self.bake(line, 1, dew=62)

    def calm(self, line="tunnel-1"):
        """Everything as it should be, which ends what stands."""
        self.bake(line, 1)

    def steam_for_nothing(self, line):
        """A medium alert: steam is on, and no product enters."""
        self.bake(line, 1, fed=0)

    def alerts(self, **that):
        printed = self.command("alerts", "--format", "json").stdout
        alerts = json.loads(printed) if printed.strip() else []
        return [alert for alert in alerts if all(alert[key] == value for key, value in that.items())]

    def standing(self, count, **that):
        return wait_for(f"{count} standing alerts", lambda: (found := self.alerts(ended=None, **that)) and len(found) == count and found)

    def end(self):
        self.mail.stop()
        self.rota.stop()
        self.plant.loop_stop()
        super().end()
