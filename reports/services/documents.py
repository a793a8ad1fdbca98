"""Ask for documents, and keep what was made."""

from __future__ import annotations

import hashlib
from typing import TYPE_CHECKING

from django.core.files.base import ContentFile
from django.db import transaction

from inventory.access import Deed, require
from inventory.models import Batch, Piece, Style
from inventory.services.audit import leave_row
from inventory.services.jobs import hold_job, request_job
from inventory.services.refusals import Refused
from reports.models import Document
from reports.pdf import labels

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Mapping

    from inventory.models import Job, User

Subject = Batch | Piece | Style

JOB_KIND = "document"
SUBJECT_OF: dict[str, type[Batch] | type[Piece] | type[Style]] = {
    Document.Kind.PIECE_SHEET: Piece,
    Document.Kind.BATCH_SHEETS: Batch,
    Document.Kind.LABELS: Batch,
    Document.Kind.WORKSHEETS: Batch,
    Document.Kind.HOW_TO_MEASURE: Style,
}


class CannotPrint(Refused):
    """The document asked for does not fit what it is asked about."""


@transaction.atomic
def request_document(
    *,
    kind: str,
    subject: Subject,
    paper: str,
    by: User,
    at: dt.datetime,
    options: Mapping[str, int] | None = None,
) -> Document:
    """Write down that a document is wanted; the same one still waiting is returned instead.

    Nothing is rendered here: the caller nudges the job after the commit. Raises `CannotPrint`.
    """
    require(by, Deed.PRINT)
    _check(kind, subject)
    chosen = dict(options or {})
    if kind == Document.Kind.LABELS:
        labels.check_place(chosen.get("first", 1), paper=paper)
    key = f"{JOB_KIND}:{kind}:{subject.pk}:{paper}:{sorted(chosen.items())}"
    job = request_job(JOB_KIND, {}, by=by, dedupe_key=key)
    waiting = Document.objects.filter(job=job).first()
    if waiting is not None:
        return waiting
    document = Document.objects.create(
        kind=kind,
        batch=subject if isinstance(subject, Batch) else None,
        piece=subject if isinstance(subject, Piece) else None,
        style=subject if isinstance(subject, Style) else None,
        paper=paper,
        options=chosen,
        requested_by=by,
        requested_at=at,
        job=job,
    )
    leave_row(who=by, deed="ask for document", subject=document, at=at, kind=kind, paper=paper)
    return document


@transaction.atomic
def keep_document(*, document: Document, job: Job, content: bytes, pages: int) -> Document:
    """Store the finished file, if the job is still ours; a second run writes the same bytes again."""
    hold_job(job)
    document.digest = hashlib.sha256(content).hexdigest()
    document.size_bytes = len(content)
    document.pages = pages
    document.file.save(document.file_name, ContentFile(content), save=False)
    document.save(update_fields=["file", "digest", "size_bytes", "pages"])
    return document


def _check(kind: str, subject: Subject) -> None:
    wanted = SUBJECT_OF.get(kind)
    if wanted is None:
        raise CannotPrint(
            f"There is no document called {kind!r}. Choose one of: {', '.join(SUBJECT_OF)}.", field="kind"
        )
    if not isinstance(subject, wanted):
        raise CannotPrint(
            f"The document {kind!r} is about a {wanted.__name__.lower()}. Choose one.", field="kind"
        )
    if isinstance(subject, Batch) and not subject.pieces.exists():
        raise CannotPrint(
            f"Batch {subject.label} has no pieces yet. Number them first, then print.", field="batch"
        )
