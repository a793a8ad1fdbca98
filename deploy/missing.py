"""Print the Debian packages that are missing for running (`run`) or for testing (`test`), or nothing.

Looks for the things themselves, not for package names, so it is right on other systems too. Standard library
only: it runs before anything is installed.
"""

from __future__ import annotations

import ctypes
import importlib.util
import shutil
import sys
from collections.abc import Callable
from pathlib import Path


def library(name: str) -> bool:
    """Whether the shared library can be loaded."""
    try:
        ctypes.CDLL(name)
    except OSError:
        return False
    return True


def file(root: str, pattern: str) -> bool:
    """Whether a file of this pattern lies under the folder."""
    return any(Path(root).glob(pattern))


RUN: dict[str, Callable[[], bool]] = {
    "python3-venv": lambda: importlib.util.find_spec("ensurepip") is not None,
    "libpango-1.0-0": lambda: library("libpango-1.0.so.0"),
    "libpangoft2-1.0-0": lambda: library("libpangoft2-1.0.so.0"),
    # Without it fonts in documents carry the hour they were drawn at, and no two documents are alike.
    "libharfbuzz-subset0": lambda: library("libharfbuzz-subset.so.0"),
    "fonts-dejavu-core": lambda: file("/usr/share/fonts", "**/DejaVuSans.ttf"),
}
TEST: dict[str, Callable[[], bool]] = {
    "chromium": lambda: Path("/usr/bin/chromium").exists(),
    "git": lambda: shutil.which("git") is not None,
    "poppler-utils": lambda: shutil.which("pdftotext") is not None,
    "postgresql": lambda: file("/usr/lib/postgresql", "*/bin/initdb"),
    "redis-server": lambda: shutil.which("redis-server") is not None,
}


def missing(purpose: str) -> list[str]:
    """Return the packages missing for `run` or for `test`; testing needs what running needs, too."""
    probes = RUN if purpose == "run" else RUN | TEST
    return [package for package, present in probes.items() if not present()]


if __name__ == "__main__":
    if sys.argv[1:] not in (["run"], ["test"]):
        sys.exit("Say what for: deploy/missing.py run, or deploy/missing.py test")
    print(" ".join(missing(sys.argv[1])))
