"""The Debian package on a Debian of its own: installed, started, reloaded, upgraded while readings flow, removed,
installed again, purged. Readings are invented; whoever counts them is the installed program."""

import argparse
import json
import os
import pathlib
import subprocess
import sys

from debian import Debian, archive, may_boot
from plant import broker_settings, wait_for

ROOT = pathlib.Path(__file__).resolve().parents[2]
CONFIG_FILE = "/etc/ovenward/plant.toml"

CONFIG = """
[site]
id = "millbrook"
time_zone = "Europe/London"
elevation_m = 95
data_dir = "/var/lib/ovenward"
[broker]
url = "mqtt://127.0.0.1:1883"
payload = "json"
[[product]]
code = "T800"
"""
LINE = """
[[line]]
id = "{line}"
firing = "direct"
[line.signals]
band_speed = {{ topic = "mill/{{line}}/band", unit = "m/min" }}
[[line.zone]]
length_m = 7.0
[line.zone.signals]
dew_point = {{ topic = "mill/{{line}}/z{{zone}}/dew", unit = "degC" }}
"""


def build(version, into):
    """The package, of the binary that is built already."""
    package = into / f"ovenward_{version}.deb"
    command = ["cargo", "deb", "--quiet", "-p", "ovenward", "--no-build", "--profile", "ci", "--fast"]
    subprocess.run([*command, "--deb-version", version, "--output", package], check=True, cwd=ROOT, stdout=subprocess.DEVNULL)
    return package


class Installed:
    """The machine with the package on it, and how many readings were sent to it."""

    def __init__(self, debian, packages):
        self.debian, self.packages, self.sent = debian, packages, 0

    def install(self, version):
        name = f"ovenward_{version}.deb"
        (self.debian.root / "root" / name).write_bytes((self.packages / name).read_bytes())
        self.debian.run("dpkg", "--install", f"/root/{name}")

    def program(self, *arguments):
        """The program as the service's own user, as the guide says."""
        return self.debian.run("runuser", "-u", "ovenward", "--", "ovenward", "--config", CONFIG_FILE, *arguments)

    def send(self, line, count, pause_s=0.0):
        """Readings with times of their own, one after the other, each acknowledged by the broker. Gives the sender."""
        payloads = [
            json.dumps({"value": 1.2, "time": f"2026-06-02T{6 + n // 3600:02}:{n // 60 % 60:02}:{n % 60:02}Z"})
            for n in range(self.sent, self.sent + count)
        ]
        self.sent += count
        self.debian.write("/root/readings", "\n".join(payloads) + "\n")
        told = f"while read -r reading; do echo \"$reading\"; sleep {pause_s}; done < /root/readings"
        published = f"{told} | mosquitto_pub -h 127.0.0.1 -q 1 -l -t mill/{line}/band"
        entered = ["nsenter", "--target", str(self.debian.first), "--all", "sh", "-c", published]
        return subprocess.Popen(entered, stdin=subprocess.DEVNULL)

    def stored(self):
        kept = self.debian.try_run("runuser", "-u", "ovenward", "--", "ovenward", "--config", CONFIG_FILE, "store", "--format", "json")
        return json.loads(kept.stdout)["readings"] if kept.returncode == 0 else 0

    def all_are_stored(self):
        wait_for(f"{self.sent} readings to be stored", lambda: self.stored() == self.sent)

    def is_ready(self):
        """Whether the service says that it does its whole work: it has subscribed, and the broker keeps what is sent."""
        asked = "exec 3<>/dev/tcp/127.0.0.1/8080 && printf 'GET /readyz HTTP/1.0\\r\\nHost: 127.0.0.1:8080\\r\\n\\r\\n' >&3 && cat <&3"
        return self.debian.try_run("bash", "-c", asked).stdout.endswith("ready")

    def start(self):
        self.debian.run("systemctl", "start", "ovenward")
        wait_for("the service to be ready", self.is_ready)

    def is_active(self):
        return self.debian.try_run("systemctl", "is-active", "ovenward").stdout.strip() == "active"

    def main_process(self):
        return self.debian.run("systemctl", "show", "--property", "MainPID", "--value", "ovenward").strip()


def installs(plant):
    plant.install("0.1.0-1")
    debian = plant.debian
    assert debian.run("systemctl", "is-enabled", "ovenward").strip() == "enabled"
    assert not plant.is_active(), "it must not start before somebody has written its config"
    owner = debian.run("stat", "--format", "%U:%G %a", "/var/lib/ovenward", CONFIG_FILE).split("\n")
    assert owner[:2] == ["ovenward:ovenward 750", "root:ovenward 640"], owner
    debian.run("runuser", "-u", "ovenward", "--", "ovenward", "--config", CONFIG_FILE, "check")
    as_root = debian.try_run("ovenward", "--config", CONFIG_FILE, "store")
    assert as_root.returncode == 2 and "runuser -u ovenward" in as_root.stderr, as_root
    assert not debian.exists("/var/lib/ovenward/hot.db"), "root left a database that the service cannot write"


def starts(plant):
    plant.debian.write(CONFIG_FILE, CONFIG + LINE.format(line="tunnel-1"))
    plant.start()
    plant.send("tunnel-1", 500).wait()
    plant.all_are_stored()
    exposure = plant.debian.run("systemd-analyze", "security", "--no-pager", "ovenward").strip().splitlines()[-1]
    print(f"   {exposure.lstrip('→ ')}")
    assert float(exposure.split(":")[1].split()[0]) < 2.0, exposure


def tells_the_journal(plant):
    entered = plant.debian.run("journalctl", "--unit", "ovenward", "--output", "json", "--no-pager").splitlines()
    told = [json.loads(line) for line in entered]
    own = {entry["MESSAGE"]: entry for entry in told if entry["_TRANSPORT"] == "journal" and entry["SYSLOG_IDENTIFIER"] == "ovenward"}
    assert "serving" in own, "\n".join(entry["MESSAGE"] for entry in told)
    assert own["serving"]["OVENWARD_SITE"] == "millbrook" and own["serving"]["PRIORITY"] == "5", own["serving"]
    plant.debian.run("mosquitto_pub", "-h", "127.0.0.1", "-q", "1", "-t", "mill/tunnel-1/band", "-m", "fast")

    def warned():
        return "mill/tunnel-1/band" in plant.debian.run("journalctl", "-u", "ovenward", "-p", "warning", "--no-pager")

    wait_for("the payload that is no number to be in the journal as a warning", warned)


def reloads(plant):
    before = plant.main_process()
    plant.debian.write(CONFIG_FILE, CONFIG + "[[line]]\n")
    assert plant.debian.try_run("systemctl", "reload", "ovenward").returncode != 0, "a config with a fault was taken"
    assert plant.is_active() and plant.main_process() == before
    both = CONFIG + LINE.format(line="tunnel-1") + LINE.format(line="tunnel-2")
    plant.debian.write(CONFIG_FILE, both)
    sender = plant.send("tunnel-1", 200, pause_s=0.01)
    plant.debian.run("systemctl", "reload", "ovenward")
    sender.wait()
    wait_for("the service to listen to the second line", plant.is_ready)
    plant.send("tunnel-2", 100).wait()
    plant.all_are_stored()
    return both


def upgrades(plant, config):
    before = plant.main_process()
    sender = plant.send("tunnel-1", 500, pause_s=0.01)
    plant.install("0.1.1-1")
    sender.wait()
    wait_for("the service to run again", plant.is_active)
    assert plant.main_process() != before, "the old program went on"
    assert plant.debian.read(CONFIG_FILE) == config, "the upgrade changed the config"
    plant.all_are_stored()
    assert "the store is whole" in plant.program("store", "verify")


def removes(plant, config):
    debian = plant.debian
    debian.run("dpkg", "--remove", "ovenward")
    assert not plant.is_active() and not debian.exists("/usr/bin/ovenward")
    assert debian.read(CONFIG_FILE) == config and debian.exists("/var/lib/ovenward/hot.db")
    assert "ovenward" not in debian.run("systemctl", "list-units", "--failed", "--no-legend")
    plant.install("0.1.1-1")
    plant.start()
    plant.send("tunnel-1", 50).wait()
    plant.all_are_stored()


def purges(plant):
    debian = plant.debian
    debian.run("dpkg", "--purge", "ovenward")
    assert not debian.exists("/etc/ovenward"), "the config is still there"
    assert not debian.exists("/etc/systemd/system/multi-user.target.wants/ovenward.service")
    assert debian.exists("/var/lib/ovenward/hot.db"), "the readings are gone"


def main():
    arguments = argparse.ArgumentParser(description=__doc__)
    arguments.add_argument("--kept-in", type=pathlib.Path, required=True, help="where the root and the packages are kept")
    kept_in = arguments.parse_args().kept_in.resolve()
    if os.geteuid() != 0 or not may_boot():
        sys.exit(print("NOT RUN: this machine lets nobody boot a Debian of his own (root and namespaces are needed)"))
    kept_in.mkdir(parents=True, exist_ok=True)
    for version in ("0.1.0-1", "0.1.1-1"):
        build(version, kept_in)
    with Debian(archive(kept_in)) as debian:
        debian.write("/etc/mosquitto/mosquitto.conf", broker_settings(1883))
        debian.run("systemctl", "restart", "mosquitto")
        plant = Installed(debian, kept_in)
        for step in (installs, starts, tells_the_journal):
            print(step.__name__.replace("_", " "), flush=True)
            step(plant)
        print("reloads", flush=True)
        config = reloads(plant)
        for step in (upgrades, removes):
            print(step.__name__, flush=True)
            step(plant, config)
        print("purges", flush=True)
        purges(plant)
        print(f"{plant.sent} readings sent, {plant.sent} stored")


if __name__ == "__main__":
    main()
