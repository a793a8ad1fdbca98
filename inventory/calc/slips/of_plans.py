"""The slip guard for a piece whose spec is at hand: what is expected comes from the plans of its sizes."""

from collections.abc import Iterable, Mapping, Sequence
from functools import lru_cache
from typing import TypeVar

from inventory.calc import uncertainty
from inventory.calc.errors import ImpossibleInput
from inventory.calc.length import Display, Parsed
from inventory.calc.plan import PointPlan, Side
from inventory.calc.slips.guard import is_plausible, look_for_slips
from inventory.calc.slips.kinds import Expected, Slip, SlipKind
from inventory.calc.slips.repeats import disagrees
from inventory.calc.slips.wording import question
from inventory.calc.uncertainty import mean_nm

Thing = TypeVar("Thing")
Plans = Mapping[str, PointPlan]
Reading = tuple[str, Side]

_GUARD_SPREADS = 1.645  # one-sided 5 %, as in the usual shelf rule; the guard need not know the shop's own
_ROWS = 2  # a figure strays into the row above or below, now and then one further
_OTHER_SIDE: Mapping[Side, Side] = {"L": "R", "R": "L"}


def questions_for(
    *,
    reading: Parsed,
    code: str,
    side: Side,
    size_label: str,
    plans_by_size: Mapping[str, Plans],
    taken: Mapping[Reading, int],
    earlier_nm: Sequence[int] = (),
    another_person: bool = False,
    batch_shift_nm: int = 0,
    display: Display | None = None,
    blind: bool = False,
) -> tuple[Slip, ...]:
    """The slips a reading of one point of a piece looks like, most likely first; see `look_for_slips`.

    plans_by_size: the spec, sizes in their order, each point's plan by its code.
    taken: lengths (nm) read on this piece before, by point code and side; an earlier reading of the same
        point and side may be among them.
    earlier_nm: all earlier readings of the same point and side; a repeat must not contradict them.
    another_person: whether somebody else took one of them.
    Raises ImpossibleInput for a size or a point that the spec does not have.
    """
    plans = _in_spec(plans_by_size, size_label, "size")
    plan = _in_spec(plans, code, "point")
    expected = expected_of(plan)
    last_nm = (taken[code, side],) if (code, side) in taken else ()
    is_quiet = is_plausible(reading.nm, expected, earlier_nm=last_nm, batch_shift_nm=batch_shift_nm)
    near = {} if is_quiet else {size: plans_by_size[size] for size in _beside(size_label, plans_by_size, 1)}
    other_side = _OTHER_SIDE.get(side)
    found = look_for_slips(
        reading,
        expected=expected,
        kind=plan.kind,
        neighbours={} if is_quiet else {row: expected_of(plans[row]) for row in _beside(code, plans, _ROWS)},
        neighbour_sizes={size: expected_of(sized[code]) for size, sized in near.items() if code in sized},
        size_votes={size: _votes(plans, sized, taken, but=(code, side)) for size, sized in near.items()},
        earlier_nm=last_nm,
        other_side_nm=None if other_side is None else taken.get((code, other_side)),
        batch_shift_nm=batch_shift_nm,
        display=display,
        blind=blind,
    )
    if found or not disagrees(reading.nm, earlier_nm, plan.error, another_person=another_person):
        return found
    slip, shown = SlipKind.REPEATS_DISAGREE, display or Display(reading.unit)
    apart_nm = abs(reading.nm - mean_nm(earlier_nm))
    words = question(slip, reading, expected, shown, suggestion_nm=apart_nm, blind=blind)
    return (Slip(slip, None, words),)


@lru_cache(maxsize=4_096)
def expected_of(plan: PointPlan) -> Expected:
    """What one side of a point should read: its limits, widened by the guard band of a single reading.

    >>> from inventory.calc.uncertainty import ReadingError
    >>> waist = PointPlan("WA", "half", True, 330_000_000, 6_000_000, 6_000_000, "half", None,
    ...                   ReadingError(1_000_000, 0))
    >>> expected_of(waist)
    Expected(nominal_nm=330000000, lower_nm=322355000, upper_nm=337645000)
    """
    guard_nm = round(_GUARD_SPREADS * uncertainty.of_mean(plan.error, readings=1))
    limits = plan.limits
    return Expected(plan.nominal_nm, limits.lower_nm - guard_nm, limits.upper_nm + guard_nm)


def _beside(key: str, in_order: Iterable[str], places: int) -> list[str]:
    """The keys up to so many places before and after one."""
    keys = list(in_order)
    place = keys.index(key)
    return keys[max(place - places, 0) : place] + keys[place + 1 : place + 1 + places]


def _votes(plans: Plans, sized: Plans, taken: Mapping[Reading, int], *, but: Reading) -> int:
    """Other readings of the piece that fit that size and not their own, minus those the other way round."""
    votes = 0
    for (code, side), nm in taken.items():
        if (code, side) != but and code in plans and code in sized:
            votes += expected_of(sized[code]).holds(nm) - expected_of(plans[code]).holds(nm)
    return votes


def _in_spec(things: Mapping[str, Thing], key: str, word: str) -> Thing:
    try:
        return things[key]
    except KeyError:
        known = ", ".join(things)
        raise ImpossibleInput(word, f"{key!r}, which the spec does not have", f"It has: {known}") from None
