"""Pieces: the list, one piece with all that is known of it, its history."""

from __future__ import annotations

from typing import TYPE_CHECKING

from django.shortcuts import render

from inventory.access import Deed
from inventory.models import Maker, Shop
from inventory.models.pieces import Standing
from inventory.queries import pieces as ask
from inventory.queries.audit import history_of_piece
from inventory.queries.batches import batch_by_number
from inventory.queries.maker_spreads import spreads_before
from inventory.queries.own.corrections import correction_words
from inventory.queries.own.doubts import doubts_of_readings
from inventory.queries.point_table import point_rows
from inventory.queries.settling import first_to_settle
from inventory.queries.verdict_risks import risks_of, worst_of
from inventory.web.entrance import allowed, found
from inventory.web.floor.forms.filters import PieceFilters
from inventory.web.floor.offers import offers
from inventory.web.paging import page_of, pager

if TYPE_CHECKING:
    from collections.abc import Iterable

    from django.http import HttpRequest, HttpResponse

    from inventory.models import Batch, Disposition, Inspection, PieceVerdict

_LATEST = 6
_SITTINGS = 4


def piece_list(request: HttpRequest) -> HttpResponse:
    """All pieces, newest first, each with its verdict and standing."""
    allowed(request, Deed.VIEW)
    filters = PieceFilters(request.GET)
    asked = filters.asked
    maker: Maker | None = asked.get("maker")
    batch = _batch_asked(asked.get("batch", ""))
    matching = ask.pieces_matching(
        text=asked.get("text", ""),
        batch=batch,
        standing=asked.get("standing", ""),
        shelf=asked.get("shelf", ""),
        maker_id=maker.pk if maker else None,
    )
    page = page_of(request, matching, rows=50)
    context = {
        "filters": filters,
        "filtered": bool(asked),
        "batch": batch,
        "may": offers(request),
        **pager(request, page),
    }
    return render(request, "inventory/floor/pieces.html", context)


def piece_page(request: HttpRequest, number: int) -> HttpResponse:
    """One piece: verdict point by point, sittings with every reading, defects, decisions, history."""
    allowed(request, Deed.VIEW)
    piece = found(ask.piece_by_number(number), f"piece P{number:06d}")
    verdict = ask.current_verdict(piece)
    page = page_of(request, ask.sittings_of(piece), rows=_SITTINGS)
    relabelled = bool(verdict and verdict.basis.size_label != piece.size_label)
    dispositions = list(ask.dispositions_of(piece))
    risks = risks_of(verdict, spreads_before(piece.batch)) if verdict else []
    context = {
        "piece": piece,
        "batch": piece.batch,
        "to_measure_again": relabelled and piece.standing in ask.MEASURED_AGAIN,
        "verdict": verdict,
        "rules": _rules_of(verdict.basis.document) if verdict else None,
        "points": point_rows(verdict, piece.batch) if verdict else [],
        **_of_tapes(verdict, page.object_list),
        "risks": risks,
        "worst_risk": worst_of(risks),
        "settling": first_to_settle(risks, shop=Shop.objects.current()),
        "defects": ask.defects_of(piece),
        "dispositions": dispositions,
        "before_rework": bool(verdict and dispositions and _is_before_rework(verdict, dispositions[0])),
        # One more reading may settle it, unless somebody has decided without.
        "again_first": bool(verdict and verdict.shelf == "close" and piece.standing == Standing.HOLD)
        and not relabelled,
        "history": history_of_piece(piece).exclude(subject_type="reading")[:_LATEST],  # shown in the sittings
        "may": offers(request),
        **pager(request, page),
    }
    return render(request, "inventory/floor/piece.html", context)


def _of_tapes(verdict: PieceVerdict | None, sittings: Iterable[Inspection]) -> dict[str, object]:
    """What was taken off for the tapes, and which of them was found wrong since they read the piece."""
    if verdict is None:
        return {}
    shop = Shop.objects.current()
    readings = [r for one in sittings if one.pk == verdict.inspection_id for r in one.readings.all()]
    told = (verdict.corrections or {}).get("tapes", ())
    return {
        "corrections": correction_words(verdict.corrections, shop.as_display()),
        "doubts": doubts_of_readings(readings, shop=shop),
        "judged_since": any(entry["found_at"] for entry in told),
    }


def _is_before_rework(verdict: PieceVerdict, latest: Disposition) -> bool:
    """Whether the piece was reworked since it was measured, whenever it was judged again."""
    measured_at = verdict.inspection.finished_at or verdict.judged_at
    return latest.decision == Standing.REWORK and latest.decided_at > measured_at


def piece_history(request: HttpRequest, number: int) -> HttpResponse:
    """Who did what to a piece."""
    allowed(request, Deed.VIEW)
    piece = found(ask.piece_by_number(number), f"piece P{number:06d}")
    context = {"piece": piece, **pager(request, page_of(request, history_of_piece(piece), rows=50))}
    return render(request, "inventory/floor/piece_history.html", context)


def _batch_asked(label: str) -> Batch | None:
    digits = label[1:] if label[:1] in {"B", "b"} else ""
    return batch_by_number(int(digits)) if digits.isdecimal() and len(digits) <= 9 else None


def _rules_of(document: dict[str, object]) -> dict[str, object]:
    """The two rules a stored verdict was given by."""
    return {"shelf": document.get("shelf_rule"), "claim": document.get("claim_rule")}
