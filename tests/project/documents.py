"""The files of the project as committed, for the tests that read them."""

from __future__ import annotations

import subprocess
from functools import cache
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]


@cache
def tracked_files() -> list[Path]:
    """Return every file git keeps, or would keep at the next commit."""
    # The folder may belong to another user than the one testing, as in a container: that is fine for reading.
    command = [
        "git",
        "-c",
        f"safe.directory={ROOT}",
        "ls-files",
        "-z",
        "--cached",
        "--others",
        "--exclude-standard",
    ]
    listed = subprocess.run(command, cwd=ROOT, capture_output=True, check=True).stdout.decode()
    return [ROOT / name for name in listed.split("\0") if name and (ROOT / name).is_file()]


def text_of(path: Path) -> str:
    """Return a tracked file as text, or nothing when it is not text."""
    try:
        return path.read_text(encoding="utf-8")
    except UnicodeDecodeError:
        return ""
