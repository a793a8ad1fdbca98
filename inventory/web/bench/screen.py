"""A piece at the bench as its page shows it: everything the templates need, nothing they must work out."""

from __future__ import annotations

import uuid
from typing import TYPE_CHECKING, Any, Final

from django.db.models import Q
from django.urls import reverse
from django.utils.safestring import SafeString, mark_safe

from inventory.access import Deed, may
from inventory.catalogue import FAMILIES, drawing
from inventory.models import Instrument, SlipQuestion
from inventory.models.inspections import PieceState
from inventory.models.shop import LengthUnit
from inventory.queries.bench.asking import (
    Ask,
    Asked,
    finding_to_settle,
    findings_at,
    outcome_at,
    step_to_repeat,
    verdict_at,
)
from inventory.queries.bench.level_help import HELPERS
from inventory.queries.bench.walk import SIDE_WORDS
from inventory.queries.settling import settling_of
from inventory.web.bench.walk_list import CLOSE_WORDS, can_skip, walk_lines, walk_rows

if TYPE_CHECKING:
    from inventory.calc.judging import Finding
    from inventory.models import User
    from inventory.queries.bench.sheet import Sheet
    from inventory.queries.bench.walk import Step
    from inventory.queries.settling import Settling

# What the guard suspected, offered among the reasons; never filled in, as the person has not said it.
REASONS_BY_SLIP: Final = {
    "full_for_half": "full girth typed for the half",
    "half_for_full": "half typed for the full girth",
    "decimal_point": "decimal point misplaced",
    "fraction_as_decimals": "fraction typed as decimals",
    "start_mark_inch": "tape started at 1 inch",
    "start_mark_10cm": "tape started at 10 cm",
    "tens": "tens misread",
    "swapped_digits": "digits swapped",
    "neighbour_point": "another point read",
    "neighbour_size": "size doubted",
    "sides_swapped": "left and right swapped",
    "nothing_read": "nothing was read",
}
REASONS: Final = (
    "typed wrong",
    "read at the wrong height",
    "tape not level",
    "pulled too tight",
    "lay not flat",
    "wrong point or side",
)
UNIT_WORDS: Final = {"mm": "millimetres", "cm": "centimetres", "in": "inches"}


def context_of(
    sheet: Sheet,
    *,
    asked: Asked,
    person: User,
    after: Step | None = None,
    tape: int | None = None,
    typed: str = "",
    wrong: str = "",
    reason: str = "",
    sent: dict[str, str] | None = None,
) -> dict[str, Any]:  # Any: Django's own shape of a context
    """The context of the bench's page; `typed`, `reason` and `wrong` come back from a refused entry."""
    outcome = outcome_at(sheet, after, asked=asked) if after is not None else None
    lines = walk_lines(sheet, asked)
    question = asked.question
    codes = frozenset(step.point.code for step in sheet.walk)
    return {
        "sheet": sheet,
        "piece": sheet.piece,
        "asked": asked,
        "step": asked.step,
        "side_words": SIDE_WORDS[asked.step.side] if asked.step else "",
        "outcome": outcome,
        # A question or a repeat of the point just read says all that may be said of it now.
        "shows_slip": outcome is not None
        and not (outcome.withheld and asked.kind in (Ask.QUESTION, Ask.AGAIN)),
        "too_close": what_is_close(sheet, asked),
        "settling": what_settles(sheet, asked),
        "helpers": HELPERS,
        "lines": lines,
        "rows": walk_rows(lines),
        "done": len(sheet.done),
        "laid": FAMILIES[sheet.piece.batch.style.family].laid,
        "drawings": drawings_of(sheet, codes, asked),
        "tapes": tapes_for(sheet),
        "tape": tape or (sheet.inspection.instrument_id if sheet.inspection else None),
        "units": [(unit, UNIT_WORDS[unit], sheet.unit == unit) for unit in LengthUnit.values],
        "unit_words": UNIT_WORDS[sheet.unit],
        "states": PieceState.choices,
        "question": question,
        "or_else": question_alone(asked.or_else) if asked.or_else else "",
        "reason": reason,
        "reasons": reasons_for(question),
        "others": other_people(sheet, person),
        "habit": bool(asked.step) and sheet.plan(asked.code).error.person_sd_nm > 0,
        "can_skip": asked.kind is Ask.READ and can_skip(sheet, asked.step),
        "given_up": [step for step in sheet.walk if step.column in sheet.given_up],
        "may_decide": may(person, Deed.DECIDE),
        "still_close": still_close(sheet) if asked.kind is Ask.FINISH else 0,
        "key": uuid.uuid4(),
        "seen": max((reading.pk for reading in sheet.readings), default=0),
        "typed": typed,
        "wrong": wrong,
        "sent": sent or {},
        "address": reverse("bench-piece", args=[sheet.piece.number]),
    }


def question_alone(second: SlipQuestion) -> str:
    """A second guess without what the first has said already: what was typed, and what was expected.

    >>> question_alone(SlipQuestion(question="Typed 340 mm. Are two figures swapped?"))
    'Are two figures swapped?'
    """
    return second.question.partition(". ")[2] or second.question


def reasons_for(question: SlipQuestion | None) -> tuple[str, ...]:
    """The reasons to choose from, what the guard suspected first.

    >>> reasons_for(SlipQuestion(kind="tens"))[:2]
    ('tens misread', 'typed wrong')
    """
    guess = REASONS_BY_SLIP.get(question.kind) if question else None
    return (guess, *REASONS) if guess else REASONS


def what_is_close(sheet: Sheet, asked: Asked) -> str:
    """What is too close to call at the point that is asked for again, in words; empty when nothing is."""
    finding = _close_finding(sheet, asked)
    return CLOSE_WORDS.get(finding.aspect, "This side") if finding else ""


def what_settles(sheet: Sheet, asked: Asked) -> Settling | None:
    """What further readings would do for it, and cost; it gives no figure of the point away."""
    finding = _close_finding(sheet, asked)
    if finding is None:
        return None
    taken = sheet.taken_at(asked.code)
    side = taken.get(finding.aspect.value)
    people = side.people if side else min(each.people for each in taken.values())
    rule = sheet.shop.shelf_rule.as_rule()
    return settling_of(finding, sheet.plan_as_read(asked.code), people=people, rule=rule, shop=sheet.shop)


def _close_finding(sheet: Sheet, asked: Asked) -> Finding | None:
    """The finding that the asked repeat shall settle."""
    step = asked.step
    if asked.kind is not Ask.AGAIN or step is None or step_to_repeat(sheet, step) is None:
        return None
    findings = findings_at(sheet, step.point.code)
    return finding_to_settle(findings, most=sheet.shop.shelf_rule.max_repeats)


def drawings_of(
    sheet: Sheet, codes: frozenset[str], asked: Asked
) -> list[dict[str, Any]]:  # Any: text, markup, truth
    """The style's drawing for each side of the walk, the asked point marked; it leaves out what it lacks."""
    family = sheet.piece.batch.style.family
    drawn = codes & drawing.drawn_codes(family)
    right = asked.step is not None and asked.step.side == "R"
    return [
        {
            "side": side,
            "svg": marked(drawing.render(family, active=None, codes=drawn, mirrored=side == "R"), asked.code),
            "shown": (side == "R") == right,
        }
        for side in ("L", "R")
        if side == "L" or any(step.side == "R" for step in sheet.walk)
    ]


def marked(svg: str, code: str) -> SafeString:
    """The drawing with one point marked by a class, which the page's script can move on."""
    plain, active = f'class="pom" data-point="{code}"', f'class="pom is-active" data-point="{code}"'
    return mark_safe(svg.replace(plain, active))  # noqa: S308 - our own drawing; codes stand in it already


def tapes_for(sheet: Sheet) -> list[Instrument]:
    """The instruments in use, and the one the sitting began with."""
    chosen = sheet.inspection.instrument_id if sheet.inspection else None
    return list(Instrument.objects.filter(Q(retired_on=None) | Q(pk=chosen)))


def other_people(sheet: Sheet, person: User) -> list[str]:
    """Names of other people with readings in this sitting."""
    return sorted({r.taken_by.shown_name for r in sheet.readings if r.taken_by_id != person.pk})


def still_close(sheet: Sheet) -> int:
    """How many points are left too close to call."""
    codes = {step.point.code for step in sheet.walk if not step.point.informational}
    verdicts = [verdict_at(findings_at(sheet, code)) for code in codes if sheet.taken_at(code)]
    return sum(verdict is not None and verdict.value == "close" for verdict in verdicts)
