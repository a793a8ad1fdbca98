"""Find a piece: a box for its label, what is still to measure, what is in progress."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Final

from django.shortcuts import redirect, render
from django.utils import timezone

from inventory.converters import PieceConverter
from inventory.queries.bench.lists import batches_to_measure, sittings_in_progress
from inventory.queries.bench.sheet import PieceNotFound, piece_numbered
from inventory.queries.instruments import tapes_to_see_to
from inventory.queries.own.check_garment import garment_rows
from inventory.web.bench.entrance import measurer

if TYPE_CHECKING:
    from django.http import HttpRequest, HttpResponse

# A tag's code may hold the bare label or the whole address of the piece.
_LABEL: Final = re.compile(r"(?:.*[/#])?\s*[Pp]?\s*([0-9]{1,18})\s*/?")


def bench(request: HttpRequest) -> HttpResponse:
    """Scan or type a label; an empty box goes on to the piece named in `next`."""
    measurer(request)
    scanned = request.GET.get("q", "").strip()
    number = number_of(scanned or request.GET.get("next", ""))
    wrong = ""
    if number is not None:
        try:
            return redirect("bench-piece", piece_numbered(number).number)
        except PieceNotFound as nothing:
            wrong = str(nothing)
    elif scanned:
        wrong = (
            f"“{scanned[:60]}” is no label of a piece. Scan the tag again, or type the letter P and its "
            "number, such as P000123."
        )
    context = {
        "scanned": scanned,
        "wrong": wrong,
        "batches": batches_to_measure(),
        "sittings": sittings_in_progress(),
        "tapes": tapes_to_see_to(today=timezone.localdate()),
        "garments": garment_rows(today=timezone.localdate()),
    }
    return render(request, "inventory/bench/find.html", context, status=404 if wrong else 200)


def number_of(scanned: str) -> int | None:
    """The number of a piece in what a scanner or a person typed; None when there is none.

    >>> number_of("P000123"), number_of("p123"), number_of("123"), number_of("https://shop/pieces/P000123/")
    (123, 123, 123, 123)
    >>> number_of("B0012"), number_of("")
    (None, None)
    """
    label = _LABEL.fullmatch(scanned.strip())
    return int(label[1]) if label else None


def label_of(number: int) -> str:
    """How the number stands on the tag."""
    return PieceConverter.label_of(number)
