"""What of a sample is beyond doubt: for whole pieces, and for all of them together.

A claim rule promises how seldom a value just at its limit is called out, for one look. A piece has many
values that decide, each may be looked at up to so many times, and the same hands and tape err alike on every
piece. So for what is said of a batch a piece counts as out only if a value lies so many uncertainties beyond
its limit that with at most 1 % any piece in tolerance is counted, over all pieces, values and looks: chances
are added (Bonferroni), which holds however the errors go together.

For the shelf a piece that is out passes only if its own point passes, so one value is enough. What was
decided by the mean alone, because repeats were used up, is not beyond doubt.
"""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING, Any

from inventory.calc.risk import multiplier_for_piece, risk_of_looking_again
from inventory.calc.sampling.remaining import ReadingRates
from inventory.models import PieceVerdict, Shop
from inventory.models.findings import Flag

if TYPE_CHECKING:
    from inventory.queries.sampling.found import FoundPiece

READING_DOUBT = 0.01
"""The part of the doubt that is spent on wrong readings; the rest on the draw."""

_HIGHEST = 0.49
"""A plain rule is a toss of the coin at the limit; rates of half and more decide nothing."""


@dataclass(frozen=True, slots=True)
class BeyondDoubt:
    """Pieces out beyond doubt, pieces not in beyond doubt with the rates behind them, and what that means.

    ``undecided`` of the latter are too close to call, or in only because the mean decided after all repeats.
    """

    out: int
    not_in: int
    undecided: int
    shelf_rates: ReadingRates
    words: tuple[str, ...]


def beyond_doubt(seen: Collection[FoundPiece]) -> BeyondDoubt:
    """What the judged pieces of a sample show beyond doubt; one statement beside the shop's."""
    shop = Shop.objects.current()
    claim, shelf = shop.claim_rule.as_rule(), shop.shelf_rule.as_rule()
    ids = [piece.verdict_id for piece in seen if piece.verdict_id is not None]
    rows = dict(PieceVerdict.objects.filter(pk__in=ids).values_list("pk", "findings"))
    values = max((_deciding(found) for found in rows.values()), default=1) or 1
    needed = _needed(READING_DOUBT / max(len(seen), 1), claim.max_repeats, values)
    passed = min(_looking_again(float(shelf.multiplier), shelf.max_repeats), _HIGHEST)
    called_in = [rows.get(piece.verdict_id or 0, {}) for piece in seen if piece.shelf == "in"]
    not_in = len(seen) - len(called_in) + sum(map(_by_mean_alone, called_in))
    return BeyondDoubt(
        out=sum(_is_out(rows.get(piece.verdict_id or 0, {}), needed) for piece in seen),
        not_in=not_in,
        undecided=not_in - sum(piece.shelf == "out" for piece in seen),
        shelf_rates=ReadingRates(false_good=passed),
        words=(_words_of_claim(needed, len(seen), values, claim.max_repeats), _words_of_shelf(passed)),
    )


def _words_of_claim(needed: float, pieces: int, values: int, looks: int) -> str:
    return (
        f"Out beyond doubt, for the batch: a value beyond its limit by at least {needed:.2f} standard "
        f"uncertainties. Over {pieces} pieces, {values} values that decide and up to {looks} looks at each, "
        f"any piece in tolerance is then counted with at most {100 * READING_DOUBT:g} %, however the errors "
        "go together; that is part of the 5 %."
    )


def _words_of_shelf(passed: float) -> str:
    return (
        f"For the shelf up to {100 * passed:.1f} % of the pieces that are out may have passed as in "
        "tolerance, from piece to piece; an error that all readings share is not in that figure."
    )


@lru_cache(maxsize=64)
def _needed(risk: float, looks: int, values: int) -> float:
    return multiplier_for_piece(risk, looks=looks, findings=values)


@lru_cache(maxsize=64)
def _looking_again(multiplier: float, looks: int) -> float:
    return risk_of_looking_again(multiplier, looks=looks)


def _rows(found: dict[str, Any]) -> list[list[Any]]:  # Any: stored findings
    return [row for of_point in found.values() for row in of_point if row[9] & Flag.DECIDING]


def _deciding(found: dict[str, Any]) -> int:  # Any: stored findings
    return len(_rows(found))


def _is_out(found: dict[str, Any], needed: float) -> bool:  # Any: stored findings
    return any(row[7] == "out" and row[8] >= needed * row[2] for row in _rows(found))


def _by_mean_alone(found: dict[str, Any]) -> bool:  # Any: stored findings
    return any(row[9] & Flag.BY_FINAL_RULE for row in _rows(found))
