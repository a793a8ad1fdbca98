"""The entrance for web servers has loaded what the first reading needs; commands have not."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

SLOW = ("pint", "inventory.web.bench.readings")


def _loaded_by(line: str, folder: Path) -> list[str]:
    """Which of the slow modules a fresh program has loaded after this line."""
    program = f"import sys; {line}; print(*[name for name in {SLOW!r} if name in sys.modules])"
    answer = subprocess.run(
        [sys.executable, "-c", program],
        env={"DATA_DIR": str(folder), "DJANGO_SETTINGS_MODULE": "shop_qc.settings", "DEBUG": "1"},
        capture_output=True,
        text=True,
        check=True,
        timeout=60,
    )
    return answer.stdout.split()


@pytest.mark.parametrize(
    ("line", "loaded"),
    [("import shop_qc.wsgi", list(SLOW)), ("import django; django.setup()", [])],
)
def test_the_web_server_starts_warm_and_commands_start_light(
    line: str, loaded: list[str], tmp_path: Path
) -> None:
    assert _loaded_by(line, tmp_path) == loaded
