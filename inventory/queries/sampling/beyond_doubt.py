"""What of a sample is beyond doubt: for a whole piece with all its points, not for one reading.

A claim rule promises how seldom a value just at its limit is called out, for one look. A piece has many
values that decide, and each may be looked at up to so many times: over all of them a piece in tolerance is
called out far more often. What is said of a batch must hold for pieces, so a piece counts as out there only
if a value lies beyond its limit by as many uncertainties as keep the rule's risk for the whole piece.

For the shelf it is the other way round: a piece that is out passes only if its own point passes, so one value
is enough. What was decided by the mean alone, because repeats were used up, is not beyond doubt.
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
from inventory.queries.plans import plans_of

if TYPE_CHECKING:
    from inventory.models import Batch
    from inventory.queries.sampling.found import FoundPiece

_HIGHEST = 0.49
"""A plain rule is a toss of the coin at the limit; rates of half and more decide nothing."""


@dataclass(frozen=True, slots=True)
class BeyondDoubt:
    """Pieces out, and pieces not in, beyond doubt; the rates behind both, and the words for the first."""

    out: int
    not_in: int
    claim_rates: ReadingRates
    shelf_rates: ReadingRates
    words: str


def beyond_doubt(batch: Batch, seen: Collection[FoundPiece]) -> BeyondDoubt:
    """What the judged pieces of a sample show beyond doubt; one statement beside the shop's."""
    shop = Shop.objects.current()
    claim, shelf = shop.claim_rule.as_rule(), shop.shelf_rule.as_rule()
    ids = [piece.verdict_id for piece in seen if piece.verdict_id is not None]
    rows = dict(PieceVerdict.objects.filter(pk__in=ids).values_list("pk", "findings"))
    values = max((_deciding(found) for found in rows.values()), default=1) or 1
    risk = min(claim.risk_at_the_limit, _HIGHEST)
    needed = _needed(risk, claim.max_repeats, values)
    shared = _shared(batch)
    passed = min(_looking_again(float(shelf.multiplier), shelf.max_repeats), _HIGHEST)
    return BeyondDoubt(
        out=sum(_is_out(rows.get(piece.verdict_id or 0, {}), needed) for piece in seen),
        not_in=sum(
            piece.shelf != "in" or _by_mean_alone(rows.get(piece.verdict_id or 0, {})) for piece in seen
        ),
        claim_rates=ReadingRates(false_bad=risk, shared=shared),
        shelf_rates=ReadingRates(false_good=passed, shared=shared),
        words=(
            f"Out beyond doubt, for the batch: a value beyond its limit by at least {needed:.2f} standard "
            f"uncertainties. Over the {values} values that decide a piece, each looked at up to "
            f"{claim.max_repeats} times, that keeps the claim rule's {100 * risk:.1f} % for whole pieces."
        ),
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


def _shared(batch: Batch) -> float:
    """The largest share of the square of the uncertainty that readings by the same hands have in common."""
    shares = [0.0]
    for plans in plans_of(batch).by_size.values():
        for plan in plans.values():
            error = plan.error
            common = error.person_sd_nm**2 + error.fixed_sd_nm**2
            whole = common + error.repeat_sd_nm**2
            shares.append(common / whole if whole else 0.0)
    return max(shares)
