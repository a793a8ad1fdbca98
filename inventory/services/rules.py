"""Decision rules: a rule is never edited, a new version is made; and which rule the shop uses."""

from __future__ import annotations

from typing import TYPE_CHECKING

from django.db import transaction
from django.db.models import Max

from inventory.access import Deed, require
from inventory.models import DecisionRule, Shop
from inventory.services.audit import leave_row
from inventory.services.refusals import Refused

if TYPE_CHECKING:
    import datetime as dt
    from decimal import Decimal

    from inventory.models import User


class RuleCodeHasAnotherPurpose(Refused):
    """A code names one rule through all its versions: a shelf rule does not become a claim rule."""


class RuleNotUsable(Refused):
    """The rule does not do what it is to be used for."""


MOST_REPEATS = 12


@transaction.atomic
def new_rule_version(
    *,
    code: str,
    purpose: str,
    name: str,
    multiplier: Decimal,
    max_repeats: int,
    at_the_end: str,
    source: str = "",
    by: User,
    at: dt.datetime,
) -> DecisionRule:
    """Write the next version of the rule `code`, or the first of a new one. Verdicts keep theirs.

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
        multiplier=multiplier,
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
        multiplier=str(multiplier),
        max_repeats=max_repeats,
        at_the_end=at_the_end,
    )
    return rule


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
