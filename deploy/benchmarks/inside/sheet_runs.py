"""Make inspection sheets by their job, or write down the HTML and the CSS they are made of."""

from __future__ import annotations

import json
import resource
from pathlib import Path
from typing import TYPE_CHECKING

from django.utils import timezone

from deploy.benchmarks.rounds import seconds
from inventory import tasks
from inventory.models import Batch, Piece, Shop, User
from reports.models import Document
from reports.pdf import apart, documents, render
from reports.services.documents import request_document

if TYPE_CHECKING:
    from collections.abc import Sequence


def main(arguments: Sequence[str]) -> None:
    """`make KIND BATCH` prints seconds, pages and peak memory; `write KIND BATCH FOLDER` keeps the HTML.

    One sheet is made before the clock starts: whoever makes documents in a shop has been running for long.
    """
    deed, kind, number = arguments[:3]
    batch = Batch.objects.get(number=int(number))
    if deed == "write":
        _write(_wanted(kind, batch), Path(arguments[3]))
        return
    first = _seconds_of(_wanted(Document.Kind.PIECE_SHEET, batch))
    wanted = _wanted(kind, batch)
    took = _seconds_of(wanted)
    wanted.refresh_from_db()
    print(
        json.dumps(
            {
                "seconds": took,
                "first": first,
                "pages": wanted.pages,
                "file": str(wanted.file.path),
                "peak_mib": _peak_mib(drawn_apart=documents.sheet_count(wanted) > render.STRETCH),
            }
        )
    )


def _peak_mib(*, drawn_apart: bool) -> float:
    """Of this process, and of those that draw a long document, each of them taken as large as the largest."""
    own = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    one_drawing = resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss if drawn_apart else 0
    return (own + one_drawing * apart.processes_at_once()) / 1024


def _wanted(kind: str, batch: Batch) -> Document:
    first = Piece.objects.filter(batch=batch).order_by("number").first()
    assert first is not None
    return request_document(
        kind=kind,
        subject=first if kind == Document.Kind.PIECE_SHEET else batch,
        paper=Shop.Paper.A4,
        by=User.objects.get(username="inspector"),
        at=timezone.now(),
    )


def _seconds_of(document: Document) -> float:
    job = document.job_id
    assert job is not None
    return seconds(lambda: tasks.execute(job))


def _write(document: Document, folder: Path) -> None:
    """The very HTML the document is made of, sheet by sheet, and the CSS with the shipped fonts."""
    folder.mkdir(parents=True)
    for place, html in enumerate(documents.html_of(document, Shop.objects.current())):
        (folder / f"{place:05d}.html").write_text(html)
    css = render.font_faces() + documents.stylesheet_of(document)
    (folder / "sheets.css").write_text(css)
    print(json.dumps({"stretch": render.STRETCH}))
