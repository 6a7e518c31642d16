"""The demo mill comes out the same each time: what a person saw in it yesterday is there again."""

import json
import os
import subprocess
import sys
from pathlib import Path

from tests.effort import not_in_each_run

ROOT = Path(__file__).parents[2]
TOLD = (
    "yard.Stack", "yard.Reading", "yard.Outlook", "yard.Event", "yard.Tag", "kilnruns.Charge", "kilnruns.RunRecord",
    "kilnruns.SensorMean", "kilnruns.Paper", "kilnruns.Degrade", "yard.Need",
)  # fmt: skip


def start(folder: Path, seed: str, tags: str) -> subprocess.Popen[str]:
    kept = {name: value for name, value in os.environ.items() if name != "DATABASE_URL"}
    environment = kept | {"DRYSTACK_DATA": str(folder), "PYTHONHASHSEED": seed, "OMP_NUM_THREADS": "1"}
    order = [sys.executable, "-m", "tests.config.demo_rows", tags]
    return subprocess.Popen(order, cwd=ROOT, env=environment, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True)


def told(process: subprocess.Popen[str]) -> dict[str, list[object]]:
    out, error = process.communicate()
    assert process.returncode == 0, error[-2000:]
    return json.loads(out.splitlines()[-1])


@not_in_each_run
def test_two_builds_of_the_demo_are_the_same_row_for_row(tmp_path):
    """Two processes whose sets, dicts and tags are in other orders; all but passwords and the links' tokens."""
    begun = [start(tmp_path / seed, seed, tags) for seed, tags in (("1", "rising"), ("2", "falling"))]
    first, second = map(told, begun)
    assert [name for name in TOLD if not first[name][0]] == [], "there is something to compare"
    assert {name for name in first if first[name] != second[name]} == set()
