"""The point catalogue is complete, consistent, and fits the database that copies it."""

import dataclasses
import itertools

import pytest
from django.db.models import Field

from inventory import catalogue
from inventory.catalogue import CataloguePoint, points
from inventory.models import CataloguePoint as Row
from inventory.models import Style
from inventory.models.points import Basis, Kind

NINE_WORDS = ("name", "from", "to", "path", "level", "state", "face", "kind", "side")

every_point = pytest.mark.parametrize(
    "point", catalogue.POINTS, ids=lambda point: f"{point.group}-{point.code}"
)
every_family = pytest.mark.parametrize("family", catalogue.FAMILIES)


@every_point
def test_each_point_has_its_nine_words(point: CataloguePoint) -> None:
    words = point.nine_words()
    assert tuple(words) == NINE_WORDS
    assert all(word.strip() for word in words.values())


@every_point
def test_each_point_warns_of_its_pitfalls_and_says_where_its_figures_come_from(point: CataloguePoint) -> None:
    assert len(point.pitfalls) > 20
    assert point.pitfalls.endswith(".")
    assert point.source in {"common practice, no source", "general trade table"}


@every_point
def test_each_tolerance_is_a_positive_whole_number_of_nanometres(point: CataloguePoint) -> None:
    for figure_nm in (point.tolerance_minus_nm, point.tolerance_plus_nm):
        assert isinstance(figure_nm, int)
        assert figure_nm > 0


@every_point
def test_two_people_never_agree_better_than_one_person_with_themselves(point: CataloguePoint) -> None:
    assert 0 < point.same_person_sd_nm <= point.two_people_sd_nm


@every_point
def test_a_left_right_limit_goes_with_a_pair_and_only_with_a_pair(point: CataloguePoint) -> None:
    assert (point.asymmetry_limit_nm is not None) == point.paired
    assert point.sides == (("L", "R") if point.paired else ("S",))
    if point.asymmetry_limit_nm is not None:
        assert point.asymmetry_limit_nm > 0


@every_point
def test_each_point_belongs_to_families_of_its_own_group(point: CataloguePoint) -> None:
    assert point.families
    assert {catalogue.FAMILIES[family].group for family in point.families} == {point.group}
    assert set(point.core_in) <= set(point.families)


@every_point
def test_the_words_of_each_point_fit_the_columns_they_are_copied_to(point: CataloguePoint) -> None:
    columns = {"from": "measured_from", "to": "measured_to"}
    for word, text in {**point.nine_words(), "code": point.code, "source": point.source}.items():
        if word == "side":
            continue  # stored as a code
        column = Row._meta.get_field(columns.get(word, word))
        assert isinstance(column, Field)
        limit = column.max_length or 0
        assert len(text) <= limit, f"{word} of {point.code} has {len(text)} characters, room for {limit}"


def test_a_code_stands_for_one_point_in_its_group_and_so_does_a_position() -> None:
    for group in ("laced", "general"):
        codes = [point.code for point in catalogue.POINTS if point.group == group]
        positions = [point.position for point in catalogue.POINTS if point.group == group]
        assert len(set(codes)) == len(codes)
        assert len(set(positions)) == len(positions)


@every_family
def test_each_family_starts_a_style_with_eight_to_ten_points(family: str) -> None:
    assert 8 <= len(catalogue.core_points(family)) <= 10


def test_a_laced_style_starts_with_the_points_every_maker_is_asked_for() -> None:
    shared = ["UB", "WA", "HH", "LE", "CF", "PS", "SS", "CB"]
    assert [point.code for point in catalogue.core_points("laced_underbust")] == shared
    assert [point.code for point in catalogue.core_points("laced_overbust")] == ["FB", *shared]


@every_family
def test_the_tape_walks_girths_first_then_lengths_in_the_order_of_position(family: str) -> None:
    walk = catalogue.points_of(family)
    assert all(first.position < second.position for first, second in itertools.pairwise(walk))
    kinds = [point.kind for point in walk]
    last_half = max(place for place, kind in enumerate(kinds) if kind == "half")
    assert "placement" not in kinds[:last_half]


def test_the_same_letters_mean_another_point_on_another_kind_of_garment() -> None:
    laced, general = catalogue.by_code("laced_overbust", "CB"), catalogue.by_code("jacket", "CB")
    assert (laced.sides, general.sides) == (("L", "R"), ("S",))


def test_an_unknown_point_is_refused_by_name_with_the_points_there_are() -> None:
    with pytest.raises(catalogue.UnknownPoint, match=r'family "bodice" has no point "SL".*HC') as refused:
        catalogue.by_code("bodice", "SL")
    assert (refused.value.code, refused.value.family) == ("SL", "bodice")


def test_an_unknown_family_is_refused_by_name_with_the_families_there_are() -> None:
    for ask in (catalogue.points_of, catalogue.core_points):
        with pytest.raises(catalogue.UnknownFamily, match=r'"cape".*waistcoat'):
            ask("cape")


def test_the_six_panels_of_a_half_are_measured_one_by_one_from_front_to_back() -> None:
    panels = [catalogue.by_code("laced_underbust", f"PN{number}") for number in range(1, 7)]
    assert panels[0].from_ == "front edge"
    assert panels[-1].to == "back edge"
    for panel, following in itertools.pairwise(panels):
        assert panel.to.startswith(following.from_)


# Common practice, no source: a quarter inch a half at the waist, a quarter inch between the halves. A quarter
# inch is 6.35 mm; the catalogue counts in whole millimetres, as the metric sheets of the trade do.
def test_the_waist_is_allowed_six_millimetres_a_half_and_between_the_halves() -> None:
    waist = catalogue.by_code("laced_underbust", "WA")
    assert (waist.tolerance_minus_nm, waist.tolerance_plus_nm) == (6_000_000, 6_000_000)
    assert waist.tolerance_basis == "half"
    assert waist.asymmetry_limit_nm == 6_000_000


# General trade table: collar +1/4 in, -1/8 in.
def test_the_collar_is_allowed_more_in_plus_than_in_minus() -> None:
    collar = catalogue.by_code("jacket", "CL")
    assert (collar.tolerance_minus_nm, collar.tolerance_plus_nm) == (3_000_000, 6_000_000)


def test_only_the_thickness_is_for_information() -> None:
    assert [point.code for point in catalogue.POINTS if point.informational] == ["TH"]


def test_a_point_cannot_be_changed_in_place() -> None:
    with pytest.raises(dataclasses.FrozenInstanceError):
        catalogue.by_code("jacket", "HC").position = 1  # type: ignore[misc]  # the refusal is the test


def test_families_and_kinds_are_those_of_the_database() -> None:
    assert {(family.code, family.name) for family in catalogue.FAMILIES.values()} == set(Style.Family.choices)
    assert {point.kind for point in catalogue.POINTS} <= set(Kind.values)
    assert {point.tolerance_basis for point in catalogue.POINTS} <= set(Basis.values)
    assert {points.COMMON_PRACTICE, points.GENERAL_TRADE} == {point.source for point in catalogue.POINTS}
