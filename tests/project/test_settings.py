from __future__ import annotations

import ast
import re
import subprocess
import sys
from pathlib import Path

import pytest
from django.conf import settings
from django.core.management import call_command

from shop_qc import __version__
from tests.conftest import ShopFolder
from tests.project.documents import ROOT

READERS = {
    "text",
    "flag",
    "whole_number",
    "listed",
    "folder",
    "one_of",
    "web_origins",
    "time_zone",
    "postgres",
}
READERS |= {"secret_key"}
EXAMPLE = ROOT / "deploy" / "env.example"


def variables_read(path: Path) -> set[str]:
    """Return the names given to `env.…(…)` and to `os.environ` in a module of the glue."""
    names = set()
    for node in ast.walk(ast.parse(path.read_text())):
        if not (isinstance(node, ast.Call) and node.args and isinstance(node.args[0], ast.Constant)):
            continue
        called = ast.unparse(node.func)
        if called.removeprefix("env.") in READERS or called in {"os.environ.get", "os.environ.setdefault"}:
            names.add(str(node.args[0].value))
    return names


def variables_explained() -> dict[str, str]:
    """Return each variable of the example file with the comment above it."""
    explained = {}
    comment = ""
    for line in EXAMPLE.read_text().splitlines():
        if line.startswith("#"):
            comment = line.lstrip("# ")
        elif "=" in line:
            explained[line.split("=", 1)[0]] = comment
            comment = ""
    return explained


def test_every_variable_that_is_read_is_explained_and_none_besides() -> None:
    read = set().union(*(variables_read(path) for path in (ROOT / "shop_qc").glob("*.py")))
    assert read - {"DJANGO_SETTINGS_MODULE"} == set(variables_explained())


def test_each_explanation_is_a_sentence() -> None:
    for name, comment in variables_explained().items():
        assert re.fullmatch(r"[A-Z0-9].{20,}\.", comment), f"{name}: {comment!r}"


def test_the_example_file_itself_gives_a_working_shop(shop_folder: ShopFolder) -> None:
    pairs = (line.split("=", 1) for line in EXAMPLE.read_text().splitlines() if re.match(r"[A-Z_]+=", line))
    ours = shop_folder.environment
    environment = dict(pairs) | ours
    subprocess.run(
        [sys.executable, "manage.py", "check"], cwd=ROOT, env=environment, check=True, capture_output=True
    )


def test_a_setting_that_cannot_be_read_ends_a_command_with_one_sentence(shop_folder: ShopFolder) -> None:
    environment = shop_folder.environment | {"TIME_ZONE": "Mars/Olympus"}
    ended = subprocess.run(
        [sys.executable, "manage.py", "check"],
        cwd=ROOT,
        env=environment,
        capture_output=True,
        text=True,
        check=False,
    )
    assert ended.returncode == 1
    assert ended.stderr.startswith("Settings: TIME_ZONE is 'Mars/Olympus'")
    assert len(ended.stderr.splitlines()) == 1


def test_behind_https_the_frameworks_own_deployment_check_is_content(shop_folder: ShopFolder) -> None:
    environment = shop_folder.environment | {"BEHIND_TLS": "1", "HSTS_SECONDS": "3600"}
    checked = subprocess.run(
        [sys.executable, "manage.py", "check", "--deploy", "--fail-level=WARNING", "--tag=security"],
        cwd=ROOT,
        env=environment,
        capture_output=True,
        text=True,
        check=False,
    )
    complaints = set(re.findall(r"security\.W\d+", checked.stderr))
    # Sub-domains and browser preload lists are not ours to decide for the shop's whole domain.
    assert complaints <= {"security.W005", "security.W021"}, checked.stderr


def test_sqlite_is_set_for_durability_and_queueing(shop_folder: ShopFolder) -> None:
    code = """
import django
django.setup()
from django.db import connection
with connection.cursor() as cursor:
    for name in ("journal_mode", "synchronous", "foreign_keys", "busy_timeout"):
        cursor.execute(f"PRAGMA {name}")
        print(name, cursor.fetchone()[0])
    print(connection.transaction_mode, connection.settings_dict["ATOMIC_REQUESTS"])
"""
    assert shop_folder.run("-c", code).splitlines() == [
        "journal_mode wal",
        "synchronous 2",
        "foreign_keys 1",
        "busy_timeout 20000",
        "IMMEDIATE False",
    ]


def test_everything_needs_a_sign_in_by_default() -> None:
    assert "django.contrib.auth.middleware.LoginRequiredMiddleware" in settings.MIDDLEWARE
    assert settings.REST_FRAMEWORK["DEFAULT_PERMISSION_CLASSES"] == [
        "rest_framework.permissions.IsAuthenticated"
    ]


@pytest.mark.django_db
def test_no_migration_is_missing() -> None:
    call_command("makemigrations", check=True, dry_run=True, verbosity=0)


def test_the_version_is_told_in_one_voice() -> None:
    declared = re.search(r'^version = "(.+)"$', (ROOT / "pyproject.toml").read_text(), re.MULTILINE)
    assert declared is not None
    assert declared[1] == __version__
