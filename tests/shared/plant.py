"""A broker and the program beside each other in one folder, as the checks in Python need them."""

import pathlib
import shutil
import signal
import socket
import subprocess
import time
import urllib.error
import urllib.request

ROOT = pathlib.Path(__file__).resolve().parents[2]
PATIENCE_S = 120
OF_MACHINE = (
    "listener", "allow_anonymous", "password_file", "acl_file", "persistence_location", "cafile", "certfile", "keyfile",
    "require", "tls",
)


def free_port():
    with socket.socket() as listener:
        listener.bind(("127.0.0.1", 0))
        return listener.getsockname()[1]


def answers(port):
    with socket.socket() as client:
        return client.connect_ex(("127.0.0.1", port)) == 0


def wait_for(what, holds):
    end = time.monotonic() + PATIENCE_S
    while not (found := holds()):
        assert time.monotonic() < end, f"waited {PATIENCE_S} s for {what}"
        time.sleep(0.1)
    return found


def broker_settings(port, *further):
    """The settings that are shipped, without what belongs to one machine."""
    shipped = (ROOT / "deploy/mosquitto/ovenward.conf").read_text().splitlines()
    settings = [line for line in shipped if not line.startswith(OF_MACHINE)]
    return "\n".join([*settings, f"listener {port} 127.0.0.1", "allow_anonymous true", *further, ""])


class Plant:
    """The broker runs from the beginning, the program whenever it is asked to."""

    def __init__(self, folder, binaries):
        self.folder, self.program, self.service = folder, binaries / "ovenward", None
        self.broker_port, self.page_port = free_port(), free_port()
        # Started by root, it would become a user who cannot write into the folder.
        settings = broker_settings(self.broker_port, "user root", f"persistence_location {folder}/")
        (folder / "mosquitto.conf").write_text(settings)
        mosquitto = shutil.which("mosquitto", path="/usr/sbin:/usr/local/sbin:/usr/bin:/usr/local/bin")
        self.log = open(folder / "mosquitto.log", "w")
        self.broker = subprocess.Popen([mosquitto, "-c", folder / "mosquitto.conf"], stderr=self.log)
        wait_for("the broker", lambda: answers(self.broker_port))

    def serve(self, *options):
        log = open(self.folder / "serve.log", "a")
        command = [self.program, "--config", "plant.toml", "serve", *options]
        self.service = subprocess.Popen(command, cwd=self.folder, stderr=log)
        wait_for("the service to connect", lambda: self.figure("ovenward_broker_connected") == 1)

    def kill(self):
        self.service.kill()
        self.service.wait()

    def stop(self):
        self.service.send_signal(signal.SIGTERM)
        assert self.service.wait(timeout=20) == 0

    def page(self, path):
        try:
            with urllib.request.urlopen(f"http://127.0.0.1:{self.page_port}{path}", timeout=5) as answer:
                return answer.read().decode()
        except urllib.error.HTTPError as error:
            return error.read().decode()
        except OSError:
            return ""

    def figure(self, name):
        values = [line for line in self.page("/metrics").splitlines() if line.startswith(name + " ")]
        return float(values[0].rsplit(" ", 1)[1]) if values else None

    def end(self):
        for process in (self.service, self.broker):
            if process and process.poll() is None:
                process.kill()
                process.wait()
        self.log.close()
