"""Three plants, one lake, one job over all of them: pushes that are cut off, what is late, altered or deleted, a store of
objects over the network, and Spark's tables against ours."""

import argparse
import csv
import datetime
import json
import os
import pathlib
import shutil
import subprocess
import sys
import tempfile
import time

from object_server import BUCKET, ObjectServer
from plants import DAYS, ROOT, SITES, STARVED, Plant

JOB = ROOT / "deploy/fleet"
MODULES = ["humidity.py", "normals.py", "shift_tables.py", "sisters.py", "tree.py"]
NUMBERS_ALIKE = 1e-9


def manifests(lake, site):
    found = sorted((lake / "manifests" / f"site={site}").glob("*.json"))
    return {file.stem: json.loads(file.read_text()) for file in found}


def objects(lake, site):
    return [entry for manifest in manifests(lake, site).values() for entry in manifest["objects"]]


def files_below(folder):
    return {file: file.stat().st_mtime_ns for file in folder.rglob("*") if file.is_file()}


def cut_off_and_resumed(plants, lake):
    """A push that is killed again and again, each time a little later, ends where one that was not killed does."""
    plant = plants["millbrook"]
    rounds, after_s = 0, 0.1
    while not (lake / "manifests" / "site=millbrook" / "plant.json").exists() or plant.json("lake")["waiting"]:
        command = [plant.binaries / "ovenward", "--config", "plant.toml", "lake", "push"]
        push = subprocess.Popen(command, cwd=plant.folder, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
        try:
            push.wait(timeout=after_s)
        except subprocess.TimeoutExpired:
            push.kill()
            push.wait()
        rounds, after_s = rounds + 1, after_s * 1.6
        # At every moment: what is listed is there.
        missing = [entry["path"] for entry in objects(lake, "millbrook") if not (lake / entry["path"]).is_file()]
        assert not missing, f"listed and not there: {missing}"
        assert rounds < 25, "it never gets further"
    assert rounds > 1, "it was never cut off"
    again = plant.json("lake", "push")
    assert again["sent"] == 0, again
    assert plant.json("lake", "verify")["findings"] == []
    paths = [entry["path"] for entry in objects(lake, "millbrook")]
    assert len(paths) == len(set(paths)), "each object counts once"


def pushed_once(plants, lake):
    for plant in plants.values():
        plant.run("lake", "push")
    before = files_below(lake)
    for plant in plants.values():
        told = plant.json("lake", "push")
        assert told["sent"] == 0 and told["held"] == [], told
    assert files_below(lake) == before, "a second push writes nothing at all"
    for site, plant in plants.items():
        summary = plant.json("lake")
        # The night that began on the last day ends on the next, of which there are no readings.
        assert summary["waiting"] == [] and summary["days"] == DAYS + 1, summary
        listed = sum(entry["rows"] or 0 for entry in objects(lake, site) if entry["kind"] == "readings")
        assert listed == summary["readings"] == plant.json("store")["readings"], summary
        plant_file = next(entry for entry in objects(lake, site) if entry["kind"] == "plant")
        text = (lake / plant_file["path"]).read_text()
        assert "mqtt://" not in text and "password" not in text, "no address of a broker in the lake"


def late_altered_deleted(plants, lake):
    plant, site = plants["millbrook-hill"], "millbrook-hill"
    day = lambda: manifests(lake, site)["date=2026-06-02"]["objects"]
    readings = lambda: sum(entry["rows"] for entry in day() if entry["kind"] == "readings")
    before = readings()
    # Late: a reading a second after each that the band of tunnel-1 sent in five hours.
    late = plant.folder / "late.csv"
    rows = (plant.folder / "tunnel-1.csv").read_text().splitlines()
    of_band = [row for row in rows if ",mill/tunnel-1/band," in row][:600]
    late.write_text("time,tag,value\n" + "".join(row.replace(".000Z", ".700Z") + "\n" for row in of_band))
    plant.run("backfill", "late.csv")
    assert plant.json("lake")["waiting"] != []
    plant.run("lake", "push")
    assert readings() == before + 600, "the day has the late ones, and no other twice"
    # Altered and deleted: said, and sent again.
    one, other = [entry["path"] for entry in day() if entry["kind"] == "readings"][:2]
    (lake / one).write_bytes((lake / one).read_bytes()[:-1] + b"?")
    (lake / other).unlink()
    said = plant.run("lake", "verify", status=1)
    assert "2 of the lake's objects" in said, said
    told = plant.json("lake", "push")
    assert told["sent"] == 2 and told["altered"] == 1, told
    assert plant.json("lake", "verify")["findings"] == []
    # A store that knows less of a day than the lake does not take the day away; another store does not either.
    small = Plant(plant.folder, plant.binaries, site, f"file://{lake}")
    few = small.folder / "few.csv"
    few.write_text("\n".join(rows[:200]) + "\n")
    small.run("backfill", "few.csv")
    assert "belongs to another store" in small.run("lake", "push", status=1)
    said = small.run("lake", "push", "--take-over", status=1)
    assert "the lake has" in said and "--replace 2026-06-02" in said, said
    assert readings() == before + 600
    plant.run("lake", "push", "--take-over")


def over_the_network(plants, folder):
    plant = plants["millbrook-west"]
    with open(folder / "objects.log", "w") as log:
        server = ObjectServer(log)
        try:
            (plant.folder / "lake-key").write_text(server.key + "\n")
            (plant.folder / "wrong-key").write_text("wrong\n")
            access = f'endpoint = "{server.url}"\nkey_id = "{server.key_id}"\nkey_file = '
            plant.use(f"s3://{BUCKET}/ovens", f'{access}"wrong-key"\n')
            refused = plant.run("lake", "push", status=1)
            assert "does not let us" in refused and "key_file" in refused, refused
            assert server.names() == {}, "nothing was written with the wrong key"
            plant.use("s3://no-such-bucket/ovens", f'{access}"lake-key"\n')
            nowhere = plant.run("lake", "push", status=1)
            assert "no-such-bucket" in nowhere and "make it" in nowhere, nowhere
            plant.use(f"s3://{BUCKET}/ovens", f'{access}"lake-key"\n')
            plant.run("lake", "push")
            sent = server.names()
            assert sent and all(name.startswith("ovens/") and "millbrook-west" in name for name in sent)
            assert plant.json("lake", "push")["sent"] == 0 and server.names() == sent
            reading = next(name for name in sent if "/readings/" in name)
            # Only-if-absent: what stands under a name is not written over.
            try:
                server.objects.put_object(Bucket=BUCKET, Key=reading, Body=b"?", IfNoneMatch="*")
                raise AssertionError("the server writes over what is there: nothing was tested")
            except server.objects.exceptions.ClientError as error:
                assert error.response["ResponseMetadata"]["HTTPStatusCode"] == 412
            server.objects.delete_object(Bucket=BUCKET, Key=reading)
            assert "1 of the lake's objects" in plant.run("lake", "verify", status=1)
            # The keys of the environment, as the service's own tools read them.
            plant.use(f"s3://{BUCKET}/ovens", f'endpoint = "{server.url}"\n')
            keys = {"AWS_ACCESS_KEY_ID": server.key_id, "AWS_SECRET_ACCESS_KEY": server.key}
            plant.run("lake", "push", environment=keys)
            plant.run("lake", "verify", environment=keys)
        finally:
            server.end()
    plant.use(f"s3://{BUCKET}/ovens", f'{access}"lake-key"\n')
    began = time.monotonic()
    away = plant.run("lake", "push", status=1)
    assert "s3://fleet/ovens" in away and time.monotonic() - began < 120, away


def run_job(lake, out, python):
    programs = pathlib.Path(python).parent
    modules = ",".join(str(JOB / name) for name in MODULES)
    small = ["--conf", "spark.sql.shuffle.partitions=4", "--conf", "spark.ui.enabled=false", "--driver-memory", "1g"]
    command = [programs / "spark-submit", "--master", "local-cluster[2,1,1024]", *small, "--py-files", modules, JOB / "fleet.py",
               "--lake", f"file://{lake}", "--out", f"file://{out}", "--format", "csv"]  # fmt: skip
    environment = {**os.environ, "PATH": f"{programs}:{os.environ['PATH']}", "SPARK_LOCAL_IP": "127.0.0.1"}
    done = subprocess.run(command, capture_output=True, text=True, env=environment)
    assert done.returncode == 0, done.stderr[-6000:]
    print(done.stdout)
    return done.stdout


def rows_of(folder):
    file = next(folder.glob("part-*.csv"), None)
    return list(csv.DictReader(file.open())) if file else []


def same(column, ours, theirs):
    """Whether Spark shows what we show: numbers to the last digit, times as moments."""
    if column in ("starts", "ends"):
        return datetime.datetime.fromisoformat(ours) == datetime.datetime.fromisoformat(theirs)
    try:
        return float(ours) == float(theirs)
    except ValueError:
        return ours == theirs


def equal_to_our_tables(plants, out):
    """Every row and every column of every plant, to the last digit that `ovenward shifts --format csv` shows."""
    key = lambda row: (row["site"], row["line"], row["date"], row["shift"], row["product"], row["zone"])
    ours = {key(row): row for plant in plants.values() for row in plant.table()}
    theirs = {key(row): row for row in rows_of(out / "shifts")}
    assert ours.keys() == theirs.keys(), ours.keys() ^ theirs.keys()
    for name, row in ours.items():
        wrong = [column for column in row if not same(column, row[column], theirs[name][column])]
        assert not wrong, f"{name}: {[(column, row[column], theirs[name][column]) for column in wrong]}"
    print(f"{len(ours)} rows of {len(next(iter(ours.values())))} columns are equal to the last digit shown")


def worked_out_again(out):
    """What Spark makes of the readings agrees with the tables, column by column."""
    agreement = {row["column"]: row for row in rows_of(out / "agreement")}
    assert len(agreement) == 18, sorted(agreement)
    for column, row in agreement.items():
        assert row["differing"] == "0", row
        assert int(row["compared"]) > 0, f"{column} was never compared"
        assert float(row["largest_relative_difference"]) < NUMBERS_ALIKE, row


def the_oven_that_differs(out):
    """It is found, and no other."""
    differing = rows_of(out / "differing")
    assert {(row["site"], row["line"]) for row in differing} == {STARVED[:2]}, differing
    first = [row for row in differing if row["zone"] == "1" and row["measure"] == "moisture_pct_mean"]
    assert first and all(float(row["deviation"]) < 0 for row in first), "less steam, less moisture in zone 1"


def normals_side_by_side(out):
    rows = rows_of(out / "normals")
    assert rows and all(int(row["ovens"]) >= 2 for row in rows)
    assert max(int(row["ovens"]) for row in rows) >= 4
    for row in rows:
        low, middle, high = (float(row[f"moisture_pct_{name}"]) for name in ("lowest", "median", "highest"))
        assert low <= middle <= high and 0 <= float(row["moisture_pct_spread"]) <= high - low, row


def main():
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--binaries", required=True, type=pathlib.Path, help="the folder of the built programs")
    parser.add_argument("--keep", type=pathlib.Path, help="a folder for everything, kept afterwards")
    asked = parser.parse_args()
    folder = asked.keep or pathlib.Path(tempfile.mkdtemp(prefix="fleet-"))
    folder.mkdir(exist_ok=True)
    lake, out = folder / "lake", folder / "out"
    lake.mkdir()
    began = time.monotonic()

    def step(name, act, *arguments):
        act(*arguments)
        print(f"ok {name} ({time.monotonic() - began:.0f} s)", flush=True)

    try:
        plants = {site: Plant(folder, asked.binaries.resolve(), site, f"file://{lake}") for site in SITES}
        for plant in plants.values():
            plant.simulate()
            plant.learn()
        print(f"three plants ({time.monotonic() - began:.0f} s)", flush=True)
        step("cut off and resumed", cut_off_and_resumed, plants, lake)
        step("pushed once", pushed_once, plants, lake)
        step("late, altered, deleted", late_altered_deleted, plants, lake)
        step("the job", run_job, lake, out, sys.executable)
        step("equal to our tables", equal_to_our_tables, plants, out)
        step("worked out again", worked_out_again, out)
        step("the oven that differs", the_oven_that_differs, out)
        step("normals side by side", normals_side_by_side, out)
        step("over the network", over_the_network, plants, folder)
        print("9 passed, 0 failed")
    finally:
        if not asked.keep:
            shutil.rmtree(folder)


if __name__ == "__main__":
    main()
