"""What was found on the pieces of a batch, for the sample: the worst class, and how each piece was called.

A piece out of tolerance beyond doubt, by the shelf rule, is a major nonconforming piece. Too close to call is
not bad. Defects count by their class; a piece counts once, in the worst class found on it.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

from django.db.models import FilteredRelation, Q

from inventory.calc.sampling.attributes import DefectClass
from inventory.models import Defect, DrawnPiece, Piece
from inventory.queries.pieces import waits_again

if TYPE_CHECKING:
    from inventory.models import Batch

OUT_COUNTS_AS = DefectClass.MAJOR
COUNTED_WORDS = (
    "A piece out of tolerance beyond doubt (by the shelf rule) counts as major; too close to call counts as "
    "good. Defects count by their class. A piece counts once, in the worst class found on it."
)
_WORST_FIRST = tuple(DefectClass)


@dataclass(frozen=True, slots=True)
class FoundPiece:
    """A piece as the sample sees it; `position` and `stage` are 0 when it was not drawn."""

    pk: int
    number: int
    label: str
    size_label: str
    colour: str
    carton: str
    position: int
    stage: int
    stratum: str
    verdict_id: int | None
    shelf: str
    claim: str
    worst: DefectClass | None

    @property
    def inspected(self) -> bool:
        """Whether it is judged by the size it carries."""
        return bool(self.shelf)

    @property
    def drawn(self) -> bool:
        return bool(self.position)


def found_pieces(batch: Batch) -> list[FoundPiece]:
    """Every piece of a batch with what was found on it: those drawn first, in that order. Two statements."""
    worst = _worst_defects(batch)
    rows = (
        Piece.objects.filter(batch=batch)
        .annotate(current=FilteredRelation("verdicts", condition=Q(verdicts__is_current=True)))
        .order_by("number")
        .values_list(
            "pk",
            "number",
            "size_label",
            "colour",
            "carton",
            "standing",
            "drawn__position",
            "drawn__stage",
            "drawn__stratum",
            "current__pk",
            "current__shelf",
            "current__claim",
            "current__basis__size_label",
        )
    )
    found = []
    for pk, number, size, colour, carton, standing, place, stage, stratum, verdict, *said in rows:
        shelf, claim, judged_size = said
        again = waits_again(standing=standing, size_label=size, judged_size=judged_size)
        known = "" if again else shelf or ""
        found.append(
            FoundPiece(
                pk=pk,
                number=number,
                label=Piece(number=number).label,
                size_label=size,
                colour=colour,
                carton=carton,
                position=place or 0,
                stage=stage or 0,
                stratum=stratum or "",
                verdict_id=None if again else verdict,
                shelf=known,
                claim="" if again else claim or "",
                worst=_worse(worst.get(pk), OUT_COUNTS_AS if known == "out" else None),
            )
        )
    return sorted(found, key=lambda piece: (not piece.position, piece.position, piece.number))


def drawn_rows(batch: Batch) -> list[DrawnPiece]:
    """The pieces of a batch's sample in the order of the draw."""
    return list(DrawnPiece.objects.filter(sampling__batch=batch).select_related("piece"))


def _worst_defects(batch: Batch) -> Mapping[int, DefectClass]:
    worst: dict[int, DefectClass] = {}
    rows = Defect.objects.filter(batch=batch, piece__isnull=False).values_list("piece_id", "severity")
    for piece_id, severity in rows:
        assert piece_id is not None
        found = _worse(worst.get(piece_id), DefectClass(severity))
        assert found is not None
        worst[piece_id] = found
    return worst


def _worse(one: DefectClass | None, other: DefectClass | None) -> DefectClass | None:
    return next((each for each in _WORST_FIRST if each in (one, other)), None)
