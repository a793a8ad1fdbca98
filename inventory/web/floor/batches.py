"""Batches: the list, one batch with its verdicts, map and statistics, numbering its pieces."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from django.contrib import messages
from django.shortcuts import redirect, render
from django.utils import timezone

from inventory.access import Deed
from inventory.models import Maker, Shop, Style
from inventory.models.pieces import Standing
from inventory.models.verdicts import VerdictCode
from inventory.queries import batches as ask
from inventory.queries.audit import history_of_batch
from inventory.queries.batch_todo import batch_todo
from inventory.queries.batch_verdicts import PieceLine, batch_picture
from inventory.queries.heaping import heaping_of
from inventory.queries.notice_clock import notice_clock
from inventory.queries.own.check_garment import state_at
from inventory.queries.own.doubts import tapes_in_doubt
from inventory.queries.sampling.asked_for import not_asked_for
from inventory.queries.sampling.found import drawn_rows
from inventory.queries.sampling.standing import sampling_of, standing_of_sample
from inventory.services.pieces import number_pieces
from inventory.web.entrance import allowed, attempt, found
from inventory.web.floor.forms.filters import BatchFilters
from inventory.web.floor.forms.receiving import NumberingForm
from inventory.web.floor.offers import offers
from inventory.web.paging import page_of, pager

if TYPE_CHECKING:
    from collections.abc import Sequence

    from django.http import HttpRequest, HttpResponse

    from inventory.models import Batch

MAP_ROWS: Final = 100
SHELVES: Final = (*VerdictCode.choices, ("none", "not judged yet"), ("again", "to measure again"))
_LATEST = 8


def batch_list(request: HttpRequest) -> HttpResponse:
    """All batches, newest first, each with its counts."""
    allowed(request, Deed.VIEW)
    filters = BatchFilters(request.GET)
    asked = filters.asked
    maker: Maker | None = asked.get("maker")
    style: Style | None = asked.get("style")
    matching = ask.batches_matching(
        text=asked.get("text", ""),
        maker_id=maker.pk if maker else None,
        style_id=style.pk if style else None,
        undecided=asked.get("undecided", False),
    )
    page = page_of(request, matching)
    context = {
        "filters": filters,
        "filtered": bool(asked),
        "rows": ask.rows_of(page.object_list),
        "may": offers(request),
        **pager(request, page),
    }
    return render(request, "inventory/floor/batches.html", context)


def batch_page(request: HttpRequest, number: int) -> HttpResponse:
    """One batch: what is to do, counts, shifts and bias, the map of pieces and points.

    `?show=out` keeps one verdict in the map, `?order=worst` puts the worst first, `?rows=all` lists all.
    """
    allowed(request, Deed.VIEW)
    batch = found(ask.batch_by_number(number), f"batch B{number:04d}")
    shop = Shop.objects.current()
    counts = ask.counts_of([batch.pk])[batch.pk]
    picture = batch_picture(batch)
    lines = lines_shown(
        picture.lines, show=request.GET.get("show", ""), worst_first=request.GET.get("order") == "worst"
    )
    sampling = sampling_of(batch)
    left_out = frozenset[int]() if sampling is None else not_asked_for(batch)
    every = request.GET.get("rows") == "all"
    page = page_of(request, lines, rows=max(len(lines), 1) if every else MAP_ROWS)
    context = {
        "batch": batch,
        "counts": counts,
        "standings": [(code, counts.standing[code]) for code in Standing.values if counts.standing[code]],
        "shelves": SHELVES,
        "picture": picture,
        "todo": batch_todo(batch, picture.lines, left_out=left_out),
        "sampling": sampling,
        "sample": None if sampling is None else standing_of_sample(batch, sampling),
        "drawn": _numbers_drawn(batch) if sampling else frozenset(),
        "heaps": heaping_of(batch),
        "measuring": state_at(timezone.now()),
        "tapes_in_doubt": tapes_in_doubt(shop=shop, batch=batch),
        "clock": notice_clock(batch.delivery, today=timezone.localdate(), shop=shop),
        "history": history_of_batch(batch)[:_LATEST],
        "show": request.GET.get("show", ""),
        "order": request.GET.get("order", ""),
        "every": every,
        "may": offers(request),
        **pager(request, page),
    }
    return render(request, "inventory/floor/batch.html", context)


def _numbers_drawn(batch: Batch) -> frozenset[int]:
    """Numbers of the pieces in the sample of the batch."""
    return frozenset(row.piece.number for row in drawn_rows(batch))


def lines_shown(lines: Sequence[PieceLine], *, show: str, worst_first: bool) -> list[PieceLine]:
    """The lines of the map that are asked for, in the order asked for."""
    known = {code for code, _ in SHELVES}
    kept = [line for line in lines if _stands(line) == show] if show in known else list(lines)
    return sorted(kept, key=lambda line: -line.severity) if worst_first else kept


def _stands(line: PieceLine) -> str:
    return "again" if line.to_measure_again else line.shelf or "none"


def batch_history(request: HttpRequest, number: int) -> HttpResponse:
    """Who did what to a batch."""
    allowed(request, Deed.VIEW)
    batch = found(ask.batch_by_number(number), f"batch B{number:04d}")
    context = {"batch": batch, **pager(request, page_of(request, history_of_batch(batch)))}
    return render(request, "inventory/floor/batch_history.html", context)


def pieces_new(request: HttpRequest, number: int) -> HttpResponse:
    """Number the pieces of a batch from a table of colours and sizes. The button `more` only adds a row."""
    person = allowed(request, Deed.RECEIVE)
    batch = found(ask.batch_by_number(number), f"batch B{number:04d}")
    sizes = list(batch.spec.sizes.values_list("label", flat=True))
    form = NumberingForm(request.POST or None, sizes=sizes, rows=_rows_asked(request))
    if request.method == "POST" and "more" not in request.POST and form.is_valid():
        pieces = attempt(
            form,
            lambda: number_pieces(batch=batch, counts=form.counts(), by=person, at=timezone.now()),
        )
        if pieces:
            first, last = pieces[0].label, pieces[-1].label
            which = first if first == last else f"{first} to {last}"
            messages.success(request, f"Numbered {which}: on hold until judged. Print their labels next.")
            return redirect("batch", batch.number)
    context = {
        "batch": batch,
        "form": form,
        "checked": request.method == "POST" and "more" not in request.POST,
        "numbered": batch.pieces.count(),
    }
    return render(request, "inventory/floor/pieces_new.html", context)


def _rows_asked(request: HttpRequest) -> int:
    typed = request.POST.get("rows", "")
    rows = int(typed) if typed.isdecimal() and len(typed) < 4 else NumberingForm.FIRST_ROWS
    return rows + 1 if "more" in request.POST else rows
