"""The demo's sampled batch: agreed with the maker, drawn, measured, decided."""

from __future__ import annotations

import datetime as dt
from decimal import Decimal
from typing import TYPE_CHECKING

from inventory.models import Piece, SamplingScheme
from inventory.services.sampling.decisions import decide_batch
from inventory.services.sampling.draws import draw_sample
from inventory.services.sampling.schemes import set_scheme

if TYPE_CHECKING:
    from inventory.models import Batch, Maker, Style, User


def agree(maker: Maker, style: Style, *, owner: User, at: dt.datetime) -> None:
    """Sampling by attributes, agreed with one maker for one style."""
    set_scheme(
        maker=maker,
        style=style,
        kind=SamplingScheme.Kind.ATTRIBUTES,
        level=SamplingScheme.Level.II,
        aql_major=Decimal("2.5"),
        aql_minor=Decimal("4"),
        reason="agreed for the repeat orders of this year",
        by=owner,
        at=at,
    )


def drawn_pieces(batch: Batch, *, by: User, at: dt.datetime) -> list[Piece]:
    """Draw the sample; its pieces in the order of the draw."""
    drawn = draw_sample(batch=batch, seed="260306", by=by, at=at)
    keys = [one.piece_id for one in drawn.pieces]
    pieces = Piece.objects.select_related("batch__style").in_bulk(keys)
    return [pieces[key] for key in keys]


def decide(batch: Batch, *, owner: User, at: dt.datetime) -> None:
    """Accept or refuse the batch, as its sample says."""
    decide_batch(batch=batch, by=owner, at=at)
