import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from inventory.access import NotAllowed
from inventory.models import AuditRow, Spec, SpecCell
from inventory.models.people import Role
from inventory.models.specs import SpecIsFrozen
from inventory.services.spec_cells import Fill, set_cells
from inventory.services.spec_entries import CellEntry, FiguresNotUnderstood, PointEntry, size_column
from tests.factories import MM, NOW, make_spec, make_user

pytestmark = pytest.mark.django_db


def _row(*nominals: str, sizes: tuple[str, ...] = ("22", "24", "26"), **fields: str) -> PointEntry:
    cells = {size: CellEntry(nominal=typed) for size, typed in zip(sizes, nominals, strict=False)}
    return PointEntry(cells=cells, **fields)


def _set(spec: Spec, entries: dict[str, PointEntry], fill: Fill = Fill.NOTHING) -> Spec:
    return set_cells(spec=spec, entries=entries, fill=fill, by=make_user(Role.OWNER), at=NOW)


def _nominals(spec: Spec, code: str) -> list[float]:
    cells = SpecCell.objects.filter(spec_point__spec=spec, spec_point__point__code=code)
    return [cell.nominal_nm / MM for cell in cells.order_by("size__position")]


def _tolerances(spec: Spec, code: str) -> list[tuple[float, float]]:
    cells = SpecCell.objects.filter(spec_point__spec=spec, spec_point__point__code=code)
    return [
        (cell.tolerance_minus_nm / MM, cell.tolerance_plus_nm / MM)
        for cell in cells.order_by("size__position")
    ]


def test_whole_rows_are_set_at_once() -> None:
    spec = make_spec(state=Spec.State.DRAFT)
    _set(spec, {"WA": _row("340", "365", "39 cm", minus="5", plus="7", pair_limit="4", step="25")})
    assert _nominals(spec, "WA") == [340, 365, 390]
    assert _tolerances(spec, "WA") == [(5, 7)] * 3
    row = spec.spec_points.get(point__code="WA")
    assert (row.asymmetry_limit_nm, row.grade_step_nm) == (4 * MM, 25 * MM)
    assert _nominals(spec, "UB") == [380, 405, 430]
    assert AuditRow.objects.get().detail == {"points": ["WA"], "cells_changed": 3}


def test_a_size_left_empty_loses_its_figures() -> None:
    spec = make_spec(state=Spec.State.DRAFT)
    _set(spec, {"WA": _row("340", "", "390", minus="5", plus="5")})
    assert _nominals(spec, "WA") == [340, 390]


def test_a_tolerance_left_empty_stays_as_it_was_size_by_size() -> None:
    spec = make_spec(state=Spec.State.DRAFT)
    first = PointEntry(
        cells={
            "22": CellEntry(nominal="340", minus="4", plus="4"),
            "24": CellEntry(nominal="365", minus="5", plus="6"),
        }
    )
    _set(spec, {"WA": first})
    _set(spec, {"WA": _row("341", "366")})
    assert _tolerances(spec, "WA") == [(4, 4), (5, 6)]


def test_a_tolerance_of_one_size_goes_before_that_of_the_row() -> None:
    spec = make_spec(state=Spec.State.DRAFT)
    entry = PointEntry(
        minus="6",
        plus="6",
        cells={"22": CellEntry(nominal="340"), "24": CellEntry(nominal="365", plus="8")},
    )
    _set(spec, {"WA": entry})
    assert _tolerances(spec, "WA") == [(6, 6), (6, 8)]


def test_empty_sizes_are_filled_from_the_step_and_others_stay() -> None:
    spec = make_spec(state=Spec.State.DRAFT)  # base size 22
    _set(spec, {"WA": _row("340", "", "400", minus="6", plus="6", step="25")}, Fill.EMPTY)
    assert _nominals(spec, "WA") == [340, 365, 400]


def test_all_sizes_are_filled_on_both_sides_of_the_base() -> None:
    spec = make_spec(state=Spec.State.DRAFT, base_size="24")
    _set(spec, {"WA": _row("1", "13 1/2 in", "2", minus="6", plus="6", step="1 in")}, Fill.ALL)
    assert _nominals(spec, "WA") == [317.5, 342.9, 368.3]


def test_a_step_without_a_base_figure_asks_for_it() -> None:
    spec = make_spec(state=Spec.State.DRAFT)
    with pytest.raises(FiguresNotUnderstood) as refusal:
        _set(spec, {"WA": _row("", "365", minus="6", plus="6", step="25")}, Fill.EMPTY)
    assert refusal.value.errors == {
        ("WA", size_column("22")): "There is a grade step, but no figure for the base size 22. Type it first."
    }


def test_a_step_that_uses_the_garment_up_is_refused() -> None:
    spec = make_spec(state=Spec.State.DRAFT)
    with pytest.raises(FiguresNotUnderstood) as refusal:
        _set(spec, {"WA": _row("340", minus="6", plus="6", step="-170")}, Fill.EMPTY)
    assert list(refusal.value.errors) == [("WA", size_column("26"))]


def test_nothing_is_saved_when_one_box_is_wrong() -> None:
    spec = make_spec(state=Spec.State.DRAFT)
    with pytest.raises(FiguresNotUnderstood, match="2 figures cannot be taken as typed") as refusal:
        _set(
            spec,
            {
                "UB": _row("390", "415", "440", minus="8", plus="8"),
                "WA": _row("34 0", "365", "390", minus="6", plus="six"),
            },
        )
    assert set(refusal.value.errors) == {("WA", "nominal:22"), ("WA", "plus")}
    assert _nominals(spec, "UB") == [380, 405, 430]
    assert not AuditRow.objects.exists()


def test_a_nominal_without_any_tolerance_asks_for_one() -> None:
    spec = make_spec(state=Spec.State.DRAFT)
    SpecCell.objects.filter(spec_point__point__code="WA").delete()
    with pytest.raises(FiguresNotUnderstood) as refusal:
        _set(spec, {"WA": _row("340", plus="6")})
    assert refusal.value.errors == {
        ("WA", "minus"): "Size 22 has a nominal but no minus tolerance. Type one."
    }


def test_a_tolerance_as_large_as_the_length_is_refused() -> None:
    with pytest.raises(FiguresNotUnderstood, match="takes all of the nominal 34 mm"):
        _set(make_spec(state=Spec.State.DRAFT), {"WA": _row("34", minus="34", plus="6")})


def test_unknown_points_and_sizes_are_named() -> None:
    with pytest.raises(FiguresNotUnderstood) as refusal:
        _set(
            make_spec(state=Spec.State.DRAFT),
            {"ZZ": _row("1"), "WA": _row("340", sizes=("99",), minus="6", plus="6")},
        )
    assert "measures no point 'ZZ', but UB, WA, CF" in refusal.value.errors["ZZ", "point"]
    assert refusal.value.errors["WA", "nominal:99"] == "The spec has no size '99', but 22, 24, 26."


def test_a_spec_in_force_is_frozen() -> None:
    with pytest.raises(SpecIsFrozen):
        _set(make_spec(), {"WA": _row("340", minus="6", plus="6")})


def test_a_spec_put_in_force_meanwhile_is_frozen() -> None:
    spec = make_spec(state=Spec.State.DRAFT)
    Spec.objects.filter(pk=spec.pk).update(state=Spec.State.IN_FORCE)
    with pytest.raises(SpecIsFrozen):
        _set(spec, {"WA": _row("340", minus="6", plus="6")})


def test_an_inspector_sets_no_figures() -> None:
    with pytest.raises(NotAllowed):
        set_cells(spec=make_spec(state=Spec.State.DRAFT), entries={}, by=make_user(Role.INSPECTOR), at=NOW)


def test_a_grid_of_any_size_takes_the_same_number_of_statements() -> None:
    owner = make_user(Role.OWNER)
    counts = []
    for labels in (("22", "24", "26"), tuple(str(size) for size in range(18, 58))):
        spec = make_spec(state=Spec.State.DRAFT, sizes=labels)
        row = _row(*("345" for _ in labels), sizes=labels, minus="6", plus="6")
        with CaptureQueriesContext(connection) as captured:
            set_cells(spec=spec, entries={"WA": row}, by=owner, at=NOW)
        counts.append(len(captured))
    assert counts[0] == counts[1] <= 14
