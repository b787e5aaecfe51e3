"""Asks the running program what its OpenAPI document allows and what it does not: no server error, no answer that the
document does not name. The same questions each time, of a store that holds an invented day; there is no broker. Its figures
are read by a strict parser of OpenMetrics that is not ours."""

import argparse
import pathlib
import signal
import subprocess
import sys
import tempfile
import urllib.request

from prometheus_client.openmetrics.parser import text_string_to_metric_families

sys.path.insert(0, str(pathlib.Path(__file__).resolve().parents[1] / "shared"))

from plant import ROOT, free_port, wait_for

CHECKS = "not_a_server_error,status_code_conformance,content_type_conformance,response_schema_conformance"
SEED = "20"
EXAMPLES = "8"


def is_up(base):
    try:
        with urllib.request.urlopen(f"{base}/healthz", timeout=5):
            return True
    except OSError:
        return False


def check_figures(base):
    """The parser refuses text that is not OpenMetrics: a name without its suffix or unit, a missing end."""
    with urllib.request.urlopen(f"{base}/metrics", timeout=5) as answer:
        assert answer.headers["content-type"].startswith("application/openmetrics-text"), answer.headers
        families = {family.name: family for family in text_string_to_metric_families(answer.read().decode())}
    assert families["ovenward_readings_stored"].type == "counter", families.keys()
    assert families["ovenward_commit_seconds"].unit == "seconds"
    assert all(name.startswith("ovenward_") and family.documentation for name, family in families.items())
    print(f"{len(families)} figures, in OpenMetrics")


def main():
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--binaries", required=True, type=pathlib.Path, help="the folder of the built programs")
    binaries = parser.parse_args().binaries.resolve()
    with tempfile.TemporaryDirectory() as folder:
        folder = pathlib.Path(folder)
        base = f"http://127.0.0.1:{(port := free_port())}"
        config = (ROOT / "config/test-day.toml").read_text().replace("127.0.0.1:1883", f"127.0.0.1:{free_port()}")
        (folder / "plant.toml").write_text(f'{config}\n[console]\nbind = "127.0.0.1:{port}"\n')
        day = ["csv", "--bakery", "tunnel-1", "--from", "2026-06-02T06:00:00Z", "--days", "1", "--out", "day.csv"]
        subprocess.run([binaries / "bakehouse", *day], cwd=folder, check=True)
        program = [binaries / "ovenward", "--config", "plant.toml"]
        subprocess.run([*program, "backfill", "day.csv"], cwd=folder, check=True)
        with open(folder / "serve.log", "w") as log:
            service = subprocess.Popen([*program, "serve"], cwd=folder, stderr=log)
        try:
            wait_for("the service to answer", lambda: is_up(base))
            check_figures(base)
            asked = subprocess.run(
                [
                    pathlib.Path(sys.executable).with_name("schemathesis"),
                    "run",
                    f"{base}/api/v1/openapi.json",
                    f"--checks={CHECKS}",
                    f"--seed={SEED}",
                    f"--max-examples={EXAMPLES}",
                    "--phases=examples,coverage,fuzzing",
                    # Live events never end.
                    "--exclude-path=/api/v1/live",
                    "--request-timeout=60",
                    "--no-color",
                ],
                cwd=folder,
            )
        finally:
            service.send_signal(signal.SIGTERM)
            service.wait()
    sys.exit(asked.returncode)


if __name__ == "__main__":
    main()
