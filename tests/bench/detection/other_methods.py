"""Other methods on the same windows: what a fixed limit, control charts and general detectors raise.

Each method gives every window of baking a score. All scores are scaled on the history of the oven and
product they belong to; one threshold a method is then set so that the clean days of all ovens together
raise as many alarms as the budget allows. It is set on the very days on which false alarms are counted,
which favours these methods. An alarm is raised when the score has been above the threshold for two
windows, and another one only after it has been below 0.8 of it for ten.
"""

import json
import sys
from pathlib import Path

import numpy as np
import pandas as pd
import statsmodels.api as sm
from sklearn.decomposition import PCA
from sklearn.ensemble import IsolationForest

ON_WINDOWS, OFF_WINDOWS, RELEASE = 2, 10, 0.8
WINDOW_US = 30_000_000
RISE = 0.018  # a smaller step of ln speed arms nothing


def zones_of(frame):
    return sum(name.startswith("humidity_") for name in frame.columns)


def scaled(values, history):
    """Each column from its median, in spreads, as the history has them; unknown values count as usual."""
    middle = np.nanmedian(history, axis=0)
    spread = 1.4826 * np.nanmedian(np.abs(history - middle), axis=0)
    spread = np.where(spread > 1e-9, spread, 1.0)
    return np.nan_to_num((values - middle) / spread)


def vectors(frame):
    """What a general detector would be given: everything that is measured, humidities and speed as logarithms."""
    columns = [np.log(frame.speed.clip(lower=0.01))]
    columns += [np.log(frame[f"humidity_{zone}"].clip(lower=1e-4)) for zone in range(1, zones_of(frame) + 1)]
    columns += [frame[name] for name in frame.columns if name.startswith(("temperature_", "damper_", "steam"))]
    kept = [column.to_numpy(float) for column in columns if column.notna().mean() > 0.5]
    return np.column_stack(kept)


def zone_3_limit(frame, history):
    humidity = np.log(frame.humidity_3.to_numpy(float))
    return np.nan_to_num(humidity - np.nanmedian(humidity[history]))


def ewma(frame, history, weight=0.2):
    columns = [np.log(frame[f"humidity_{zone}"]).to_numpy(float) for zone in range(1, zones_of(frame) + 1)]
    humidity = np.column_stack(columns)
    z = scaled(humidity, humidity[history])
    return pd.DataFrame(z).ewm(alpha=weight, adjust=False).mean().abs().max(axis=1).to_numpy()


def pca(frame, history):
    values = vectors(frame)
    z = scaled(values, values[history])
    model = PCA(n_components=0.9, svd_solver="full").fit(z[history])
    parts = model.transform(z)
    t_squared = (parts**2 / model.explained_variance_).sum(axis=1)
    q = ((z - model.inverse_transform(parts)) ** 2).sum(axis=1)
    return np.maximum(*(score / np.quantile(score[history], 0.99) for score in (t_squared, q)))


def isolation_forest(frame, history):
    values = vectors(frame)
    z = scaled(values, values[history])
    score = -IsolationForest(n_estimators=200, random_state=1).fit(z[history]).score_samples(z)
    middle = np.median(score[history])
    return (score - middle) / (np.quantile(score[history], 0.99) - middle)


def arx_cusum(frame, history, slack=0.25):
    """Humidity of each zone from its own past and from the speed of the last 25 min: lag and gain as the
    history has them. What is left is summed up (two-sided CUSUM), anew after each stretch without baking."""
    ln_speed = np.log(frame.speed.clip(lower=0.01))
    speeds = pd.concat([ln_speed.shift(lag) for lag in range(0, 51, 5)], axis=1).to_numpy()
    begins = frame.ends_us.diff().gt(10 * WINDOW_US).to_numpy()
    worst = np.zeros(len(frame))
    for zone in range(1, zones_of(frame) + 1):
        humidity = np.log(frame[f"humidity_{zone}"].clip(lower=1e-4))
        inputs = sm.add_constant(np.column_stack([humidity.shift(1), humidity.shift(2), speeds]), has_constant="add")
        known = np.isfinite(inputs).all(axis=1) & humidity.notna().to_numpy()
        model = sm.RLM(humidity[known & history], inputs[known & history]).fit(maxiter=20)
        left = np.where(known, humidity - model.predict(np.nan_to_num(inputs)), 0.0) / model.scale
        up = down = 0.0
        for at, residual in enumerate(np.clip(left, -4, 4)):
            if begins[at]:
                up = down = 0.0
            up, down = max(0.0, up + residual - slack), max(0.0, down - residual - slack)
            worst[at] = max(worst[at], up, down)
    return worst


def armed(frame):
    """Whether the band has gone faster within the last 35 min: the median of 3 windows over that of the 20 before."""
    ln_speed = np.log(frame.speed.clip(lower=0.01))
    level = ln_speed.shift(3).rolling(20, min_periods=6).median()
    rises = (ln_speed.rolling(3).median() - level).gt(RISE)
    return rises.rolling(70, min_periods=1).max().fillna(0).to_numpy(bool)


METHODS = {
    "zone 3 limit": zone_3_limit,
    "EWMA, each zone": ewma,
    "PCA T2/Q": pca,
    "isolation forest": isolation_forest,
    "ARX + CUSUM": arx_cusum,
}
ARMED = "ARX + CUSUM, armed by a rise"


def alarms(score, times, threshold):
    """When alarms are raised."""
    above = score > threshold
    lasting = np.flatnonzero(above & np.concatenate([[False] * (ON_WINDOWS - 1), above[: 1 - ON_WINDOWS]]))
    low = np.concatenate([[0], np.cumsum(score < RELEASE * threshold)])
    raised, free_from = [], 0
    for at in lasting:
        if at >= free_from and (not raised or low[at] - low[raised[-1]] >= OFF_WINDOWS):
            raised.append(at)
            free_from = at + OFF_WINDOWS
    return [int(times[at]) for at in raised]


def scores_of(frame, learned_until):
    """Per method the scores of the windows of baking, and their times."""
    frame = frame[frame.baking == 1].reset_index(drop=True)
    scores = {name: np.zeros(len(frame)) for name in [*METHODS, ARMED]}
    for _, part in frame.groupby("product"):
        rows, part = part.index.to_numpy(), part.reset_index(drop=True)
        history = (part.ends_us < learned_until).to_numpy()
        for name, method in METHODS.items():
            scores[name][rows] = method(part, history)
        scores[ARMED][rows] = np.where(armed(part), scores["ARX + CUSUM"][rows], 0.0)
    return frame.ends_us.to_numpy(), scores


def threshold_for(budget, clean):
    """The lowest threshold at which the clean days raise no more than the budget."""
    low, high = 0.0, max(score.max(initial=0.0) for score, _ in clean)
    for _ in range(30):
        middle = (low + high) / 2
        if sum(len(alarms(score, times, middle)) for score, times in clean) > budget:
            low = middle
        else:
            high = middle
    return high


def microseconds(text):
    return pd.Timestamp(text).value // 1000


def main(folder):
    budget = int((folder / "budget").read_text())
    outcomes = json.loads((folder / "outcomes.json").read_text())
    ovens, clean_scores = [], {name: [] for name in [*METHODS, ARMED]}
    for nth, outcome in enumerate(outcomes):
        frame = pd.read_csv(folder / f"windows-{nth}.csv")
        learned, clean_until = microseconds(outcome["learned_until"]), microseconds(outcome["clean_until"])
        times, scores = scores_of(frame, learned)
        counted = (times >= learned) & (times < clean_until)
        for event in outcome["events"]:
            if event["truth"] != "nothing-wrong":
                began, until = microseconds(event["began"]), microseconds(event["explains_until"])
                counted &= ~((times >= began) & (times <= until))
        for name, score in scores.items():
            clean_scores[name].append((score[counted], times[counted]))
        after = times >= learned
        ovens.append((outcome["oven"], times[after], {name: score[after] for name, score in scores.items()}))
        print(outcome["oven"], file=sys.stderr)
    found = []
    for name in clean_scores:
        threshold = threshold_for(budget, clean_scores[name])
        for oven, times, scores in ovens:
            for time in alarms(scores[name], times, threshold):
                raised = pd.Timestamp(time * 1000, tz="UTC").isoformat()
                found.append({"method": name, "oven": oven, "raised": raised, "kind": "any", "finding": ""})
    (folder / "alarms.json").write_text(json.dumps(found))


if __name__ == "__main__":
    main(Path(sys.argv[1]))
