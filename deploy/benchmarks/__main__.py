"""`deploy/bench [--json] [--only NAME] [--small]`: print every figure; exit 1 when one is over its limit."""

from __future__ import annotations

import argparse
import json
import platform
import shutil
import signal
import sys
import tempfile
import traceback
from pathlib import Path

from deploy.benchmarks import folders, importing, judging, pages, saving, sheets
from deploy.benchmarks.figures import Figure

MEASURES = {
    "import": importing.measure,
    "judging": judging.measure,
    "saving": saving.measure,
    "batch-page": pages.measure,
    "sheets": sheets.measure,
}


def main() -> int:
    """Measure what was asked for. 0: all within limits; 1: one is over; 2: one could not be measured."""
    asked = argparse.ArgumentParser(prog="deploy/bench", description="Ours beside the floor, with its limit.")
    asked.add_argument("--json", action="store_true", help="one JSON document instead of lines")
    asked.add_argument("--only", action="append", choices=[*MEASURES], help="only this one; may be repeated")
    asked.add_argument("--small", action="store_true", help="a sliver of the work, to see that it runs")
    wanted = asked.parse_args()
    folders.DISK.mkdir(exist_ok=True)
    place = Path(tempfile.mkdtemp(prefix="measuring-room-bench-", dir=folders.DISK))
    figures: list[Figure] = []
    failed: list[str] = []
    signal.signal(signal.SIGTERM, signal.default_int_handler)  # so that the folder goes and servers end
    try:
        for name in wanted.only or MEASURES:
            try:
                found = MEASURES[name](place, small=wanted.small)
            except Exception:  # noqa: BLE001  # the others can still be measured; this one is told and counts
                failed.append(name)
                traceback.print_exc()
                continue
            figures += found
            if not wanted.json:
                print("\n".join(figure.as_lines(judged=not wanted.small) for figure in found), flush=True)
    finally:
        shutil.rmtree(place, ignore_errors=True)
    over = [figure.name for figure in figures if figure.over and not wanted.small]
    if wanted.json:
        whole = {
            "python": platform.python_version(),
            "machine": platform.machine(),
            "small": wanted.small,
            "figures": [figure.as_json() for figure in figures],
            "over": over,
            "failed": failed,
        }
        print(json.dumps(whole, indent=2, ensure_ascii=False))
    elif over or failed:
        print(f"over the limit: {', '.join(over) or 'none'}; not measured: {', '.join(failed) or 'none'}")
    return 2 if failed else 1 if over else 0


if __name__ == "__main__":
    sys.exit(main())
