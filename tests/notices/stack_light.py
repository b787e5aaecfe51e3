"""The stack light that is shipped, beside the running program: each state of the oven, and each way of hearing nothing."""

import subprocess
import sys

from plant import ROOT, wait_for

NORMAL = "green=on yellow=off white=off"
CALLS = "green=off yellow=flash white=off"
ANSWERED = "green=off yellow=on white=off"
UNKNOWN = "green=off yellow=off white=on"
LOST = "green=off yellow=off white=flash"


def a_stack_light_shows_the_load_and_when_nobody_knows_it(bakery):
    bakery.configure("")
    shown = bakery.folder / "lamps"
    shown.touch()
    command = [sys.executable, ROOT / "deploy/stack-light/stack_light.py", "--port", str(bakery.broker_port)]
    command += ["--root", "ovenward/millbrook", "--line", "tunnel-1", "sh", "-c"]
    # The lamps stand behind the command as its arguments.
    light = subprocess.Popen([*command, f'echo "$0 $1 $2" >> {shown}'])
    last = lambda: (shown.read_text().splitlines() or [""])[-1]
    try:
        wait_for("a light that has heard nothing", lambda: last() == LOST)
        bakery.serve()
        wait_for("the service, that knows of no baking", lambda: last() == UNKNOWN)
        bakery.bake(minutes=12)
        wait_for("an oven that bakes", lambda: last() == NORMAL)
        bakery.overload()
        wait_for("an overload", lambda: last() == CALLS)
        [alert] = bakery.standing(1)
        bakery.command("alerts", "acknowledge", alert["id"], "--by", "Ann", check=True)
        wait_for("the answer", lambda: last() == ANSWERED)
        line = ("--line", "tunnel-1", "--kind", "zone3-limit", "--by", "Ann")
        bakery.command("alerts", "shelve", *line, "--for", "5min", "--reason", "trial run", check=True)
        wait_for("the shelf", lambda: last() == UNKNOWN)
        bakery.command("alerts", "unshelve", *line, check=True)
        wait_for("the end of the shelf", lambda: last() == CALLS)
        bakery.kill()
        wait_for("the last will", lambda: last() == LOST)
        bakery.serve()
        wait_for("the service to be back", lambda: last() == CALLS)
        bakery.broker.kill()
        wait_for("a broker that is gone", lambda: last() == LOST)
    finally:
        light.kill()
        light.wait()
