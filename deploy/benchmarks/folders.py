"""Data folders of the benchmark, and the environment of programs that use one."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path
from typing import Any

ROOT = Path(__file__).resolve().parents[2]
# A real disk, as it is kept between starts of the machine: in memory, flushing a commit would cost nothing.
DISK = Path("/var/tmp")  # noqa: S108  # a folder of our own is made in it


def environment(data: Path, *, static: Path | None = None, **more: str) -> dict[str, str]:
    """The environment in which a program uses this folder, with the settings of a shop and nothing else."""
    kept = {name: os.environ[name] for name in ("PATH", "HOME", "LANG") if name in os.environ}
    places = {"DATA_DIR": str(data), "STATIC_DIR": str(static or data / "staticfiles")}
    return kept | places | {"DJANGO_SETTINGS_MODULE": "shop_qc.settings"} | more


def run(*arguments: str, env: dict[str, str]) -> str:
    """Run Python from the project's root and return what it printed; a failure shows what it said."""
    done = subprocess.run(
        [sys.executable, *arguments], cwd=ROOT, env=env, capture_output=True, text=True, check=False
    )
    if done.returncode:
        raise RuntimeError(f"{' '.join(arguments)} ended with {done.returncode}:\n{done.stdout}{done.stderr}")
    return done.stdout


def told(*arguments: str, env: dict[str, str]) -> Any:  # Any: what JSON can hold
    """The JSON in the last line a program printed."""
    return json.loads(run(*arguments, env=env).splitlines()[-1])


def inside(program: str, *arguments: str, env: dict[str, str]) -> Any:  # Any: what JSON can hold
    """What a program of `inside/` printed, run in the project's settings on the folder of `env`."""
    return told("-m", "deploy.benchmarks.inside", program, *arguments, env=env)


def collect_static(static: Path, *, data: Path) -> None:
    """Collect style sheets and scripts as `deploy/start` does: pages cannot be made without their names."""
    if not static.exists():
        ignored = ("--ignore", "rest_framework", "--ignore", "redoc")
        run("manage.py", "collectstatic", "--noinput", *ignored, env=environment(data, static=static))
