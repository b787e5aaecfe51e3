"""Compares our physics with independent libraries at random states, and prints the largest
deviation of each quantity. Exit status 1 if one is beyond its tolerance.

    python tests/published/crosscheck.py --binary target/debug/examples/states [--states 2000] [--seed 1]

The binary is `cargo build -p physics --example states`. References: iapws (IAPWS-IF97 and the
sublimation curve) and CoolProp (IAPWS-95; its own IF97; HAPropsSI, the real mixture of Herrmann,
Kretzschmar and Gatley). A general library's wet bulb that returns the dry bulb above boiling is
not used.
"""

import argparse
import random
import subprocess
import sys

import CoolProp.CoolProp as coolprop
import iapws.iapws97 as if97
from iapws._iapws import _Sublimation_Pressure as sublimation_megapascal

KELVIN = 273.15


class Deviation:
    """The worst state of one quantity against one reference."""

    def __init__(self, tolerance, unit=""):
        self.tolerance, self.unit = tolerance, unit
        self.count, self.largest, self.at = 0, 0.0, ""

    def compare(self, state, ours, reference):
        deviation = abs(ours - reference) / (1.0 if self.unit else abs(reference))
        self.count += 1
        if not deviation <= self.largest:  # NaN comes out largest, too
            self.largest, self.at = deviation, f"{state}: {ours!r} for {reference!r}"

    def holds(self):
        return self.largest <= self.tolerance


class Comparison:
    def __init__(self):
        self.questions, self.checks, self.deviations = [], [], {}

    def tolerate(self, quantity, tolerance, unit=""):
        self.deviations[quantity] = Deviation(tolerance, unit)

    def ask(self, question, references):
        """`references`: for each quantity, the place of our answer on the line and a reference."""
        self.questions.append(",".join(str(part) for part in question))
        self.checks.append(references)

    def run(self, binary):
        done = subprocess.run([binary], input="\n".join(self.questions) + "\n", capture_output=True, text=True, check=True)
        answers = done.stdout.splitlines()
        if len(answers) != len(self.questions):
            sys.exit(f"{len(answers)} answers to {len(self.questions)} questions: {done.stderr}")
        for question, answer, references in zip(self.questions, answers, self.checks):
            if answer.startswith("error"):
                sys.exit(f"{question} is in range, but was answered with {answer}")
            ours = [float(value) for value in answer.split(",")]
            for quantity, (place, reference) in references.items():
                self.deviations[quantity].compare(question, ours[place], reference)


def saturation(comparison, pick, states):
    comparison.tolerate("saturation pressure / iapws IF97", 1e-9)
    comparison.tolerate("saturation pressure / CoolProp IAPWS-95", 3e-4)
    comparison.tolerate("saturation temperature / iapws IF97", 1e-8, "K")
    comparison.tolerate("sublimation pressure / iapws R14-08", 1.0e-4)
    for _ in range(states):
        t = pick.uniform(0.01, 200.0)
        comparison.ask(("saturation_pressure", t), {
            "saturation pressure / iapws IF97": (0, if97._PSat_T(t + KELVIN) * 1e6),
            "saturation pressure / CoolProp IAPWS-95": (0, coolprop.PropsSI("P", "T", t + KELVIN, "Q", 0, "Water")),
        })
        p = if97._PSat_T(pick.uniform(0.01, 340.0) + KELVIN)
        reference = if97._TSat_P(p) - KELVIN
        comparison.ask(("saturation_temperature", p * 1e6), {"saturation temperature / iapws IF97": (0, reference)})
        t = pick.uniform(-100.0, 0.0)
        reference = sublimation_megapascal(t + KELVIN) * 1e6
        comparison.ask(("saturation_pressure", t), {"sublimation pressure / iapws R14-08": (0, reference)})


PROPERTIES = [("v", "D", 1.0), ("h", "H", 1e3), ("s", "S", 1e3), ("cp", "C", 1e3), ("w", "A", 1.0)]


def water(comparison, pick, states):
    for phase in ("liquid", "vapour"):
        for name, _, _ in PROPERTIES:
            comparison.tolerate(f"{phase} {name} / iapws IF97", 1e-9)
            comparison.tolerate(f"{phase} {name} / CoolProp IF97", 1e-7)
    for _ in range(states):
        # Half a kelvin off saturation and off 0 degC, where a relative deviation means nothing.
        t = pick.uniform(1.0, 349.5)
        boiling = if97._PSat_T(t + KELVIN)
        ask_phase(comparison, "liquid", t, pick.uniform(boiling * 1.01, 100.0), if97._Region1)
        t = pick.uniform(2.0, 800.0)
        most = if97._PSat_T(t + KELVIN) * 0.99 if t < 350.0 else min(if97._P23_T(t + KELVIN) * 0.99, 100.0)
        least = 6.2e-4  # just above the lowest pressure that CoolProp's IF97 takes
        ask_phase(comparison, "vapour", t, least + (most - least) * pick.random() ** 3, if97._Region2)


def ask_phase(comparison, phase, t, p, region):
    theirs = region(t + KELVIN, p)
    references = {}
    for place, (name, output, scale) in enumerate(PROPERTIES):
        references[f"{phase} {name} / iapws IF97"] = (place, theirs[name] * scale)
        other = coolprop.PropsSI(output, "T", t + KELVIN, "P", p * 1e6, "IF97::Water")
        references[f"{phase} {name} / CoolProp IF97"] = (place, 1.0 / other if output == "D" else other)
    comparison.ask((phase, t, p * 1e6), references)


def moist_air(comparison, pick, states):
    comparison.tolerate("moisture / IF97 over pressure", 1e-9)
    comparison.tolerate("moisture / CoolProp real mixture", 0.0035, "mol/mol")
    comparison.tolerate("humidity ratio / CoolProp real mixture", 0.015)
    comparison.tolerate("enthalpy / CoolProp real mixture", 0.015)
    comparison.tolerate("density / CoolProp real mixture", 0.01)
    comparison.tolerate("specific volume / CoolProp real mixture", 0.01)
    comparison.tolerate("wet bulb / CoolProp real mixture", 0.1, "K")
    asked = 0
    while asked < states:
        p = pick.uniform(75e3, 105e3)
        boiling = if97._TSat_P(p / 1e6) - KELVIN
        t = pick.uniform(60.0, 300.0)
        # Up to 80 % vol: nearer to boiling, the real mixture has no answer or a ratio that runs away.
        dew_point = pick.uniform(5.0, min(t - 1.0, boiling - 7.0))
        given = ("T", t + KELVIN, "D", dew_point + KELVIN, "P", p)
        try:
            real = {output: coolprop.HAPropsSI(output, *given) for output in ("psi_w", "W", "Hda", "Vda", "Vha", "B")}
        except ValueError:
            continue
        asked += 1
        comparison.ask(("air", t, dew_point, p), {
            "moisture / IF97 over pressure": (0, if97._PSat_T(dew_point + KELVIN) * 1e6 / p),
            "moisture / CoolProp real mixture": (0, real["psi_w"]),
            "humidity ratio / CoolProp real mixture": (1, real["W"]),
            "enthalpy / CoolProp real mixture": (2, real["Hda"]),
            "density / CoolProp real mixture": (3, 1.0 / real["Vha"]),
            "specific volume / CoolProp real mixture": (4, real["Vda"]),
            "wet bulb / CoolProp real mixture": (5, real["B"] - KELVIN),
        })


def main():
    arguments = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    arguments.add_argument("--binary", required=True, help="the built example `states` of the physics crate")
    arguments.add_argument("--states", type=int, default=2000, help="random states of each kind")
    arguments.add_argument("--seed", type=int, default=1)
    given = arguments.parse_args()

    pick = random.Random(given.seed)
    comparison = Comparison()
    for kind in (saturation, water, moist_air):
        kind(comparison, pick, given.states)
    comparison.run(given.binary)

    print(f"{len(comparison.questions)} random states, seed {given.seed}; largest deviation of each quantity")
    for quantity, deviation in comparison.deviations.items():
        unit = f" {deviation.unit}" if deviation.unit else ""
        verdict = "" if deviation.holds() else f"  BEYOND TOLERANCE at {deviation.at}"
        print(f"{quantity:44} {deviation.count:6} states {deviation.largest:9.2e} of {deviation.tolerance:.1e}{unit}{verdict}")
    sys.exit(0 if all(deviation.holds() for deviation in comparison.deviations.values()) else 1)


if __name__ == "__main__":
    main()
