import pytest
from hypothesis import given
from hypothesis import strategies as st

from inventory.calc.length import MAX_NM, Unit, parse
from inventory.templatetags.figures import figure, figure_with_unit, signed_figure, typed

MM = 1_000_000


@pytest.mark.parametrize(
    ("nm", "unit", "shown"),
    [
        (342_900_000, "in", "13 1/2"),
        (343 * MM, "mm", "343"),
        (343 * MM, "in", "343 mm"),
        (343 * MM, "cm", "34.3"),
        (0, "mm", "0"),
        (None, "mm", "–"),
        ("", "mm", "–"),
    ],
)
def test_a_figure_is_exact_and_names_only_another_unit(nm: int | None, unit: str, shown: str) -> None:
    assert figure(nm, unit) == shown


def test_the_unit_is_named_where_asked_for() -> None:
    assert figure_with_unit(6_350_000, "in") == "1/4 in"
    assert figure_with_unit(None, "in") == "–"


@pytest.mark.parametrize(("nm", "shown"), [(3 * MM, "+3"), (-3 * MM, "−3"), (0, "0"), (None, "–")])
def test_a_change_carries_its_sign(nm: int | None, shown: str) -> None:
    assert signed_figure(nm, "mm") == shown


@given(nm=st.integers(min_value=0, max_value=MAX_NM), unit=st.sampled_from(Unit))
def test_what_a_box_shows_is_read_back_as_the_same_length(nm: int, unit: Unit) -> None:
    assert parse(typed(nm, unit.value), unit=unit).nm == nm
