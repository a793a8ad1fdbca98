"""A batch to sample, measured quickly: verdicts as bare rows."""

from __future__ import annotations

import datetime as dt
from collections.abc import Collection
from decimal import Decimal

from inventory.models import Batch, Maker, Piece, SamplingScheme, Spec, User
from inventory.models.findings import Flag
from inventory.models.people import Role
from inventory.services.sampling.decisions import decide_batch
from inventory.services.sampling.draws import Drawn, draw_sample
from inventory.services.sampling.schemes import set_scheme
from tests import factories
from tests.factories import NOW

SEED = "20261125"


def big_batch(
    pieces: int = 120, *, maker: Maker | None = None, spec: Spec | None = None, days: int = 0
) -> Batch:
    """A batch in three sizes and four cartons."""
    delivery = factories.make_delivery(maker=maker or factories.make_maker(), arrived_at=later(days))
    batch = factories.make_batch(spec or factories.make_spec(), delivery=delivery)
    first = (Piece.objects.order_by("-number").values_list("number", flat=True).first() or 0) + 1_000
    Piece.objects.bulk_create(
        Piece(
            number=first + number,
            batch=batch,
            size_label=("22", "24", "26")[number % 3],
            colour="ivory",
            carton=str(number % 4 + 1),
            created_at=NOW,
        )
        for number in range(pieces)
    )
    return batch


def agreed(batch: Batch | None = None, *, by: User | None = None, **values: object) -> SamplingScheme:
    """An agreement on attributes at AQL 2.5 and 4.0, for the maker of a batch or for the shop."""
    return set_scheme(
        maker=batch.delivery.maker if batch else None,
        reason="agreed by mail of 3 March",
        by=by or factories.make_user(Role.OWNER),
        at=NOW,
        **{"kind": "attributes", "aql_major": Decimal("2.5"), "aql_minor": Decimal("4.0")} | values,  # type: ignore[arg-type]  # values of the service
    )


def drawn(batch: Batch, *, by: User | None = None, days: int = 0) -> Drawn:
    return draw_sample(batch=batch, seed=SEED, by=by or factories.make_user(), at=later(days))


def measure(sample: Drawn, *, out: Collection[int] = (), upto: int = 10_000) -> None:
    """Judge the drawn pieces up to a place; those at the places of `out` are out, the others in."""
    for row in sample.pieces:
        if row.position <= upto:
            if row.position in out:
                out_beyond_doubt(row.piece)
            else:
                factories.make_verdict(row.piece, shelf="in")


def out_beyond_doubt(piece: Piece) -> None:
    """A verdict with one stored finding: the waist 14 mm beyond its limit, with an uncertainty of 1.8 mm."""
    row = ["L", 375_000_000, 1_800_000, 3_000_000, 3_600_000, 1, "out", "out", 14_000_000, int(Flag.DECIDING)]
    factories.make_verdict(piece, shelf="out", findings={"WA": [row]})


def decided(batch: Batch, owner: User, *, out: Collection[int] = (), days: int = 0) -> str:
    """Draw, measure and decide a batch; the outcome."""
    sample = drawn(batch, days=days)
    measure(sample, out=out)
    return decide_batch(batch=batch, by=owner, at=later(days) + dt.timedelta(hours=2)).outcome


def later(days: int) -> dt.datetime:
    return NOW + dt.timedelta(days=days)
