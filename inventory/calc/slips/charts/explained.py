"""A slip of the hand that brings a figure of a chart back to what is expected there."""

from collections.abc import Sequence
from typing import Final

from inventory.calc.length import Parsed, Unit, nm_per_unit
from inventory.calc.slips.digits import fraction_behind_decimals
from inventory.calc.slips.guard import look_for_slips
from inventory.calc.slips.kinds import Expected, PointKind, Slip, SlipKind

# Ten millimetres more or less is how a garment may be meant to grow: nothing a chart can be asked about by
# itself. The others are no slips of one figure.
_NO_EXPLANATION: Final = frozenset({SlipKind.TENS, SlipKind.FAR_OFF, SlipKind.NOTHING_READ})
_SIXTEENTH: Final = nm_per_unit()[Unit.INCH] // 16
_FINEST: Final = nm_per_unit()[Unit.INCH] // 64


def slip_behind(
    typed: Parsed, *, lower_nm: float, upper_nm: float, slack_nm: int, kind: PointKind
) -> Slip | None:
    """The likeliest slip that would put a figure between these limits (nm), give or take the slack.

    >>> from inventory.calc.length import parse
    >>> found = slip_behind(parse("345", unit=Unit.MM), lower_nm=354e6, upper_nm=354e6, slack_nm=2_000_000,
    ...                     kind="half")
    >>> found.kind.value, found.suggestion_nm
    ('swapped_digits', 354000000)
    """
    middle = round((lower_nm + upper_nm) / 2)
    reach = round((upper_nm - lower_nm) / 2) + slack_nm
    if middle <= 0:
        return None
    expected = Expected(middle, max(middle - reach, 1), middle + reach)
    found = look_for_slips(typed, expected=expected, kind=kind)
    return next((slip for slip in found if slip.kind not in _NO_EXPLANATION), None)


def fraction_behind(typed: Parsed, others: Sequence[Parsed]) -> int | None:
    """The length (nm) if the decimals of a figure are a fraction's, in a row else on marks of the tape.

    >>> from inventory.calc.length import parse
    >>> row = [parse(text, unit=Unit.INCH) for text in ("12 1/8", "13 1/8")]
    >>> fraction_behind(parse("12.58", unit=Unit.INCH), row) == parse("12 5/8", unit=Unit.INCH).nm
    True
    """
    suggestion_nm = fraction_behind_decimals(typed)
    if suggestion_nm is None or not others or typed.nm % _FINEST == 0:
        return None
    return suggestion_nm if all(other.nm % _SIXTEENTH == 0 for other in others) else None
