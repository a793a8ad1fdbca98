"""Lengths on a page: the shop's own display, a dash for nothing, and Django's `length` left alone."""

from __future__ import annotations

from django.template import Context, engines
from django.utils.functional import SimpleLazyObject

from inventory.calc.length import Display, Unit

EIGHTHS = Display(Unit.INCH, 8)


def render(source: str, **context: object) -> str:
    template = engines["django"].from_string("{% load lengths %}" + source)
    return str(template.template.render(Context(context)))  # type: ignore[attr-defined]  # Django's own backend


def test_a_length_is_shown_in_the_display_of_the_shop() -> None:
    assert render("{% length nm %}", nm=342_900_000, display=EIGHTHS) == "13 1/2 in"
    assert render("{% length nm %}", nm=342_900_000, display=Display(Unit.CM)) == "34.29 cm"


def test_a_length_without_a_shop_is_shown_in_millimetres() -> None:
    assert render("{% length nm %}", nm=342_900_000) == "342.9 mm"


def test_the_unit_can_be_left_to_the_head_of_the_column() -> None:
    assert render("{% length nm unit=False %}", nm=343_000_000) == "343"
    assert render("{% deviation nm unit=False %}", nm=6_000_000) == "+6.0"


def test_a_deviation_carries_its_sign_and_zero_has_none() -> None:
    assert render("{% deviation nm %}", nm=-6_000_000) == "−6.0 mm"
    assert render("{% deviation nm %}", nm=6_000_000) == "+6.0 mm"
    assert render("{% deviation nm %}", nm=0) == "0.0 mm"


def test_nothing_and_an_unknown_name_are_a_dash_but_zero_is_a_length() -> None:
    assert render("{% length nm %}", nm=None) == "–"
    assert render("{% length nowhere %}") == "–"
    assert render("{% length nm %}", nm=0) == "0 mm"


def test_an_uncertainty_of_an_inch_shop_is_decimals_and_never_none() -> None:
    assert render("{% uncertainty nm %}", nm=1_400_000, display=EIGHTHS) == "0.06 in"
    assert render("{% uncertainty nm unit=False %}", nm=1_400_000, display=EIGHTHS) == "0.06"
    assert render("{{ nm|shown_uncertainty:display }}", nm=1_400_000, display=EIGHTHS) == "0.06 in"
    assert render("{% uncertainty nm %}", nm=3_290_000) == "3.3 mm"
    assert render("{% uncertainty nowhere %}{% uncertainty nm %}", nm=None) == "––"


def test_the_filters_say_the_same_as_the_tags() -> None:
    source = "{{ nm|shown:display }} {% length nm %} {{ nm|shown_deviation:display }} {% deviation nm %}"
    shown, tag, shown_deviation, deviation_tag = render(source, nm=5_000_000, display=Display(Unit.MM)).split(
        " mm"
    )[:4]
    assert shown.strip() == tag.strip() == "5"
    assert shown_deviation.strip() == deviation_tag.strip() == "+5.0"


def test_a_display_that_is_fetched_late_counts_as_one() -> None:
    late = SimpleLazyObject(lambda: EIGHTHS)
    assert render("{% length nm %}", nm=342_900_000, display=late) == "13 1/2 in"


def test_counting_with_django_s_own_length_still_works() -> None:
    assert render("{{ pieces|length }}", pieces=["P000001", "P000002"]) == "2"
