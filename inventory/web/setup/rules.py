"""Decision rules: what they mean, a new version, which one the shop uses."""

from __future__ import annotations

from typing import TYPE_CHECKING

from django.contrib import messages
from django.shortcuts import redirect, render
from django.utils import timezone

from inventory.access import Deed, may
from inventory.calc.conformity import Limits, can_be_judged, guard_nm
from inventory.models import DecisionRule, Shop
from inventory.services.rules import choose_rule, new_rule_version
from inventory.web.entrance import allowed, attempt, found, typed_in
from inventory.web.setup.forms.rules import RuleForm

if TYPE_CHECKING:
    from django.http import HttpRequest, HttpResponse

_MM = 1_000_000
EXAMPLE = Limits(324 * _MM, 336 * _MM)
"""A half waist of 330 mm with 6 mm either way."""
EXAMPLE_U_NM = 2.0 * _MM
"""The planning spread between two people on a hidden waist; common practice, no source."""


def rules_page(request: HttpRequest) -> HttpResponse:
    """What the three verdicts and the guard bands mean, with the rules in use drawn on an example."""
    allowed(request, Deed.VIEW)
    shop = Shop.objects.current()
    chosen = {shop.shelf_rule_id, shop.claim_rule_id}
    context = {
        "shelf": _explained(shop.shelf_rule),
        "claim": _explained(shop.claim_rule),
        "example": EXAMPLE,
        "nominal_nm": (EXAMPLE.lower_nm + EXAMPLE.upper_nm) // 2,
        "u_nm": round(EXAMPLE_U_NM),
        "others": [rule for rule in DecisionRule.objects.all() if rule.pk not in chosen],
        "may_administer": may(request.user, Deed.ADMINISTER),
    }
    return render(request, "inventory/setup/rules.html", context)


def rule_new(request: HttpRequest) -> HttpResponse:
    """A new version, filled in from the rule of `?from=`; the old one stays as it is."""
    person = allowed(request, Deed.ADMINISTER)
    source = request.GET.get("from", "")
    base = DecisionRule.objects.filter(pk=source).first() if source.isdecimal() else None
    form = RuleForm(typed_in(request), row=base)
    if request.method == "POST" and form.is_valid():
        rule = attempt(form, lambda: new_rule_version(by=person, at=timezone.now(), **form.cleaned_data))
        if rule is not None:
            messages.success(request, f"{rule} is written. It decides nothing until you choose it.")
            return redirect("rule-choose", rule.pk)
    return render(request, "inventory/setup/rule_new.html", {"form": form, "base": base})


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
    return render(request, "inventory/setup/rule_choose.html", {"rule": rule, "now": now})


def _explained(row: DecisionRule) -> dict[str, object]:
    """The rule with its guard band on the example, and whether one reading could pass there."""
    rule = row.as_rule()
    band_nm = guard_nm(EXAMPLE_U_NM, rule)
    return {
        "row": row,
        "guard_nm": band_nm,
        "inside_nm": (EXAMPLE.upper_nm - EXAMPLE.lower_nm) // 2 - band_nm,
        "judgeable": can_be_judged(EXAMPLE, EXAMPLE_U_NM, rule),
    }
