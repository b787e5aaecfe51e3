"""The running program against a real mail server and a real program behind a webhook: what they take, what they refuse,
what waits while they are away, and what a kill leaves. Signatures are verified by an independent library."""

import argparse
import datetime
import pathlib
import tempfile
import time

from standardwebhooks.webhooks import Webhook

from bakery import ROTA, SECRET, Bakery
from plant import free_port, wait_for
from stack_light import a_stack_light_shows_the_load_and_when_nobody_knows_it

# So long nothing must happen to be believed.
A_WHILE_S = 4
ANN = "ann@millbrook.example"
LEADS = """
[notify.leads]
to = ["ann@millbrook.example"]
"""


def parts(mail):
    return {part.get_content_type(): part.get_content() for part in mail.walk() if not part.is_multipart()}


def everybody_hears_an_alert_through_its_life(bakery):
    bakery.mail.start()
    bakery.rota.start()
    bakery.configure(ROTA + LEADS)
    bakery.serve()
    bakery.bake(minutes=12)
    bakery.overload()
    [alert] = bakery.standing(1)
    wait_for("the raise", lambda: bakery.rota.taken() and bakery.mail.mails)
    bakery.command("alerts", "acknowledge", alert["id"], "--by", "Ann", "--comment", "opening damper 3", check=True)
    wait_for("the answer", lambda: len(bakery.rota.taken()) == 2 and len(bakery.mail.mails) == 2)
    standing = bakery.kept("tunnel-1/alert/+")[alert["id"]]
    bakery.calm()
    wait_for("the end", lambda: len(bakery.rota.taken()) == 3 and len(bakery.mail.mails) == 3)
    time.sleep(A_WHILE_S)
    assert len(bakery.rota.heard) == 3 and len(bakery.mail.mails) == 3, "nothing is told twice"

    told = bakery.rota.taken()
    assert [body["type"] for body in told] == ["alert.raised", "alert.answered", "alert.ended"]
    assert told[1]["data"] == standing, "the alert as MQTT has it"
    assert told[1]["data"]["acknowledged_by"] == "Ann" and told[2]["data"]["state"] == "returned-acknowledged"
    for (_, headers, body), parsed in zip(bakery.rota.heard, told):
        assert Webhook(SECRET).verify(body, headers) == parsed
        assert headers["webhook-id"] == parsed["notice"] and headers["content-type"] == "application/json"

    raised, answered, ended = bakery.mail.to(ANN)
    assert raised["Subject"] == "Tunnel oven 1: zone 3 is over its limit (high)"
    assert answered["Subject"] == "Tunnel oven 1: acknowledged by Ann: zone 3 is over its limit (high)"
    assert ended["Subject"] == "Tunnel oven 1: ended: zone 3 is over its limit (high)"
    assert raised["From"] == "Ovens <ovens@millbrook.example>" and raised["Auto-Submitted"] == "auto-generated"
    assert (raised["Importance"], ended["Importance"]) == ("high", None)
    assert len({mail["Message-ID"] for mail in bakery.mail.mails}) == 3
    assert {mail["References"] for mail in bakery.mail.mails} == {f"<{alert['id']}@millbrook.example>"}, "one thread"
    text, html = parts(raised)["text/plain"], parts(raised)["text/html"]
    for part in (text, html):
        assert alert["message"] in part and alert["caution"] in part.replace("&#x27;", "'"), part
        assert all(advice["text"] in part for advice in alert["advice"]), part
    assert "opening damper 3" in parts(answered)["text/plain"]
    bakery.stop()


def what_fails_is_tried_again_and_what_is_refused_is_given_up(bakery):
    bakery.rota.answers = [500, "hang", 429, 200, 410, 302]
    bakery.rota.start()
    bakery.configure(ROTA)
    bakery.serve()
    bakery.bake(minutes=12)
    bakery.overload()
    [alert] = bakery.standing(1)
    wait_for("the first answer to be told", lambda: "rota: it answers 500" in bakery.problems())
    assert bakery.page("/readyz") == "ready", "the service does its work"
    wait_for("what was tried again", bakery.rota.taken)
    first = f"{alert['id']}-raised"
    assert [answer for _, answer in bakery.rota.ids()] == [500, "hang", 429, 200]
    assert len({notice for notice, _ in bakery.rota.ids()}) == 1 and bakery.rota.ids()[0][0].startswith(first)
    wait_for("the trouble to be over", lambda: bakery.problems() == "")
    bakery.command("alerts", "acknowledge", alert["id"], "--by", "Ann", check=True)
    wait_for("the refusal to be told", lambda: "rota: it refused" in bakery.problems())
    assert "410 Gone: the rota is out of order" in bakery.problems()
    assert "given up, for it was refused" in (bakery.folder / "serve.log").read_text()
    bakery.calm()
    wait_for("no redirect to be followed", lambda: bakery.rota.ids()[-1][1] == 302)
    time.sleep(A_WHILE_S)
    assert len(bakery.rota.heard) == 6, "what is refused is not tried again"
    assert bakery.figure('ovenward_notices_total{result="taken"}') == 1
    assert bakery.figure('ovenward_notices_total{result="failed"}') == 3
    assert bakery.figure('ovenward_notices_total{result="refused"}') == 2
    assert bakery.figure("ovenward_notices_waiting") == 0
    bakery.stop()


def a_kill_while_notices_wait_loses_none(bakery):
    lines = ("tunnel-1", "tunnel-2")
    bakery.configure(ROTA + LEADS, lines)
    bakery.serve()
    for line in lines:
        bakery.bake(line, 12)
        bakery.overload(line)
    bakery.standing(2)
    wait_for("the notices to wait", lambda: bakery.figure("ovenward_notices_waiting") == 4)
    bakery.kill()
    bakery.mail.start()
    bakery.rota.start()
    bakery.serve()
    wait_for("all of them", lambda: len(bakery.rota.taken()) == 2 and len(bakery.mail.mails) == 2)
    assert {body["data"]["line"] for body in bakery.rota.taken()} == set(lines)
    assert len({mail["Subject"] for mail in bakery.mail.mails}) == 2, "a high alert has a mail of its own"
    wait_for("nothing to wait", lambda: bakery.figure("ovenward_notices_waiting") == 0)
    assert bakery.problems() == ""

    # Killed again and again while a server comes and goes.
    for round_ in range(3):
        bakery.mail.stop()
        bakery.calm("tunnel-1")
        wait_for("the end", lambda: len(bakery.alerts(ended=None)) == 1)
        time.sleep(0.3 * round_)
        bakery.kill()
        bakery.mail.start()
        bakery.serve()
        before = len(bakery.mail.mails)
        wait_for("the end to be told", lambda: any("ended:" in mail["Subject"] for mail in bakery.mail.mails[before - 1 :]))
        told = len(bakery.mail.mails)
        bakery.overload("tunnel-1")
        wait_for("the next", lambda: len(bakery.mail.mails) > told)
    bakery.stop()


def a_server_away_for_long_is_told_what_still_matters(bakery):
    bakery.configure(LEADS, ("tunnel-1", "tunnel-2", "tunnel-3"))
    bakery.serve()
    for line in ("tunnel-1", "tunnel-2", "tunnel-3"):
        bakery.bake(line, 12)
    bakery.overload("tunnel-1")
    bakery.overload("tunnel-2")
    bakery.steam_for_nothing("tunnel-3")
    bakery.standing(3)
    wait_for("three to wait", lambda: bakery.figure("ovenward_notices_waiting") == 3)
    for line in ("tunnel-1", "tunnel-2", "tunnel-3"):
        bakery.bake(line, 1, steam=0.0)
    wait_for("all to be over", lambda: bakery.alerts(ended=None) == [])
    wait_for("the medium one to be dropped", lambda: bakery.figure("ovenward_notices_waiting") == 2)
    bakery.mail.start()
    [mail] = wait_for("one mail", lambda: bakery.mail.mails)
    assert mail["Subject"] == "Millbrook Bakery: 2 alerts", mail["Subject"]
    text = parts(mail)["text/plain"]
    assert "Tunnel oven 1: ended: zone 3" in text and "Tunnel oven 2: ended: zone 3" in text and "oven 3" not in text, text
    time.sleep(A_WHILE_S)
    assert len(bakery.mail.mails) == 1
    bakery.stop()


def quiet_hours_hold_all_but_the_high(bakery):
    quiet = LEADS + 'quiet = { from = "22:00", to = "06:00" }\n'.replace("{", "{{").replace("}", "}}")
    lines = ("tunnel-1", "tunnel-2", "tunnel-3", "tunnel-4")
    bakery.mail.start()
    bakery.configure(quiet, lines)
    # 05:30 in London's summer; the plant's clock runs a minute a second.
    now = datetime.datetime(2026, 6, 2, 4, 30, tzinfo=datetime.UTC)
    bakery.serve("--clock-from", now.isoformat(), "--clock-speed", "60")
    for line in lines:
        bakery.bake(line, 12, start=now - datetime.timedelta(minutes=14))
    for line in lines[1:]:
        bakery.steam_for_nothing(line)
    bakery.overload("tunnel-1")
    bakery.standing(4)
    [urgent] = wait_for("the high alert", lambda: bakery.mail.mails)
    assert urgent["Subject"].startswith("Tunnel oven 1: zone 3 is over its limit"), urgent["Subject"]
    [answered] = bakery.alerts(line="tunnel-4")
    bakery.command("alerts", "acknowledge", answered["id"], "--by", "Ann", check=True)
    wait_for("the end of the quiet hours", lambda: len(bakery.mail.mails) == 2)
    held = bakery.mail.mails[1]
    assert held["Subject"] == "Millbrook Bakery: 2 alerts", held["Subject"]
    text = parts(held)["text/plain"]
    assert "Tunnel oven 2: steam is on without product (medium)" in text and "Tunnel oven 3: steam" in text, text
    assert "Tunnel oven 4" not in text, "somebody has answered it"
    bakery.stop()


def an_escalation_waits_for_an_answer(bakery):
    escalation = ROTA + "after_min = 5\n" + LEADS
    bakery.mail.start()
    bakery.rota.start()
    bakery.configure(escalation, ("tunnel-1", "tunnel-2"))
    now = datetime.datetime(2026, 6, 2, 12, 0, tzinfo=datetime.UTC)
    bakery.serve("--clock-from", now.isoformat(), "--clock-speed", "60")
    for line in ("tunnel-1", "tunnel-2"):
        bakery.bake(line, 12, start=now - datetime.timedelta(minutes=14))
    bakery.overload("tunnel-1")
    [answered] = bakery.standing(1)
    wait_for("the first to hear of it", lambda: len(bakery.mail.mails) == 1)
    bakery.command("alerts", "acknowledge", answered["id"], "--by", "Ann", check=True)
    wait_for("the answer", lambda: len(bakery.mail.mails) == 2)
    bakery.overload("tunnel-2")
    wait_for("nobody to answer", bakery.rota.taken)
    assert [body["data"]["line"] for body in bakery.rota.taken()] == ["tunnel-2"], "the other was answered in time"
    bakery.stop()


def receivers_are_tried_without_a_word_to_anybody(bakery):
    bakery.mail.start()
    bakery.rota.start()
    bakery.configure(ROTA + LEADS)
    tried = bakery.command("check", "--connect")
    assert tried.returncode == 0, tried.stderr
    assert f"leads/{ANN}: 127.0.0.1:{bakery.mail.port} would take a mail to {ANN}." in tried.stdout, tried.stdout
    assert f"rota: 127.0.0.1:{bakery.rota.port} answers, and its certificate is good." in tried.stdout, tried.stdout
    (bakery.folder / "mail-password").write_text("wrong\n")
    # The machine's own list of authorities does not know the plant's.
    bakery.configure(ROTA.replace('ca_file = "plant-ca.pem"', "") + LEADS)
    tried = bakery.command("check", "--connect")
    assert tried.returncode == 1, tried.stdout
    assert f"leads/{ANN}: NOT REACHED: 127.0.0.1:{bakery.mail.port}: permanent error (535)" in tried.stdout, tried.stdout
    assert "rota: NOT REACHED" in tried.stdout and "UnknownIssuer" in tried.stdout, tried.stdout
    bakery.rota.stop()
    bakery.rota.port = free_port()
    bakery.configure(ROTA)
    tried = bakery.command("check", "--connect")
    assert tried.returncode == 1 and "Connection refused" in tried.stdout, tried.stdout
    assert bakery.mail.mails == [] and bakery.rota.heard == [], "nothing was sent"


def an_address_that_is_refused_keeps_nothing_from_the_others(bakery):
    bakery.mail.start()
    bakery.mail.refusal = ("gone@millbrook.example", "550 no such person")
    bakery.configure('[notify.leads]\nto = ["gone@millbrook.example", "ann@millbrook.example"]\n')
    bakery.serve()
    bakery.bake(minutes=12)
    bakery.overload()
    wait_for("the other", lambda: bakery.mail.to(ANN))
    wait_for("the refusal to be told", lambda: "leads/gone@millbrook.example: it refused" in bakery.problems())
    assert "no such person" in bakery.problems() and f"leads/{ANN}" not in bakery.problems()
    bakery.stop()


TESTS = [
    everybody_hears_an_alert_through_its_life,
    what_fails_is_tried_again_and_what_is_refused_is_given_up,
    a_kill_while_notices_wait_loses_none,
    a_server_away_for_long_is_told_what_still_matters,
    quiet_hours_hold_all_but_the_high,
    an_escalation_waits_for_an_answer,
    receivers_are_tried_without_a_word_to_anybody,
    an_address_that_is_refused_keeps_nothing_from_the_others,
    a_stack_light_shows_the_load_and_when_nobody_knows_it,
]


def main():
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--binaries", required=True, type=pathlib.Path, help="the folder of the built programs")
    parser.add_argument("--only", default="", help="run the tests whose names contain this")
    arguments = parser.parse_args()
    tests = [test for test in TESTS if arguments.only in test.__name__]
    for test in tests:
        with tempfile.TemporaryDirectory() as folder:
            bakery = Bakery(pathlib.Path(folder), arguments.binaries.resolve())
            try:
                test(bakery)
                print(f"ok {test.__name__}", flush=True)
            except BaseException:
                log = bakery.folder / "serve.log"
                print(log.read_text()[-4000:] if log.exists() else "the service was not started")
                raise
            finally:
                bakery.end()
    print(f"{len(tests)} passed, 0 failed")


if __name__ == "__main__":
    main()
