from __future__ import annotations

import re
from pathlib import Path

import pytest
from django.core.management import get_commands

from inventory.management.demo import scenario
from tests.project.documents import ROOT, text_of, tracked_files

README = ROOT / "README.md"
DEVELOPERS = ROOT / "DEVELOPERS.md"
ENV_EXAMPLE = ROOT / "deploy" / "env.example"

TOP_LEVEL = {
    *("README.md", "DEVELOPERS.md", "LICENSE", "pyproject.toml", "manage.py"),
    *("shop_qc", "inventory", "reports", "tests", "deploy", ".ci", ".gitignore"),
}


def commands(document: Path) -> list[list[str]]:
    """Return the words of every command in the document's shell examples, settings in front left out."""
    blocks = re.findall(r"^```sh\n(.+?)^```", document.read_text(), re.MULTILINE | re.DOTALL)
    lines = [part for block in blocks for line in block.splitlines() for part in line.split(" && ")]
    return [[word for word in line.split() if not re.match(r"[A-Z_]+=", word)] for line in lines]


def tree() -> list[Path]:
    """Return the paths of the tree picture in DEVELOPERS.md."""
    picture = re.search(r"^## The tree\n+```\n(.+?)^```", DEVELOPERS.read_text(), re.MULTILINE | re.DOTALL)
    assert picture is not None
    paths = []
    above = Path()
    for line in picture[1].splitlines():
        name = line.split()[0]
        if line.startswith("  "):
            paths.append(above / name)
        else:
            above = ROOT / name
            paths.append(above)
    return paths


@pytest.mark.parametrize("document", [README, DEVELOPERS], ids=lambda path: path.name)
def test_every_command_a_document_shows_exists(document: Path) -> None:
    shown = commands(document)
    assert len(shown) > 2
    for words in shown:
        program = words[0]
        if program.startswith("deploy/"):
            assert (ROOT / program).stat().st_mode & 0o111, program
        else:
            assert (ROOT / program).exists() or program == ".venv/bin/python", program
        if "manage.py" in words:
            assert words[words.index("manage.py") + 1] in get_commands(), " ".join(words)


@pytest.mark.parametrize("document", [README, DEVELOPERS], ids=lambda path: path.name)
def test_every_setting_and_link_a_document_names_exists(document: Path) -> None:
    text = document.read_text()
    explained = set(re.findall(r"^([A-Z_]+)=", ENV_EXAMPLE.read_text(), re.MULTILINE)) | {
        "HYPOTHESIS_PROFILE"
    }
    used = set(re.findall(r"(?<![\w$])([A-Z][A-Z_]{2,})=(?!=)", text))
    assert used <= explained
    for target in re.findall(r"\]\(([^)#:]+)\)", text):
        assert (document.parent / target).exists(), target


def test_the_tree_picture_shows_what_is_there() -> None:
    for path in tree():
        assert path.exists(), path.relative_to(ROOT)


def test_every_part_of_the_code_is_in_the_tree_picture() -> None:
    shown = set(tree())
    for app in ("shop_qc", "inventory", "reports"):
        for path in (ROOT / app).iterdir():
            is_part = path.suffix == ".py" or (path.is_dir() and any(path.rglob("*.*")))
            if is_part and path.name not in {"__init__.py", "__pycache__"}:
                assert path in shown, f"Give {path.relative_to(ROOT)} a line in DEVELOPERS.md."


def test_the_demo_sign_ins_of_the_readme_are_those_that_are_made() -> None:
    text = README.read_text()
    shown = re.findall(r"^\| `(\w+)` \| (\w+) \|$", text, re.MULTILINE)
    assert shown == [(name, role) for name, _, _, role in scenario.PEOPLE]
    assert f"password `{scenario.PASSWORD}`" in text


def test_the_top_level_stays_as_it_is() -> None:
    assert {path.relative_to(ROOT).parts[0] for path in tracked_files()} <= TOP_LEVEL


def test_no_file_names_a_path_of_one_machine_or_the_host_of_a_registry() -> None:
    # Put together here, so that this file does not name them either.
    folders = "|".join(("wo" + "rk", "ro" + "ot", "ho" + "me/[a-z]", "fa" + "rm", "Us" + "ers/[A-Za-z]"))
    hosts = "|".join(("py" + r"pi\.", "pythonho" + "sted", r"deb\.deb" + "ian", "registry.npm" + "js"))
    machine = re.compile(rf"(?<![\w.$}}/-])/({folders})\b(?![\w-]*\.html)|{hosts}")
    for path in tracked_files():
        for number, line in enumerate(text_of(path).splitlines(), start=1):
            found = machine.search(line)
            assert found is None, f"{path.relative_to(ROOT)}:{number}: {found[0]}"
