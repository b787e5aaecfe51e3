"""Draws the report: recall by size of the rise, method by method, with Wilson's interval."""

import sys
from pathlib import Path

import matplotlib

matplotlib.use("svg")
import matplotlib.pyplot as plt
import pandas as pd

SIZES = ["rise 3-4 %", "rise 4-7 %", "rise 7-12 %", "rise 12-18 %"]


def main(folder):
    report = pd.read_csv(folder / "report.csv")
    methods = [name for name in report.method.unique() if name != "never"]
    figure, axes = plt.subplots(figsize=(9, 4.5))
    for nth, method in enumerate(methods):
        rows = report[report.method == method].set_index("events_of").loc[SIZES]
        recall = rows.recall.astype(float)
        spread = [recall - rows.recall_low, rows.recall_high - recall]
        places = [place + 0.08 * (nth - len(methods) / 2) for place in range(len(SIZES))]
        own = nth == 0
        axes.errorbar(
            places,
            recall,
            yerr=[part.clip(lower=0) for part in spread],
            marker="o" if own else ".",
            linewidth=2 if own else 0.8,
            capsize=2,
            color="black" if own else None,
            label=method,
        )
    axes.set_xticks(range(len(SIZES)), [size.removeprefix("rise ") for size in SIZES])
    axes.set_xlabel("rise of the band speed that nobody met")
    axes.set_ylabel("share found within a bake time and 10 min")
    axes.set_ylim(-0.02, 1.02)
    axes.set_title("Every method at the same number of false alarms on clean days (simulated ovens)")
    axes.legend(fontsize=8, loc="upper left", bbox_to_anchor=(1, 1))
    figure.tight_layout()
    plt.rcParams["svg.hashsalt"] = "detection"
    figure.savefig(folder / "report.svg", metadata={"Date": None})


if __name__ == "__main__":
    main(Path(sys.argv[1]))
