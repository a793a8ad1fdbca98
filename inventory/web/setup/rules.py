"""Decision rules: what they mean, a new version, which one the shop uses."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from django.contrib import messages
from django.shortcuts import redirect, render
from django.utils import timezone

from inventory.access import Deed, may
from inventory.calc.conformity import Limits, can_be_judged, guard_nm
from inventory.calc.length import NM_PER_MM, Unit, nm_per_unit
from inventory.models import DecisionRule, Shop
from inventory.queries.rule_risks import risk_of_rule
from inventory.services.rules import choose_rule, new_rule_version
from inventory.web.entrance import allowed, attempt, found, typed_in
from inventory.web.setup.forms.rules import RuleForm

if TYPE_CHECKING:
    from django.http import HttpRequest, HttpResponse

_INCH = nm_per_unit()[Unit.INCH]


@dataclass(frozen=True, slots=True)
class Example:
    """A half waist and the planning spread between two people on it (nm)."""

    limits: Limits
    u_nm: int


METRIC = Example(Limits(324 * NM_PER_MM, 336 * NM_PER_MM), 2 * NM_PER_MM)
"""330 mm with 6 mm either way; the spread is common practice, no source."""
IN_INCHES = Example(Limits(51 * _INCH // 4, 53 * _INCH // 4), 2 * _INCH // 25)
"""13 in with 1/4 in either way, and 0.08 in."""


def rules_page(request: HttpRequest) -> HttpResponse:
    """What the three verdicts and the guard bands mean, with the rules in use drawn on an example."""
    allowed(request, Deed.VIEW)
    shop = Shop.objects.current()
    example = IN_INCHES if shop.as_display().unit == Unit.INCH else METRIC
    chosen = {shop.shelf_rule_id, shop.claim_rule_id}
    context = {
        "shelf": _explained(shop.shelf_rule, example),
        "claim": _explained(shop.claim_rule, example),
        "example": example.limits,
        "nominal_nm": (example.limits.lower_nm + example.limits.upper_nm) // 2,
        "u_nm": example.u_nm,
        "others": [
            {"row": rule, "words": rule.as_rule().in_words, "risk": risk_of_rule(rule)}
            for rule in DecisionRule.objects.all()
            if rule.pk not in chosen
        ],
        "may_administer": may(request.user, Deed.ADMINISTER),
    }
    return render(request, "inventory/setup/rules.html", context)


def rule_new(request: HttpRequest) -> HttpResponse:
    """A new version, filled in from the rule of `?from=`; the old one stays as it is.

    With `?keep=1` the multiple that keeps the risk of one look over all looks is filled in.
    """
    person = allowed(request, Deed.ADMINISTER)
    source = request.GET.get("from", "")
    base = DecisionRule.objects.filter(pk=source).first() if source.isdecimal() else None
    risk = None if base is None else risk_of_rule(base)
    form = RuleForm(typed_in(request), row=base, keep=risk if "keep" in request.GET else None)
    if request.method == "POST" and form.is_valid():
        rule = attempt(form, lambda: new_rule_version(by=person, at=timezone.now(), **form.cleaned_data))
        if rule is not None:
            messages.success(request, f"{rule} is written. It decides nothing until you choose it.")
            return redirect("rule-choose", rule.pk)
    context = {"form": form, "base": base, "risk": risk, "kept": "keep" in request.GET}
    return render(request, "inventory/setup/rule_new.html", context)


def rule_choose(request: HttpRequest, pk: int) -> HttpResponse:
    """Ask first, then judge by this rule from now on."""
    person = allowed(request, Deed.ADMINISTER)
    rule = found(DecisionRule.objects.filter(pk=pk).first(), "decision rule")
    if request.method == "POST":
        choose_rule(rule=rule, by=person, at=timezone.now())
        messages.success(request, f"{rule} decides from now on. Verdicts given before stay.")
        return redirect("rules")
    shop = Shop.objects.current()
    now = shop.claim_rule if rule.purpose == DecisionRule.Purpose.CLAIM else shop.shelf_rule
    context = {
        "rule": rule,
        "now": now,
        "words": rule.as_rule().in_words,
        "now_words": now.as_rule().in_words,
    }
    return render(request, "inventory/setup/rule_choose.html", context)


def _explained(row: DecisionRule, example: Example) -> dict[str, object]:
    """The rule with its guard band on the example, and whether one reading could pass there."""
    rule = row.as_rule()
    band_nm = guard_nm(example.u_nm, rule)
    return {
        "row": row,
        "words": rule.in_words,
        "risk": risk_of_rule(row),
        "guard_nm": band_nm,
        "inside_nm": (example.limits.upper_nm - example.limits.lower_nm) // 2 - band_nm,
        "judgeable": can_be_judged(example.limits, example.u_nm, rule),
    }
