"""Points that a single reading seldom settles, said before a spec is put in force.

A guard band that takes more than half of the tolerance leaves only a strip around the nominal in which one
reading is enough. Nothing is wrong with such a spec, but good pieces will be read twice, three times, four
times, and whoever agrees the tolerance should know. That half is where it begins to hurt is common practice,
no source.
"""

from inventory.calc.conformity import Rule
from inventory.calc.length import Display, show_uncertainty, show_within
from inventory.calc.plan import PointPlan
from inventory.calc.setup_checks import (
    Question,
    SetupWarning,
    WarningKind,
    allowance_of,
    leaves_nothing,
    questions_of,
)


def narrow(plan: PointPlan, rule: Rule, *, display: Display) -> tuple[SetupWarning, ...]:
    """Warn where one reading a side is enough only close to the nominal; `judgeable` warns where it never is.

    >>> from inventory.calc.conformity import DEFAULT_SHELF
    >>> from inventory.calc.length import Unit
    >>> from inventory.calc.uncertainty import ReadingError
    >>> hip = PointPlan("HH", "length", False, 430_000_000, 6_000_000, 6_000_000, "half", None,
    ...                 ReadingError(2_000_000, 0))
    >>> print(narrow(hip, DEFAULT_SHELF, display=Display(Unit.MM))[0].message)
    HH: only within 2.7 mm of nominal is a side in tolerance at one reading: the guard band of 3.3 mm takes \
more than half of the ±6 mm. It will often be read again.
    """
    return tuple(
        _seldom_settled(plan.code, question, rule, display)
        for question in questions_of(plan)
        if _takes_more_than_half(question, rule) and not leaves_nothing(question, rule, 1, 1)
    )


def _takes_more_than_half(question: Question, rule: Rule) -> bool:
    # The band stands at both limits, so half of a two-sided tolerance is a quarter of its whole width.
    width_nm = question.limits.upper_nm - question.limits.lower_nm
    return 4 * question.guard_nm(rule, 1, 1) > width_nm


def _seldom_settled(point: str, question: Question, rule: Rule, display: Display) -> SetupWarning:
    band_nm = question.guard_nm(rule, 1, 1)
    allowance = allowance_of(question, display)
    message = (
        f"{point}: {_where(question, band_nm, display)} at one reading: the guard band of "
        f"{show_uncertainty(band_nm, display)} takes more than half of the {allowance}. "
        "It will often be read again."
    )
    return SetupWarning(WarningKind.REPEATS_USUAL, point, (), message)


def _where(question: Question, band_nm: int, display: Display) -> str:
    """Between which values one reading is enough, in the order of a sentence."""
    below_nm = question.nominal_nm - question.limits.lower_nm - band_nm
    above_nm = question.limits.upper_nm - question.nominal_nm - band_nm
    inside = show_within(above_nm, display)
    if question.nominal_nm == 0:
        return f"only within {inside} of each other do left and right match"
    subject, rest = question.words.split(" is ")
    if below_nm == above_nm:
        near = "exactly at" if inside == show_within(0, display) else f"within {inside} of"
        return f"only {near} nominal is {subject} {rest}"
    if min(below_nm, above_nm) < 0:
        return f"not even at nominal is {subject} {rest}"
    low = show_within(-below_nm, display, signed=True)
    return f"only from {low} to +{inside} off nominal is {subject} {rest}"
