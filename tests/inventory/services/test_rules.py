from decimal import Decimal

import pytest

from inventory.access import NotAllowed
from inventory.calc.errors import ImpossibleInput
from inventory.models import AuditRow, DecisionRule, User
from inventory.models.people import Role
from inventory.services.rules import (
    RuleCodeHasAnotherPurpose,
    RuleNotUsable,
    choose_rule,
    new_rule_version,
)
from tests.factories import NOW, make_user, the_shop

pytestmark = pytest.mark.django_db


def _new(by: User, **changed: object) -> DecisionRule:
    values: dict[str, object] = {
        "code": "shelf-guarded",
        "purpose": "shelf",
        "name": "Shelf, guarded",
        "kind": "multiple",
        "multiplier": Decimal("1.96"),
        "max_repeats": 4,
        "at_the_end": "plain",
    }
    return new_rule_version(**values | changed, by=by, at=NOW)  # type: ignore[arg-type]  # a test's own mix


def test_a_changed_rule_is_a_new_version_and_the_old_one_stays() -> None:
    rule = _new(make_user(Role.OWNER))
    assert rule.version == 2
    assert DecisionRule.objects.get(code="shelf-guarded", version=1).multiplier == Decimal("1.645")
    assert AuditRow.objects.get(deed="new rule version").detail["multiplier"] == "1.96"


def test_a_new_version_is_not_used_until_it_is_chosen() -> None:
    owner = make_user(Role.OWNER)
    rule = _new(owner)
    assert the_shop().shelf_rule.version == 1
    choose_rule(rule=rule, by=owner, at=NOW)
    assert the_shop().shelf_rule == rule
    assert the_shop().claim_rule.code == "claim-proved"


def test_choosing_the_rule_in_use_leaves_no_audit_row() -> None:
    choose_rule(rule=the_shop().shelf_rule, by=make_user(Role.OWNER), at=NOW)
    assert not AuditRow.objects.exists()


def test_a_shelf_rule_does_not_become_a_claim_rule() -> None:
    with pytest.raises(RuleCodeHasAnotherPurpose, match="Choose another code for the claim rule"):
        _new(make_user(Role.OWNER), purpose="claim", at_the_end="stays_close")


def test_a_claim_rule_cannot_end_in_a_plain_comparison() -> None:
    with pytest.raises(ImpossibleInput, match="what is not proved is not claimed"):
        _new(make_user(Role.OWNER), code="claim-quick", purpose="claim", at_the_end="plain")
    assert not DecisionRule.objects.filter(code="claim-quick").exists()


@pytest.mark.parametrize("max_repeats", [0, 13])
def test_a_rule_without_or_with_endless_repeats_is_refused(max_repeats: int) -> None:
    with pytest.raises(RuleNotUsable, match="Choose from 1 to 12"):
        _new(make_user(Role.OWNER), max_repeats=max_repeats)


def test_an_inspector_makes_and_chooses_no_rules() -> None:
    inspector = make_user(Role.INSPECTOR)
    with pytest.raises(NotAllowed):
        _new(inspector)
    with pytest.raises(NotAllowed):
        choose_rule(rule=the_shop().claim_rule, by=inspector, at=NOW)


@pytest.mark.parametrize(
    ("kind", "multiplier", "risk", "fault"),
    [
        ("risk", None, None, "The risk is missing"),
        ("risk", None, Decimal("0.5"), "The risk is 50 %. Give more than 0 % and less than 50 %"),
        ("risk", Decimal(2), Decimal("0.05"), "it is what the risk asks for: 1.645"),
        ("plain", Decimal(2), None, "it is what no guard band has: 0"),
        ("expanded", None, None, "The multiple is missing"),
        ("expanded", Decimal(2), Decimal("0.05"), "A risk of 5 % is stated, but only a guard band by"),
    ],
)
def test_a_rule_whose_width_contradicts_its_kind_is_refused(
    kind: str, multiplier: Decimal | None, risk: Decimal | None, fault: str
) -> None:
    with pytest.raises(RuleNotUsable, match=fault):
        _new(make_user(Role.OWNER), kind=kind, multiplier=multiplier, risk=risk)
    assert not DecisionRule.objects.filter(version=2).exists()


@pytest.mark.parametrize(
    ("kind", "multiplier", "risk", "width"),
    [
        ("plain", None, None, "0"),
        ("risk", None, "0.05", "1.645"),
        ("risk", Decimal("1.645"), "0.05", "1.645"),
        ("expanded", Decimal(2), None, "2"),
        ("multiple", Decimal(3), None, "3"),
    ],
)
def test_every_kind_of_guard_band_is_kept_with_its_width(
    kind: str, multiplier: Decimal | None, risk: str | None, width: str
) -> None:
    _new(
        make_user(Role.OWNER),
        kind=kind,
        multiplier=multiplier,
        risk=None if risk is None else Decimal(risk),
    )
    rule = DecisionRule.objects.get(code="shelf-guarded", version=2)
    assert (rule.kind, rule.multiplier) == (kind, Decimal(width))
    assert rule.risk == (None if risk is None else Decimal(risk))


def test_the_first_rules_are_five_percent_and_twice_the_uncertainty() -> None:
    shop = the_shop()
    assert (shop.shelf_rule.kind, shop.shelf_rule.risk) == ("risk", Decimal("0.05"))
    assert (shop.claim_rule.kind, shop.claim_rule.multiplier) == ("expanded", Decimal(2))
