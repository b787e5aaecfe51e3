"""What every benchmark needs: its Python, our programs, a broker, a plant, and what a process has used."""

import argparse
import contextlib
import os
import re
import shutil
import socket
import subprocess
import sys
import tempfile
import time
import urllib.request
from pathlib import Path

REPOSITORY = Path(__file__).resolve().parents[2]
TICKS = os.sysconf("SC_CLK_TCK")


def use_own_python():
    """Goes on in an environment with what requirements.txt asks for; makes it the first time."""
    environment = REPOSITORY / "target" / "bench-python"
    python = environment / "bin" / "python"
    if Path(sys.prefix) == environment:
        return
    wanted = Path(__file__).with_name("requirements.txt")
    made_of = environment / wanted.name
    if not made_of.exists() or made_of.read_text() != wanted.read_text():
        subprocess.run([sys.executable, "-m", "venv", environment], check=True)
        subprocess.run([python, "-m", "pip", "install", "--quiet", "--requirement", wanted], check=True)
        shutil.copy(wanted, made_of)
    os.execv(python, [python, *sys.argv])


def arguments(about):
    """A parser that knows where our programs are; they are built if nobody says."""
    parser = argparse.ArgumentParser(description=about)
    parser.add_argument("--binaries", type=Path, help="folder of built programs; builds the workspace without it")
    return parser


def programs(binaries):
    """The folder of `ovenward` and `bakehouse`."""
    if binaries is None:
        subprocess.run(["cargo", "build", "--release", "--workspace", "--locked"], cwd=REPOSITORY, check=True)
        binaries = Path(os.environ.get("CARGO_TARGET_DIR", REPOSITORY / "target")) / "release"
    return binaries.resolve()


def machine():
    """The machine and its load, for the line beside the figures."""
    model = re.search(r"model name\s*: (.*)", Path("/proc/cpuinfo").read_text())
    name = model[1] if model else "unknown processor"
    return f"{name}, {os.cpu_count()} cores, load {os.getloadavg()[0]:.1f} at the start"


@contextlib.contextmanager
def folder():
    """A folder on a disk (not in memory: commits must cost what they cost), removed afterwards."""
    path = Path(tempfile.mkdtemp(prefix="bench-", dir=REPOSITORY / "target"))
    try:
        yield path
    finally:
        shutil.rmtree(path)


def free_port():
    with socket.socket() as listener:
        listener.bind(("127.0.0.1", 0))
        return listener.getsockname()[1]


def wait_for(what, holds, seconds=60.0):
    until = time.monotonic() + seconds
    while not holds():
        if time.monotonic() > until:
            sys.exit(f"waited {seconds:.0f} s for {what}")
        time.sleep(0.05)


class Running:
    """A process, and what it has used."""

    def __init__(self, command, **how):
        how.setdefault("stdout", subprocess.DEVNULL)
        how.setdefault("stderr", subprocess.DEVNULL)
        self.process = subprocess.Popen([str(part) for part in command], **how)
        self._used = (0.0, 0.0)

    def used(self):
        """CPU seconds so far, and the most memory it held, MB; the last known of a process that has ended."""
        try:
            # The name in parentheses may hold spaces.
            fields = Path(f"/proc/{self.process.pid}/stat").read_text().rpartition(")")[2].split()
            peak = re.search(r"VmHWM:\s*(\d+)", Path(f"/proc/{self.process.pid}/status").read_text())
            if peak:
                self._used = ((int(fields[11]) + int(fields[12])) / TICKS, int(peak[1]) * 1024 / 1e6)
        except FileNotFoundError:
            pass
        return self._used

    def memory(self):
        """What it holds now, MB."""
        pages = int(Path(f"/proc/{self.process.pid}/statm").read_text().split()[1])
        return pages * os.sysconf("SC_PAGE_SIZE") / 1e6

    def ended(self):
        return self.process.poll() is not None

    def stop(self):
        if not self.ended():
            self.process.terminate()
        self.process.wait(timeout=60)


@contextlib.contextmanager
def running(command, **how):
    process = Running(command, **how)
    try:
        yield process
    finally:
        process.stop()


@contextlib.contextmanager
def broker(place, settings):
    """Mosquitto with its defaults, or with the limits of deploy/. Gives the process and its port."""
    port = free_port()
    lines = [f"listener {port} 127.0.0.1", "allow_anonymous true", "user root"]
    if settings == "deploy":
        shipped = (REPOSITORY / "deploy/mosquitto/ovenward.conf").read_text().splitlines()
        limits = ("max_", "queue_", "set_tcp_nodelay")
        lines += [line for line in shipped if line.startswith(limits)]
    config = place / "mosquitto.conf"
    config.write_text("\n".join(lines) + "\n")
    program = shutil.which("mosquitto", path=os.environ["PATH"] + ":/usr/sbin:/usr/local/sbin")
    if program is None:
        sys.exit("mosquitto is not installed; install the packages mosquitto and mosquitto-clients")
    with running([program, "-c", config]) as process:
        wait_for("the broker", lambda: answers(port))
        yield process, port


def answers(port):
    with socket.socket() as client:
        return client.connect_ex(("127.0.0.1", port)) == 0


ALIKE = """
[defaults.line]
firing = "direct"
fuel = "natural-gas"
steam_section_m = 1.2
zones = 12

[defaults.line.signals]
band_speed = { topic = "mill/{line}/band", unit = "m/min" }
product = "mill/{line}/product"
steam_flow = { topic = "mill/{line}/steam", unit = "kg/h" }
gas_flow = { topic = "mill/{line}/gas", unit = "m3/h" }

[defaults.zone]
length_m = 2.4

[defaults.zone.signals]
air_temperature = { topic = "mill/{line}/z{zone}/temp", unit = "degC" }
dew_point = { topic = "mill/{line}/z{zone}/dew", unit = "degC" }
exhaust_damper = { topic = "mill/{line}/z{zone}/damper", unit = "%" }
"""


def plant(place, port, payload):
    """The config of 100 ovens alike with 40 tags each, which send what FLOOD sends. Gives its path and the page's port."""
    page = free_port()
    text = (REPOSITORY / "config/test-day.toml").read_text()
    before, after = text.partition("[[line]]")[0], text.partition("[costs]")[2]
    before = before.replace("mqtt://127.0.0.1:1883", f"mqtt://127.0.0.1:{port}")
    if payload == "number":
        before = re.sub(r'payload = "json"\njson = .*\n', 'payload = "number"\n', before)
    lines = "".join(f'\n[[line]]\nid = "tunnel-{number}"\n' for number in range(1, 101))
    config = place / "plant.toml"
    config.write_text(f'{before}{ALIKE}{lines}\n[costs]{after}\n[console]\nbind = "127.0.0.1:{page}"\n')
    return config, page


def flood(programs, port, payload, readings, rate):
    """The command of the publisher: that many readings of these ovens, all tags but the product."""
    return [programs / "bakehouse", "flood", "--broker", f"mqtt://127.0.0.1:{port}", "--payload", payload,
            "--rate", rate, "--seconds", readings / rate, "--lines", 100, "--zones", 12]  # fmt: skip


def metric(page, name):
    """A figure of the running service; none while it does not answer."""
    try:
        with urllib.request.urlopen(f"http://127.0.0.1:{page}/metrics", timeout=5) as answer:
            text = answer.read().decode()
    except OSError:
        return None
    found = re.search(rf"^{name} (\S+)$", text, re.MULTILINE)
    return float(found[1]) if found else None


def table(head, rows):
    """Prints rows under a head, in columns wide enough."""
    rows = [[str(cell) for cell in row] for row in [head, *rows]]
    widths = [max(len(row[column]) for row in rows) for column in range(len(head))]
    for row in rows:
        print("  ".join(cell.ljust(width) for cell, width in zip(row, widths)).rstrip(), flush=True)
