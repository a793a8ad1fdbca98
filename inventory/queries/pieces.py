"""Which pieces there are, and everything that is known of one."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Any, Final

from django.db.models import Exists, F, FilteredRelation, OuterRef, Prefetch, Q, QuerySet

from inventory.models import Defect, Disposition, Inspection, Piece, PieceVerdict, Reading
from inventory.models.pieces import Standing

if TYPE_CHECKING:
    from inventory.models import Batch

# Whose label was changed waits for new readings until something else is decided for it.
MEASURED_AGAIN: Final = (Standing.HOLD, Standing.RELABEL)
_LABEL = re.compile(r"\s*[Pp]?([0-9]{1,18})\s*")


def piece_by_number(number: int) -> Piece | None:
    """The piece with everything its page names, or None."""
    found = Piece.objects.select_related("batch__style", "batch__spec__style", "batch__delivery__maker")
    return found.filter(number=number).first()


def piece_with_verdict(number: int) -> Piece | None:
    """The piece with its current verdict as in `pieces_matching`, or None."""
    found: Piece | None = pieces_matching().filter(number=number).first()
    return found


def number_on_label(typed: str) -> int | None:
    """The number of a piece label as typed or scanned; None when it is none.

    >>> number_on_label(" p000123 "), number_on_label("123"), number_on_label("B0012")
    (123, 123, None)
    """
    found = _LABEL.fullmatch(typed)
    return int(found[1]) if found else None


def pieces_matching(
    *,
    text: str = "",
    batch: Batch | None = None,
    size_label: str = "",
    standing: str = "",
    shelf: str = "",
    maker_id: int | None = None,
) -> QuerySet[Piece, Any]:  # Any: the annotated class exists only for the type checker
    """Pieces with their current verdict as `shelf` and `claim`, newest number first.

    `judged_size` is the size the verdict was given by, which a re-label leaves behind.

    `text` is looked for in the label, the maker's or old number and the colour; `shelf` "none" keeps those
    not judged yet, "again" those to be measured again, because their label was changed since; those are left
    out where a verdict is asked for.
    """
    found = (
        Piece.objects.select_related("batch__style", "batch__delivery__maker")
        .annotate(current=FilteredRelation("verdicts", condition=Q(verdicts__is_current=True)))
        .annotate(
            shelf=F("current__shelf"),
            claim=F("current__claim"),
            size_suspected=F("current__size_suspected"),
            fits_size=F("current__fits_size"),
            judged_size=F("current__basis__size_label"),
        )
        .order_by("-number")
    )
    wanted = {
        "batch": batch,
        "batch__delivery__maker": maker_id,
        "size_label": size_label,
        "standing": standing,
    }
    found = found.filter(**{name: value for name, value in wanted.items() if value})
    if shelf == "none":
        found = found.filter(~Exists(_current().filter(piece=OuterRef("pk"))))
    elif shelf == "again":
        found = found.filter(to_measure_again())
    elif shelf:
        found = found.filter(~to_measure_again(), current__shelf=shelf)
    if text:
        mentions = Q(maker_reference__icontains=text) | Q(colour__icontains=text)
        number = number_on_label(text)
        found = found.filter(mentions if number is None else mentions | Q(number=number))
    return found


def waits_again(*, standing: str, size_label: str, judged_size: str | None) -> bool:
    """Whether what is known of a piece says so: see `to_measure_again`.

    >>> waits_again(standing="relabel", size_label="26", judged_size="24")
    True
    >>> waits_again(standing="second", size_label="26", judged_size="24")
    False
    """
    return bool(judged_size) and standing in MEASURED_AGAIN and judged_size != size_label


def to_measure_again() -> Q:
    """Of pieces: the label was changed since they were judged, and nothing else was decided."""
    judged_so = _current().filter(piece=OuterRef("pk"), basis__size_label=OuterRef("size_label"))
    judged = _current().filter(piece=OuterRef("pk"))
    return Q(Exists(judged), ~Exists(judged_so), standing__in=MEASURED_AGAIN)


def current_verdict(piece: Piece) -> PieceVerdict | None:
    """The verdict that counts now, with the basis it was judged on and who judged."""
    return (
        _current()
        .select_related("basis__spec__style", "judged_by", "inspection", "piece__batch__delivery")
        .filter(piece=piece)
        .first()
    )


def sittings_of(piece: Piece) -> QuerySet[Inspection]:
    """All sittings of a piece, newest first, with every reading, question and verdict."""
    return _sittings().filter(piece=piece)


def sitting_by_id(pk: int) -> Inspection | None:
    """One sitting with the same, its piece, batch, style and spec loaded too."""
    return _sittings().select_related("piece__batch__style", "piece__batch__spec").filter(pk=pk).first()


def _sittings() -> QuerySet[Inspection]:
    readings = (
        Reading.objects.select_related("point", "taken_by", "instrument")
        .prefetch_related("slip_questions__answered_by", "corrections__taken_by")
        .order_by("id")
    )
    verdicts = (
        PieceVerdict.objects.select_related("judged_by", "basis")
        .defer("findings", "basis__document")
        .order_by("id")
    )
    return (
        Inspection.objects.select_related("piece", "opened_by", "instrument")
        .prefetch_related(Prefetch("readings", readings), Prefetch("verdicts", verdicts))
        .prefetch_related("unread_sides__point", "unread_sides__noted_by")
        .order_by("-id")
    )


def dispositions_of(piece: Piece) -> QuerySet[Disposition]:
    """Every decision for a piece, newest first."""
    return piece.dispositions.select_related("decided_by").order_by("-id")


def defects_of(piece: Piece) -> QuerySet[Defect]:
    """Defects seen on a piece, with their photos."""
    return piece.defects.select_related("seen_by").prefetch_related("photos").order_by("id")


def _current() -> QuerySet[PieceVerdict]:
    return PieceVerdict.objects.filter(is_current=True)
