"""Compares our energy baseline with an independent fit, and its saving with a known one.

    python tests/published/crosscheck_energy.py --binary target/debug/examples/baseline

The binary is `cargo build -p balance --example baseline`. The data are the sample meter "il-gas-hdd-only-daily" of the
package opendsm (Apache-2.0): a simulated building whose gas use its metadata puts at 1000 therm a year before and 900
after a retrofit, a true saving of 10 %. Weeks of gas are fitted by heating degree days below 60 degF. The package's
files are read; its code is not run. R2 and CV(RMSE) are ASHRAE Guideline 14's, computed here with numpy.
"""

import argparse
import csv
import datetime
import gzip
import importlib.util
import json
import pathlib
import subprocess
import sys

import numpy

SAMPLE = "il-gas-hdd-only-daily"
BALANCE_POINT_F = 60.0
WEEK = 7
# How far the saving may be from the true one, in percentage points: the weeks' own scatter is 11 %.
SAVING_WITHIN = 1.0


def samples():
    package = importlib.util.find_spec("opendsm").submodule_search_locations[0]
    return pathlib.Path(package) / "eemeter" / "samples"


def series(path):
    with gzip.open(path, "rt") as file:
        rows = csv.reader(file)
        next(rows)
        return [(datetime.datetime.fromisoformat(when), float(value)) for when, value in rows]


def weeks(days):
    """Sums of gas and of degree days over whole weeks."""
    whole = [days[at : at + WEEK] for at in range(0, len(days) - WEEK + 1, WEEK)]
    return [(sum(day[1] for day in week), sum(day[2] for day in week)) for week in whole]


def main():
    arguments = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    arguments.add_argument("--binary", required=True, help="the built example `baseline` of the crate balance")
    given = arguments.parse_args()

    facts = json.loads((samples() / "metadata.json").read_text())[SAMPLE]
    warmth = {}
    for when, fahrenheit in series(samples() / facts["temperature_filename"]):
        warmth.setdefault(when.date(), []).append(fahrenheit)
    days = [
        (when.date(), gas, max(0.0, BALANCE_POINT_F - sum(warmth[when.date()]) / len(warmth[when.date()])))
        for when, gas in series(samples() / facts["meter_data_filename"])
        if gas == gas and when.date() in warmth
    ]
    begins, ends = (datetime.date.fromisoformat(facts[f"blackout_{end}_date"]) for end in ("start", "end"))
    before, after = weeks([day for day in days if day[0] < begins]), weeks([day for day in days if day[0] > ends])

    rows = [f"before,{gas},{degrees}" for gas, degrees in before] + [f"after,{gas},{degrees}" for gas, degrees in after]
    done = subprocess.run([given.binary], input="\n".join(rows) + "\n", capture_output=True, text=True)
    if done.returncode:
        sys.exit(done.stderr)
    ours = dict(zip(("constant", "slope", "r2", "cv_rmse", "saving", "interval"), map(float, done.stdout.split(","))))

    gas, degrees = (numpy.array(column) for column in zip(*before))
    design = numpy.column_stack([numpy.ones_like(degrees), degrees])
    (constant, slope), *_ = numpy.linalg.lstsq(design, gas, rcond=None)
    left = gas - constant - slope * degrees
    theirs = {
        "constant": constant,
        "slope": slope,
        "r2": 1.0 - (left @ left) / ((gas - gas.mean()) @ (gas - gas.mean())),
        "cv_rmse": numpy.sqrt(left @ left / (len(gas) - 2)) / gas.mean(),
    }
    failed = False
    for name, reference in theirs.items():
        deviation = abs(ours[name] / reference - 1.0)
        failed |= not deviation < 1e-9
        print(f"{name:10} {ours[name]:12.6f} for {reference:12.6f}, deviation {deviation:.1e} of 1.0e-09")
    true = 100.0 * (1.0 - facts["annual_reporting_total_load"] / facts["annual_baseline_total_load"])
    found, interval = 100.0 * ours["saving"], 100.0 * ours["interval"]
    failed |= not (abs(found - true) < SAVING_WITHIN and abs(found - true) < interval)
    print(f"saving     {found:.2f} % +- {interval:.2f} (95 %), true {true:.2f} %, {len(before)} and {len(after)} weeks")
    sys.exit(1 if failed else 0)


if __name__ == "__main__":
    main()
