import pytest
from django.urls import reverse

from tests.factories import the_shop
from tests.inventory.web.setup.cast import client_of, said

pytestmark = pytest.mark.django_db
BOXES = {
    "name": "The bench",
    "display_unit": "in",
    "fraction_denominator": "16",
    "blind_entry": "on",
    "paper": "Letter",
    "notice_days": "4",
    "full_claim_days": "9",
    "closed_days": "2026-12-25 holiday",
    "measure_all_up_to": "50",
    "minutes_per_reading": "0.5",
    "cost_per_hour": "",
    "cost_of_wrong_in": "",
    "cost_of_wrong_out": "",
}


def test_the_settings_are_saved_and_shown() -> None:
    page = said(client_of().post(reverse("settings"), BOXES, follow=True))
    assert "The settings are saved." in page
    assert "inches, rounded to 1/16 where no tape has the mark" in page
    assert "2026-12-25 holiday" in page
    assert (the_shop().paper, the_shop().notice_days) == ("Letter", 4)


def test_fractions_of_millimetres_are_refused_at_their_box() -> None:
    page = said(client_of().post(reverse("settings"), BOXES | {"display_unit": "mm"}))
    assert "Show lengths in inches, or as decimals" in page
    assert the_shop().name != "The bench"


def test_no_fraction_means_decimals() -> None:
    client_of().post(reverse("settings"), BOXES | {"fraction_denominator": ""})
    assert the_shop().fraction_denominator is None


def test_a_closed_day_that_is_no_day_is_refused_at_its_box_and_stays_typed() -> None:
    page = said(client_of().post(reverse("settings"), BOXES | {"closed_days": "25 December"}))
    assert "&quot;25 December&quot; is no closed day. Write" in page
    assert "25 December</textarea>" in page
    assert the_shop().closed_days == ""


def test_what_measuring_costs_is_kept_and_may_be_left_out() -> None:
    client_of().post(reverse("settings"), BOXES | {"minutes_per_reading": "0.75", "cost_per_hour": "24.50"})
    shop = the_shop()
    assert (str(shop.minutes_per_reading), str(shop.cost_per_hour)) == ("0.75", "24.50")
    assert shop.cost_of_wrong_in is None


def test_a_cost_below_zero_is_refused_at_its_box() -> None:
    page = said(client_of().post(reverse("settings"), BOXES | {"cost_of_wrong_in": "-5"}))
    assert "Selling a piece that is out costs -5. Give 0 or more" in page
    assert the_shop().name != "The bench"
