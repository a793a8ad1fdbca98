from __future__ import annotations

import json
import subprocess
import sys

import pytest

from tests.project.documents import ROOT

FIGURES = {
    "import": ["import"],
    "judging": ["judging", "judging-memory"],
    "saving": ["saving", "saving-full", "saving-growth"],
    "batch-page": ["batch-page"],
    "sheets": ["sheet-1", "sheets-3"],
}


@pytest.mark.parametrize("name", FIGURES)
def test_each_figure_is_measured_on_a_sliver_of_the_work(name: str) -> None:
    done = subprocess.run(
        [sys.executable, "-m", "deploy.benchmarks", "--json", "--small", "--only", name],
        cwd=ROOT,
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, done.stdout + done.stderr
    told = json.loads(done.stdout)
    assert told["failed"] == []
    assert [figure["name"] for figure in told["figures"]] == FIGURES[name]
    for figure in told["figures"]:
        assert figure["ours"] > 0
        assert figure["floor"] > 0
        assert figure["bound_by"]
        assert figure["most_ratio"] or figure["most"]
        if figure["unit"] == "statements":  # the only one that a sliver tells as well as the whole
            assert figure["ours"] == figure["floor"] <= figure["most"]
