"""Long documents, drawn by processes of their own: several cores at once, and memory that goes back.

Laying out a sheet is pure arithmetic of one thread, and leaves boxes that hold one another in circles. A
process that draws one stretch of sheets and ends does away with both: the shop's other cores help, and
nobody searches for circles in the memory of the running tool. The processes give way to everything else on
the machine, so the bench stays quick while 500 sheets are made.

`python -m reports.pdf.apart FOLDER` is such a process. FOLDER holds `sheets.css` and `0000.html`, `0001.html`
and so on; it writes `made.pdf`, and tells the pages of each finished sheet on a line.
"""

from __future__ import annotations

import os
import queue
import subprocess
import sys
import tempfile
from collections.abc import Callable, Iterable, Iterator
from concurrent.futures import Future, ThreadPoolExecutor
from contextlib import contextmanager
from dataclasses import dataclass, field
from itertools import islice
from pathlib import Path

MOST_PROCESSES = 4  # each takes up to 300 MB
GIVES_WAY = 5  # niceness: a page asked for at the bench goes first
ROOT = Path(__file__).parents[2]


class DrawingEnded(Exception):
    """A process that drew sheets ended before it was done."""

    def __init__(self, code: int, last_words: str) -> None:
        super().__init__(
            f"The process that drew a stretch of sheets ended with code {code} before it was done (negative: "
            f"killed by that signal, 9 mostly for want of memory). It said: {last_words or 'nothing'}"
        )


@dataclass(frozen=True, slots=True)
class Part:
    """One stretch as PDF, and its pages."""

    content: bytes
    pages: int


def parts_of(
    sheets: Iterable[str],
    *,
    stylesheet: str,
    stretch: int,
    on_progress: Callable[[int], None] | None = None,
) -> list[Part]:
    """The stretches of `stretch` sheets each, in order; `on_progress` hears in the caller's own thread.

    Raises DrawingEnded when a process does not finish. Whatever is raised, no process is left drawing.
    """
    most = processes_at_once()
    waiting = iter(sheets)
    done = 0
    with tempfile.TemporaryDirectory() as place, _drawers(most) as drawers:
        while True:
            while drawers.at_work < most and (htmls := list(islice(waiting, stretch))):
                drawers.draw(_laid_down(htmls, stylesheet, Path(place) / f"{len(drawers.parts):04d}"))
            if not drawers.at_work:
                return [part.result() for part in drawers.parts]
            if drawers.sheet_was_done():
                done += 1
                if on_progress is not None:
                    on_progress(done)


def processes_at_once() -> int:
    """How many draw at the same time: one a core this program may use."""
    return max(1, min(MOST_PROCESSES, len(os.sched_getaffinity(0))))


@dataclass(slots=True)
class _Drawers:
    """The processes at work, each with a thread that listens to it."""

    threads: ThreadPoolExecutor
    parts: list[Future[Part]] = field(default_factory=list)
    at_work: int = 0
    _heard: queue.SimpleQueue[bool] = field(default_factory=queue.SimpleQueue)
    _processes: list[subprocess.Popen[str]] = field(default_factory=list)

    def draw(self, folder: Path) -> None:
        """Start a process for the sheets of `folder`."""
        with (folder / "said").open("w", encoding="utf-8") as said:
            process = subprocess.Popen(  # noqa: S603  # ourselves
                [sys.executable, "-m", "reports.pdf.apart", str(folder)],
                cwd=ROOT,
                stdin=subprocess.DEVNULL,
                stdout=subprocess.PIPE,
                stderr=said,
                text=True,
            )
        self._processes.append(process)
        self.at_work += 1
        self.parts.append(self.threads.submit(self._listen, process, folder))

    def sheet_was_done(self) -> bool:
        """Wait until something happens: True for a sheet, False when a process came to its end."""
        if self._heard.get():
            return True
        self.at_work -= 1
        for part in self.parts:
            if part.done():
                part.result()  # raises what went wrong, without waiting for the others
        return False

    def end(self) -> None:
        """End what still draws."""
        for process in self._processes:
            process.kill()

    def _listen(self, process: subprocess.Popen[str], folder: Path) -> Part:
        pages = 0
        try:
            with process:
                assert process.stdout is not None  # asked for above
                for line in process.stdout:
                    pages += int(line)
                    self._heard.put(True)  # noqa: FBT003  # see sheet_was_done
            if process.returncode:
                raise DrawingEnded(process.returncode, (folder / "said").read_text(encoding="utf-8")[-2000:])
            return Part((folder / "made.pdf").read_bytes(), pages)
        finally:
            self._heard.put(False)  # noqa: FBT003  # as above


@contextmanager
def _drawers(most: int) -> Iterator[_Drawers]:
    with ThreadPoolExecutor(most) as threads:
        drawers = _Drawers(threads)
        try:
            yield drawers
        finally:
            drawers.end()


def _laid_down(htmls: list[str], stylesheet: str, folder: Path) -> Path:
    folder.mkdir()
    (folder / "sheets.css").write_text(stylesheet, encoding="utf-8")
    for number, html in enumerate(htmls):
        (folder / f"{number:04d}.html").write_text(html, encoding="utf-8")
    return folder


def main(folder: str) -> None:
    """Draw the sheets of a folder."""
    from reports.pdf import render  # noqa: PLC0415  # it calls us for long documents

    os.nice(GIVES_WAY)
    place = Path(folder)
    stylesheet = (place / "sheets.css").read_text(encoding="utf-8")
    htmls = (path.read_text(encoding="utf-8") for path in sorted(place.glob("*.html")))
    drawn = render.stretch_of(htmls, stylesheet=stylesheet, on_sheet=_tell)
    (place / "made.pdf").write_bytes(drawn.content)


def _tell(pages: int) -> None:
    sys.stdout.write(f"{pages}\n")
    sys.stdout.flush()


if __name__ == "__main__":
    main(sys.argv[1])
