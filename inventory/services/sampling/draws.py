"""Draw the sample of a batch, once, from a seed that the maker can repeat it by."""

from __future__ import annotations

import secrets
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Final

from django.db import transaction

from inventory.access import Deed, require
from inventory.calc.sampling.draw import Draw, DrawKind, DrawPiece, chances_of, describe, draw
from inventory.models import Batch, BatchSampling, DrawnPiece
from inventory.models.sampling_plans import BatchPlan, write_plan
from inventory.queries.sampling.planning import proposal_for
from inventory.services.audit import leave_row
from inventory.services.sampling.refusals import CannotDraw, DrawnAlready

if TYPE_CHECKING:
    import datetime as dt

    from inventory.models import Piece, User

_LARGEST_SEED: Final = 10**18
_MADE_BELOW: Final = 10**8  # short enough to be read out on the telephone


@dataclass(frozen=True, slots=True)
class Drawn:
    """The stored sample and its pieces in order."""

    sampling: BatchSampling
    pieces: Sequence[DrawnPiece]


@transaction.atomic
def draw_sample(
    *, batch: Batch, seed: str = "", kind: str = DrawKind.SPREAD, by: User, at: dt.datetime
) -> Drawn:
    """Draw what the plan of the batch asks for; without a seed one is made. It is done once.

    Both samples of a double plan are drawn together; the second is measured only if the first does not
    decide. Raises `CannotDraw`, `DrawnAlready`.
    """
    require(by, Deed.MEASURE)
    batch = Batch.objects.select_related("delivery", "style", "spec").get(pk=batch.pk)
    before = BatchSampling.objects.filter(batch=batch).first()
    if before is not None:
        raise DrawnAlready(
            f"The sample of {batch.label} was drawn on {before.drawn_at:%Y-%m-%d}, with seed {before.seed}. "
            "It stays as it is."
        )
    number = seed_of(seed)
    how = _kind_of(kind)
    proposal = proposal_for(batch)
    if proposal.plan is None:
        raise CannotDraw(proposal.refused)
    if proposal.scheme is None:
        raise CannotDraw(
            "No sampling was agreed on, so every piece is measured and nothing is drawn. Set the sampling "
            "of the maker first."
        )
    rows = list(batch.pieces.order_by("number"))
    found = draw([_as_drawn(piece) for piece in rows], number=proposal.plan.most, seed=number, kind=how)
    sampling = BatchSampling.objects.create(
        batch=batch,
        scheme=proposal.scheme,
        severity=proposal.plan.severity,
        batch_size=len(rows),
        document=_document(proposal.plan, found, rows),
        seed=str(number),
        drawn_by=by,
        drawn_at=at,
    )
    pieces = DrawnPiece.objects.bulk_create(_rows(sampling, proposal.plan, found, rows))
    leave_row(
        who=by,
        deed="draw sample",
        subject=batch,
        at=at,
        seed=sampling.seed,
        pieces=len(pieces),
        draw=how.value,
    )
    return Drawn(sampling, pieces)


def seed_of(typed: str) -> int:
    """The seed as typed, or a new one. Raises `CannotDraw` for what is no whole number."""
    text = typed.strip()
    if not text:
        return secrets.randbelow(_MADE_BELOW)
    if not (text.isascii() and text.isdecimal()) or int(text) >= _LARGEST_SEED:
        raise CannotDraw(
            f"The seed {text[:40]!r} is no whole number of at most 18 digits. Type one such as 20261125, or "
            "leave it empty: one is made.",
            field="seed",
        )
    return int(text)


def _kind_of(kind: str) -> DrawKind:
    try:
        return DrawKind(kind)
    except ValueError:
        known = ", ".join(DrawKind)
        raise CannotDraw(f"{kind!r} is no way to draw. Use one of: {known}.", field="kind") from None


def _as_drawn(piece: Piece) -> DrawPiece:
    return DrawPiece(piece.label, piece.carton, piece.size_label, piece.colour)


def _document(plan: BatchPlan, found: Draw, rows: Sequence[Piece]) -> dict[str, Any]:  # Any: JSON
    spread = found.kind is DrawKind.SPREAD
    return {
        **write_plan(plan),
        "draw": found.kind.value,
        "strata": found.strata,
        "chances": list(chances_of([_as_drawn(piece) for piece in rows], found)) if spread else None,
        "how_to_repeat": describe(found),
    }


def _rows(sampling: BatchSampling, plan: BatchPlan, found: Draw, rows: Sequence[Piece]) -> list[DrawnPiece]:
    by_label = {piece.label: piece for piece in rows}
    return [
        DrawnPiece(
            sampling=sampling,
            piece=by_label[label],
            position=position,
            stage=1 if position <= plan.first else 2,
            stratum=_stratum(by_label[label])[:80],
        )
        for position, label in enumerate(found.labels, start=1)
    ]


def _stratum(piece: Piece) -> str:
    carton = f"carton {piece.carton}" if piece.carton else ""
    return ", ".join(part for part in (carton, f"size {piece.size_label}", piece.colour) if part)
