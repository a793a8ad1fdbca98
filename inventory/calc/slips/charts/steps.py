"""A stated grade step against the steps that the figures really take."""

from typing import Final

from inventory.calc.length import Parsed, show
from inventory.calc.slips.charts.rows import LEAST_SLACK_NM, ChartRow
from inventory.calc.slips.charts.wording import display_like

_SHARE: Final = 0.2


def odd_step(row: ChartRow, stated: Parsed) -> str:
    """A question when no two neighbouring sizes are as far apart as the step stated for all; else empty.

    >>> from inventory.calc.length import Unit, parse
    >>> from inventory.calc.slips.charts.rows import Figure
    >>> figures = [Figure(str(size), parse(str(mm), unit=Unit.MM))
    ...            for size, mm in ((22, 304), (24, 329), (26, 354))]
    >>> odd_step(ChartRow("WA", "half", figures, [0, 1, 2]), parse("50", unit=Unit.MM))
    'Typed 50, but from size to size the figures of WA rise by 25 mm. Which of the two is right?'
    """
    slopes = row.slopes
    near_nm = LEAST_SLACK_NM + _SHARE * abs(stated.nm)
    if not slopes or any(abs(slope - stated.nm) <= near_nm for slope in slopes):
        return ""
    display = display_like([figure.typed for figure in row.figures])
    least, most = (show(round(step), display) for step in (min(slopes), max(slopes)))
    rise = least if least == most else f"{least} to {most}"
    return (
        f"Typed {stated.typed.strip()}, but from size to size the figures of {row.code} rise by {rise}. "
        "Which of the two is right?"
    )
