"""Plans: the limits they state, per half and for the full girth, and what they refuse."""

from dataclasses import replace

import pytest

from inventory.calc.conformity import Limits
from inventory.calc.errors import ImpossibleInput
from inventory.calc.plan import columns_of
from inventory.calc.symmetry import PairLimit
from tests.calc.plans import MM, half, length


def test_a_tolerance_stated_per_half_is_doubled_for_the_full_girth() -> None:
    waist = half(tolerance_nm=6 * MM)
    assert waist.limits == Limits(324 * MM, 336 * MM)
    assert waist.full_nominal_nm == 660 * MM
    assert waist.full_limits == Limits(648 * MM, 672 * MM)
    assert waist.full_decides
    assert not waist.judged_as_full


def test_a_tolerance_stated_for_the_full_girth_is_halved_for_the_half() -> None:
    waist = replace(half(basis="full"), minus_nm=10 * MM + 1, plus_nm=12 * MM)
    assert waist.full_limits == Limits(650 * MM - 1, 672 * MM)
    assert waist.limits == Limits(325 * MM, 336 * MM)
    assert waist.judged_as_full


def test_the_basis_of_a_length_changes_nothing() -> None:
    front = length()
    assert replace(front, basis="full").limits == replace(front, basis="half").limits
    assert not replace(front, basis="full").judged_as_full
    assert not front.full_decides


def test_a_single_half_decides_by_itself_unless_its_tolerance_is_for_the_full_girth() -> None:
    assert not half(paired=False).full_decides
    assert half(paired=False, basis="full").full_decides


def test_an_unread_half_is_taken_to_be_within_the_left_right_limit_or_its_own_tolerance() -> None:
    assert half(pair_limit=PairLimit(4 * MM)).unseen_pair_limit_nm == 4 * MM
    assert replace(half(), minus_nm=3 * MM, plus_nm=7 * MM).unseen_pair_limit_nm == 7 * MM


def test_columns_run_through_the_plans_in_order() -> None:
    assert columns_of([half(), length()]) == (("WA", "L"), ("WA", "R"), ("CF", "S"))
    assert columns_of([]) == ()


def test_a_point_planned_twice_is_refused_by_name() -> None:
    with pytest.raises(ImpossibleInput, match="a list with point WA in it twice"):
        columns_of([half(), length(), half()])


def test_a_nominal_of_nothing_is_refused() -> None:
    with pytest.raises(ImpossibleInput, match="Nominal of CF is 0 mm"):
        length(nominal_nm=0)


def test_a_signed_tolerance_is_refused_with_its_values() -> None:
    with pytest.raises(ImpossibleInput, match=r"Tolerance of CF is −6 mm and 5 mm\. Give both"):
        length(minus_nm=-6 * MM)


def test_a_left_right_limit_on_a_single_point_is_refused() -> None:
    with pytest.raises(ImpossibleInput, match="Left-right limit of CF"):
        length(pair_limit=PairLimit(MM))
