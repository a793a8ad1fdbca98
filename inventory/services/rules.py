"""Decision rules: a rule is never edited, a new version is made; and which rule the shop uses."""

from __future__ import annotations

from decimal import Decimal
from typing import TYPE_CHECKING, Final

from django.db import transaction
from django.db.models import Max

from inventory.access import Deed, require
from inventory.calc.conformity import Rule
from inventory.models import DecisionRule, Shop
from inventory.services.audit import leave_row
from inventory.services.refusals import Refused

if TYPE_CHECKING:
    import datetime as dt

    from inventory.models import User


class RuleCodeHasAnotherPurpose(Refused):
    """A code names one rule through all its versions: a shelf rule does not become a claim rule."""


class RuleNotUsable(Refused):
    """The rule does not do what it is to be used for."""


MOST_REPEATS = 12

Kind = DecisionRule.Kind
_NO_WIDTH: Final = {Kind.RISK: "the risk asks for", Kind.PLAIN: "no guard band has"}
"""Kinds whose width nobody chooses, and what it is."""


@transaction.atomic
def new_rule_version(
    *,
    code: str,
    purpose: str,
    name: str,
    kind: str = Kind.MULTIPLE,
    multiplier: Decimal | None = None,
    risk: Decimal | None = None,
    max_repeats: int,
    at_the_end: str,
    source: str = "",
    by: User,
    at: dt.datetime,
) -> DecisionRule:
    """Write the next version of the rule `code`, or the first of a new one. Verdicts keep theirs.

    The kinds "expanded" and "multiple" take a `multiplier`, the kind "risk" a `risk` (share, above 0
    and below 0.5) that its multiplier follows from.

    Raises `RuleCodeHasAnotherPurpose`, `RuleNotUsable`; `ImpossibleInput` for a rule that contradicts itself;
    `ValidationError` for a value its field does not take.
    """
    require(by, Deed.ADMINISTER)
    newest = DecisionRule.objects.filter(code=code).order_by("-version").first()
    if newest is not None and newest.purpose != purpose:
        raise RuleCodeHasAnotherPurpose(
            f"Rule {code!r} is a {newest.purpose} rule. Choose another code for the {purpose} rule.",
            field="code",
        )
    if not 1 <= max_repeats <= MOST_REPEATS:
        raise RuleNotUsable(
            f"The rule allows {max_repeats} readings of a point. Choose from 1 to {MOST_REPEATS}.",
            field="max_repeats",
        )
    latest = DecisionRule.objects.filter(code=code).aggregate(latest=Max("version"))["latest"] or 0
    rule = DecisionRule(
        code=code,
        version=latest + 1,
        purpose=purpose,
        name=name,
        kind=kind,
        risk=risk,
        multiplier=_width(kind, multiplier=multiplier, risk=risk),
        max_repeats=max_repeats,
        at_the_end=at_the_end,
        source=source,
    )
    rule.full_clean()
    rule.as_rule()  # contradictions are refused where rules are calculated with
    rule.save()
    leave_row(
        who=by,
        deed="new rule version",
        subject=rule,
        at=at,
        code=code,
        kind=kind,
        multiplier=str(rule.multiplier),
        risk=None if risk is None else str(risk),
        max_repeats=max_repeats,
        at_the_end=at_the_end,
    )
    return rule


def _width(kind: str, *, multiplier: Decimal | None, risk: Decimal | None) -> Decimal:
    """The multiple of the uncertainty that goes with the kind; refuses what the kind has no use for."""
    if kind != Kind.RISK and risk is not None:
        raise RuleNotUsable(
            f"A risk of {(100 * risk).normalize():f} % is stated, but only a guard band by a stated risk has "
            "one. Choose that kind, or leave the risk empty.",
            field="risk",
        )
    if kind in _NO_WIDTH:
        asked = _asked_by_risk(risk) if kind == Kind.RISK else Decimal(0)
        if multiplier not in (None, asked):
            raise RuleNotUsable(
                f"The multiple is {multiplier}, but with this kind it is what {_NO_WIDTH[Kind(kind)]}: "
                f"{asked}. Leave the box empty, or choose a kind that takes a multiple.",
                field="multiplier",
            )
        return asked
    if multiplier is None:
        raise RuleNotUsable(
            "The multiple is missing. Give the width of the guard band in standard uncertainties, such as 2.",
            field="multiplier",
        )
    return multiplier


def _asked_by_risk(risk: Decimal | None) -> Decimal:
    if risk is None:
        raise RuleNotUsable(
            "The risk is missing. Give the share of wrong verdicts at a limit, such as 5 %.", field="risk"
        )
    if not 0 < risk < Decimal("0.5"):
        raise RuleNotUsable(
            f"The risk is {(100 * risk).normalize():f} %. Give more than 0 % and less than 50 %.",
            field="risk",
        )
    return Rule.by_risk("asked", 1, "shelf", risk=risk).multiplier


@transaction.atomic
def choose_rule(*, rule: DecisionRule, by: User, at: dt.datetime) -> Shop:
    """Judge by this rule from now on, for the purpose it was made for. Verdicts given before stay."""
    require(by, Deed.ADMINISTER)
    shop = Shop.objects.current()
    place = "claim_rule" if rule.purpose == DecisionRule.Purpose.CLAIM else "shelf_rule"
    before = getattr(shop, place)
    if before.pk != rule.pk:
        setattr(shop, place, rule)
        shop.save(update_fields=[place])
        leave_row(who=by, deed=f"choose {rule.purpose} rule", subject=rule, at=at, before=str(before))
    return shop
