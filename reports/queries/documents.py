"""Which documents were asked for."""

from __future__ import annotations

from typing import TYPE_CHECKING

from django.http import Http404

from inventory.models import Batch, Piece, Style
from reports.models import Document

if TYPE_CHECKING:
    from collections.abc import Mapping

    from django.db.models import QuerySet


def documents() -> QuerySet[Document]:
    """All documents, newest first, with what the list names: one statement."""
    return Document.objects.select_related("job", "batch", "piece", "style", "requested_by").order_by("-id")


def subject_named(given: Mapping[str, str]) -> Batch | Piece | Style:
    """What the address names: `batch=B0001`, `piece=P000123` or `style=code`. Raises Http404."""
    if label := given.get("batch"):
        found: Batch | Piece | Style | None = Batch.objects.filter(number=_number(label)).first()
    elif label := given.get("piece"):
        found = Piece.objects.filter(number=_number(label)).first()
    else:
        label = given.get("style", "")
        found = Style.objects.filter(code=label).first()
    if found is None:
        raise Http404(
            f"There is nothing labelled {label!r} to print. Start from a batch, piece or style page."
        )
    return found


def _number(label: str) -> int:
    digits = label[1:]
    return int(digits) if digits.isascii() and digits.isdigit() and len(digits) < 19 else 0
