"""Which documents were asked for."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from django.http import Http404

from inventory.converters import BatchConverter, LabelConverter, PieceConverter
from inventory.models import Batch, Piece, Style
from reports.models import Document

if TYPE_CHECKING:
    from collections.abc import Mapping

    from django.db.models import QuerySet


def documents(*, kind: str = "") -> QuerySet[Document]:
    """All documents, newest first, with what the list names: one statement."""
    found = Document.objects.select_related("job", "batch", "piece", "style", "requested_by").order_by("-id")
    return found.filter(kind=kind) if kind else found


def subject_named(given: Mapping[str, str]) -> Batch | Piece | Style:
    """What the address names: `batch=B0001`, `piece=P000123` or `style=code`. Raises Http404."""
    field = next((name for name in ("batch", "piece") if given.get(name)), "style")
    label = given.get(field, "")
    found = subject_labelled(field, label)
    if found is None:
        raise Http404(
            f"There is nothing labelled {label!r} to print. Start from a batch, piece or style page."
        )
    return found


def subject_labelled(field: str, label: str) -> Batch | Piece | Style | None:
    """The batch, piece or style (`field`) of this label or code, or None."""
    if field == "batch":
        return Batch.objects.filter(number=_number(label, BatchConverter())).first()
    if field == "piece":
        return Piece.objects.filter(number=_number(label, PieceConverter())).first()
    return Style.objects.filter(code=label).first()


def _number(label: str, converter: LabelConverter) -> int:
    """The number of a label; 0, which nothing carries, when it is none of this kind."""
    return converter.to_python(label) if re.fullmatch(converter.regex, label) else 0
