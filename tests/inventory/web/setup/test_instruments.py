import pytest
from django.urls import reverse

from inventory.models import Instrument, Shop
from tests.factories import make_instrument
from tests.inventory.web.setup.cast import client_of, said

pytestmark = pytest.mark.django_db
BOXES = {"number": "T7", "kind": "tape", "description": "white", "division_nm": "1/16 in", "in_use_since": ""}


def test_an_instrument_is_numbered_with_its_division_in_any_unit() -> None:
    client_of().post(reverse("instrument-new"), BOXES)
    assert Instrument.objects.get().division_nm == 1_587_500


def test_the_division_of_an_inch_shop_needs_no_unit_and_is_shown_as_on_the_tape() -> None:
    Shop.objects.update(display_unit="in", fraction_denominator=8)
    client = client_of()
    assert 'value="1/16 in"' in said(client.get(reverse("instrument-new")))
    client.post(reverse("instrument-new"), BOXES | {"division_nm": "1/16"})
    assert Instrument.objects.get().division_nm == 1_587_500
    page = said(client.get(reverse("instruments")))
    assert "1/16 in" in page
    assert "1.5875" not in page


def test_a_fraction_without_a_unit_is_refused_in_a_metric_shop_without_speaking_of_inspections() -> None:
    page = said(client_of().post(reverse("instrument-new"), BOXES | {"division_nm": "1/16"}))
    assert "1/16 in if it was read in inches" in page
    assert "inspection" not in page.lower().split("smallest division")[-1][:400]
    assert not Instrument.objects.exists()


def test_a_taken_number_is_told_at_its_box() -> None:
    make_instrument(number="T7")
    assert "is on Tape T7 already" in said(client_of().post(reverse("instrument-new"), BOXES))


def test_an_instrument_is_corrected() -> None:
    instrument = make_instrument(number="T7")
    client_of().post(reverse("instrument-edit", args=[instrument.pk]), BOXES | {"description": "yellow"})
    instrument.refresh_from_db()
    assert instrument.description == "yellow"


def test_retiring_asks_for_the_day_and_can_be_taken_back() -> None:
    instrument, client = make_instrument(), client_of()
    address = reverse("instrument-retire", args=[instrument.pk])
    assert "Take it out of use?" in said(client.get(address))
    client.post(address, {"on": "2026-05-01"})
    instrument.refresh_from_db()
    assert str(instrument.retired_on) == "2026-05-01"
    assert "out of use since 1 May 2026" in said(client.get(reverse("instruments")))
    client.post(reverse("instrument-bring-back", args=[instrument.pk]))
    instrument.refresh_from_db()
    assert instrument.retired_on is None


def test_an_empty_list_says_what_to_do_next() -> None:
    assert "No instrument yet" in said(client_of().get(reverse("instruments")))
