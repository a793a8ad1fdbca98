from __future__ import annotations

import re
import tomllib
from pathlib import Path

import pytest

from tests.project.documents import ROOT

RUN = ROOT / "deploy" / "requirements.lock"
DEV = ROOT / "deploy" / "requirements-dev.lock"


def pinned(text: str) -> dict[str, str]:
    """Return package and version of every line that pins one."""
    return dict(re.findall(r"^([a-z0-9._-]+)==([^ ;\\]+)", text, re.MULTILINE))


def normal(requirement: str) -> str:
    """Return the name of a requirement as the locks spell it."""
    return re.split(r"[<>=\[;~! ]", requirement, maxsplit=1)[0].lower().replace("_", "-")


@pytest.mark.parametrize("lock", [RUN, DEV], ids=["run", "dev"])
def test_a_lock_names_no_registry_and_no_folder(lock: Path) -> None:
    text = lock.read_text()
    assert "://" not in text
    assert not re.search(r"^\s*(--(?!hash)|-e|@|/)", text, re.MULTILINE)


@pytest.mark.parametrize("lock", [RUN, DEV], ids=["run", "dev"])
def test_every_pinned_package_has_its_hashes(lock: Path) -> None:
    entries = re.split(r"\n(?=[a-z0-9])", lock.read_text().strip())
    assert len(entries) > 40
    for entry in entries:
        assert re.match(r"[a-z0-9._-]+==", entry), entry
        assert "--hash=sha256:" in entry, entry.splitlines()[0]


def test_whoever_has_the_development_set_can_run_the_tool_with_it() -> None:
    run, dev = pinned(RUN.read_text()), pinned(DEV.read_text())
    assert {name: dev.get(name) for name in run} == run


def test_everything_the_project_declares_is_locked() -> None:
    declared = tomllib.loads((ROOT / "pyproject.toml").read_text())
    for requirement in declared["project"]["dependencies"]:
        assert normal(requirement) in pinned(RUN.read_text())
    for requirement in declared["dependency-groups"]["dev"]:
        assert normal(requirement) in pinned(DEV.read_text())
