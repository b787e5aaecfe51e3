"""A Debian of its own: a root made by apt, booted with systemd in namespaces, with no network but its own loopback."""

import pathlib
import platform
import shutil
import subprocess
import sys
import tempfile

sys.path.insert(0, str(pathlib.Path(__file__).resolve().parents[1] / "shared"))

from plant import wait_for

PACKAGES = "systemd,systemd-sysv,dbus,mosquitto,mosquitto-clients"


def sources():
    """Where this machine's own Debian comes from."""
    modern = pathlib.Path("/etc/apt/sources.list.d/debian.sources")
    return modern if modern.exists() else pathlib.Path("/etc/apt/sources.list")


def release():
    """What this machine's own Debian is called."""
    return platform.freedesktop_os_release()["VERSION_CODENAME"]


def may_boot():
    """Whether this machine lets anybody mount and make namespaces."""
    tried = subprocess.run(["unshare", "--mount", "--pid", "--net", "--fork", "true"], capture_output=True)
    return tried.returncode == 0


def archive(kept_in):
    """The root as an archive: made once, as it takes a minute."""
    made = kept_in / "debian.tar"
    if not made.exists():
        unfinished = kept_in / "unfinished.tar"
        unfinished.unlink(missing_ok=True)
        command = ["mmdebstrap", "--quiet", "--variant=minbase", f"--include={PACKAGES}", release(), unfinished, sources()]
        subprocess.run(command, check=True)
        unfinished.rename(made)
    return made


class Debian:
    """A running machine. As a context it is booted, and gone without a trace at the end."""

    def __init__(self, made_of):
        self.root = pathlib.Path(tempfile.mkdtemp(prefix="ovenward-debian-"))
        subprocess.run(["tar", "--extract", "--file", made_of, "--directory", self.root], check=True)

    def __enter__(self):
        self.log = open(self.root.with_suffix(".log"), "w")
        booted = ["systemd-nspawn", "--quiet", "--directory", self.root, "--boot", "--register=no", "--keep-unit"]
        booted += ["--private-network", "--link-journal=no"]
        self.running = subprocess.Popen(booted, stdin=subprocess.DEVNULL, stdout=self.log, stderr=self.log)
        self.first = wait_for("the first process", self.first_process)
        self.wait_until_up()
        return self

    def __exit__(self, *_):
        subprocess.run(["nsenter", "--target", str(self.first), "--all", "poweroff"], capture_output=True)
        try:
            self.running.wait(timeout=30)
        except subprocess.TimeoutExpired:
            self.running.kill()
            self.running.wait()
        shutil.rmtree(self.root)
        self.log.close()
        self.root.with_suffix(".log").unlink()

    def first_process(self):
        """The id, on this machine, of the process that is 1 in there."""
        assert self.running.poll() is None, self.root.with_suffix(".log").read_text()
        for status in pathlib.Path("/proc").glob("[0-9]*/status"):
            try:
                lines = dict(line.split(":\t", 1) for line in status.read_text().splitlines() if ":\t" in line)
                in_there = lines["NSpid"].split()[1:] == ["1"] and lines["Name"] == "systemd"
                if in_there and (status.parent / "root").samefile(self.root):
                    return int(status.parent.name)
            except (OSError, KeyError):
                continue
        return None

    def wait_until_up(self):
        def up():
            return self.try_run("systemctl", "is-system-running").stdout.strip() in ("running", "degraded")

        wait_for("the machine to be up", up)

    def try_run(self, *command):
        entered = ["nsenter", "--target", str(self.first), "--all", *command]
        clean = {"PATH": "/usr/sbin:/usr/bin:/sbin:/bin", "LC_ALL": "C.UTF-8", "DEBIAN_FRONTEND": "noninteractive"}
        return subprocess.run(entered, capture_output=True, text=True, env=clean)

    def run(self, *command):
        """Runs a command that must succeed; gives what it printed."""
        done = self.try_run(*command)
        assert done.returncode == 0, f"{' '.join(command)}: {done.returncode}\n{done.stdout}{done.stderr}{self.told()}"
        return done.stdout

    def told(self):
        """The end of the journal: why something failed stands there."""
        return self.try_run("journalctl", "--no-pager", "--lines", "40").stdout

    def write(self, path, text):
        (self.root / path.lstrip("/")).write_text(text)

    def read(self, path):
        return (self.root / path.lstrip("/")).read_text()

    def exists(self, path):
        return (self.root / path.lstrip("/")).exists()
