import pytest
from django.urls import reverse

from inventory.models import DecisionRule, Shop
from inventory.models.people import Role
from tests.factories import the_shop
from tests.inventory.web.setup.cast import client_of, said

pytestmark = pytest.mark.django_db
BOXES = {
    "name": "Shelf, stricter",
    "code": "shelf-guarded",
    "purpose": "shelf",
    "multiplier": "1.96",
    "max_repeats": "4",
    "at_the_end": "plain",
    "source": "agreed in May",
}


def test_the_page_explains_the_three_verdicts_and_both_rules() -> None:
    page = said(client_of(Role.VIEWER).get(reverse("rules")))
    for words in ("in tolerance", "too close to call", "out of tolerance", "Shelf rule", "Claim rule"):
        assert words in page
    # 3.29 and 2.71 to the tenth of the shop: a band rounded up, what passes at once rounded down.
    assert "1.645 × uncertainty; here 3.3 mm" in page
    assert "2 × uncertainty; here 4.0 mm" in page
    assert "within 2.7 mm of the nominal" in page


def test_an_inch_shop_is_explained_the_rules_in_inches() -> None:
    Shop.objects.update(display_unit="in", fraction_denominator=8)
    page = said(client_of().get(reverse("rules")))
    assert "a half waist of 13 in with limits from 12 3/4 in to 13 1/4 in" in page
    assert "an uncertainty of 0.08 in" in page
    assert "1.645 × uncertainty; here 0.14 in" in page
    assert "within 3/32 in of the nominal" in page
    assert " mm" not in page


def test_a_new_version_is_filled_in_from_the_old_and_decides_once_chosen() -> None:
    client = client_of()
    page = said(client.get(reverse("rule-new"), {"from": the_shop().shelf_rule.pk}))
    assert 'value="1.645"' in page
    answer = client.post(reverse("rule-new"), BOXES)
    rule = DecisionRule.objects.get(code="shelf-guarded", version=2)
    assert answer["Location"] == reverse("rule-choose", args=[rule.pk])
    assert the_shop().shelf_rule.version == 1
    assert "Judge by this rule from now on?" in said(client.get(answer["Location"]))
    client.post(answer["Location"])
    assert the_shop().shelf_rule == rule


def test_a_rule_that_contradicts_itself_is_refused_in_the_form() -> None:
    boxes = BOXES | {"code": "claim-quick", "purpose": "claim"}
    page = said(client_of().post(reverse("rule-new"), boxes))
    assert "what is not proved is not claimed" in page
    assert 'value="1.96"' in page


@pytest.mark.parametrize(
    ("box", "typed"), [("multiplier", "-1"), ("multiplier", "much"), ("max_repeats", "0")]
)
def test_a_wrong_box_is_told(box: str, typed: str) -> None:
    assert "needs another look" in said(client_of().post(reverse("rule-new"), BOXES | {box: typed}))
    assert not DecisionRule.objects.filter(version=2).exists()
