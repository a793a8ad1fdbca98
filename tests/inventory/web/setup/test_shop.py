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
