"""Which size a piece is: by example, and what must always hold."""

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inventory.calc.errors import ImpossibleInput
from inventory.calc.plan import PointPlan
from inventory.calc.sizing import SizeAnswer, fit_sizes
from tests.calc.plans import MM, half, length


def size(waist_mm: int, front_mm: int = 320, **changes: object) -> dict[str, PointPlan]:
    """A laced waist in one size: half waist ±6 mm, front length ±5 mm."""
    waist = replace(half(nominal_nm=waist_mm * MM), **changes)  # type: ignore[arg-type]  # any field
    return {"WA": waist, "CF": length(nominal_nm=front_mm * MM)}


CHART = {"26": size(330), "28": size(355), "30": size(380)}


def taken(left_mm: float, right_mm: float, front_mm: float = 320) -> dict[tuple[str, str], int]:
    means_mm = {("WA", "L"): left_mm, ("WA", "R"): right_mm, ("CF", "S"): front_mm}
    return {cell: round(mm * MM) for cell, mm in means_mm.items()}


def test_a_piece_of_its_own_size_is_not_suspected() -> None:
    assert fit_sizes(taken(331, 328), CHART, labelled="26") == SizeAnswer(
        labelled_fits=True, suspected=False, size="26", margin_nm=4 * MM, tightest=("WA", "R"), compared=3
    )


def test_a_piece_that_fits_a_neighbour_at_every_point_is_suspected() -> None:
    assert fit_sizes(taken(353, 357.5), CHART, labelled="26") == SizeAnswer(
        labelled_fits=False,
        suspected=True,
        size="28",
        margin_nm=3_500_000,
        tightest=("WA", "R"),
        compared=3,
    )


def test_a_reading_exactly_on_the_limit_fits() -> None:
    answer = fit_sizes(taken(324, 336), CHART, labelled="26")
    assert (answer.labelled_fits, answer.margin_nm) == (True, 0)
    assert not fit_sizes(taken(324, 336.000001), CHART, labelled="26").labelled_fits


def test_one_point_that_fits_nowhere_means_no_size() -> None:
    assert fit_sizes(taken(355, 355, 340), CHART, labelled="26") == SizeAnswer(
        labelled_fits=False, suspected=False, size=None, margin_nm=None, tightest=None, compared=3
    )


def test_of_two_sizes_that_fit_the_roomier_one_is_named_and_of_equals_the_first() -> None:
    wide = {
        label: size(mm, minus_nm=20 * MM, plus_nm=20 * MM)
        for label, mm in (("S", 300), ("M", 340), ("L", 350))
    }
    assert fit_sizes({("WA", "L"): 347 * MM}, wide, labelled="S").size == "L"
    assert fit_sizes({("WA", "L"): 343 * MM}, wide, labelled="S").size == "M"
    assert fit_sizes({("WA", "L"): 345 * MM}, wide, labelled="S").size == "M"


def test_the_labelled_size_is_kept_even_when_another_would_have_more_room() -> None:
    wide = {"S": size(330, minus_nm=20 * MM, plus_nm=20 * MM), "M": size(348)}
    answer = fit_sizes(taken(349, 349), wide, labelled="S")
    assert (answer.labelled_fits, answer.suspected, answer.size) == (True, False, "S")


def test_a_tolerance_for_the_full_girth_is_compared_on_the_full_girth() -> None:
    chart = {"26": size(330, basis="full"), "28": size(355, basis="full")}
    answer = fit_sizes(taken(350, 361), chart, labelled="26")
    assert (answer.size, answer.margin_nm, answer.tightest) == ("28", 5 * MM, ("WA", "F"))
    one_half = fit_sizes({("WA", "L"): 356 * MM}, chart, labelled="26")
    assert (one_half.size, one_half.margin_nm, one_half.compared) == ("28", 4 * MM, 1)


def test_a_size_without_a_point_that_was_read_cannot_be_named() -> None:
    chart = {"26": size(330), "28": {"WA": half(nominal_nm=355 * MM)}}
    assert fit_sizes(taken(355, 355), chart, labelled="26").size is None
    only_waist = {cell: mean for cell, mean in taken(355, 355).items() if cell[0] == "WA"}
    assert fit_sizes(only_waist, chart, labelled="26").size == "28"


def test_points_the_labelled_size_does_not_have_are_left_out() -> None:
    answer = fit_sizes({**taken(330, 330), ("XX", "S"): 1}, CHART, labelled="26")
    assert (answer.labelled_fits, answer.compared) == (True, 3)


def test_an_unknown_label_is_refused_with_the_known_ones() -> None:
    with pytest.raises(ImpossibleInput, match=r'Size on the label is "27"\. Use one of 26, 28, 30'):
        fit_sizes(taken(330, 330), CHART, labelled="27")


def test_a_piece_with_nothing_to_compare_is_refused() -> None:
    with pytest.raises(ImpossibleInput, match="Read at least one point of size 26 first"):
        fit_sizes({("XX", "S"): 1}, CHART, labelled="26")


offs = st.integers(-70 * MM, 70 * MM)


@given(left=offs, right=offs, front=st.integers(-8 * MM, 8 * MM), labelled=st.sampled_from(sorted(CHART)))
def test_a_named_size_fits_every_reading_and_by_the_margin_given(
    left: int, right: int, front: int, labelled: str
) -> None:
    means = {("WA", "L"): 355 * MM + left, ("WA", "R"): 355 * MM + right, ("CF", "S"): 320 * MM + front}

    def room(label: str) -> int:
        return min(
            min(mean - plan.limits.lower_nm, plan.limits.upper_nm - mean)
            for (code, _), mean in means.items()
            for plan in [CHART[label][code]]
        )

    answer = fit_sizes(means, CHART, labelled=labelled)
    assert answer.labelled_fits == (room(labelled) >= 0)
    fitting = [label for label in CHART if room(label) >= 0]
    if answer.size is None:
        assert not fitting
    else:
        assert answer.size in fitting
        assert answer.margin_nm == room(answer.size)
        if answer.suspected:
            assert answer.margin_nm == max(room(label) for label in fitting)
