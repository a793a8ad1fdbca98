import pytest

from inventory.calc.length import Unit
from inventory.models import MeasurePoint
from inventory.services.spec_entries import CellEntry, Column, PointEntry, Reader, size_column

MM = 1_000_000


def _point(**fields: object) -> MeasurePoint:
    return MeasurePoint(**{"code": "WA", "kind": "half", "sides": "pair"} | fields)


def _errors(entry: PointEntry, **fields: object) -> dict[str, str]:
    reader = Reader(Unit.MM)
    reader.read(_point(**fields), entry)
    return {column: sentence for (_, column), sentence in reader.errors.items()}


def test_a_row_is_read_in_the_unit_of_record_and_a_typed_unit_wins() -> None:
    reader = Reader(Unit.INCH)
    row = reader.read(
        _point(),
        PointEntry(
            minus="1/4",
            plus="6 mm",
            pair_limit="1/4",
            favourable_side="plus",
            favourable_limit="1/2",
            step="1",
            cells={"24": CellEntry(nominal="13 1/2"), "26": CellEntry(nominal="36,83 cm", minus="1/8")},
        ),
    )
    assert not reader.errors
    assert (row.minus_nm, row.plus_nm) == (6_350_000, 6_000_000)
    assert (row.pair_limit_nm, row.favourable_limit_nm, row.step_nm) == (6_350_000, 12_700_000, 25_400_000)
    assert (row.cells["24"].nominal_nm, row.cells["26"].nominal_nm) == (342_900_000, 368_300_000)
    assert (row.cells["24"].minus_nm, row.cells["26"].minus_nm) == (None, 3_175_000)


@pytest.mark.parametrize(("minus", "plus"), [("6", "8"), ("-6", "+8"), ("−6 mm", "8 mm")])
def test_a_tolerance_may_carry_the_sign_of_its_own_side(minus: str, plus: str) -> None:
    row = Reader(Unit.MM).read(_point(), PointEntry(minus=minus, plus=plus))
    assert (row.minus_nm, row.plus_nm) == (6 * MM, 8 * MM)


@pytest.mark.parametrize(("column", "typed"), [("minus", "+6"), ("plus", "-6")])
def test_a_tolerance_with_the_sign_of_the_other_side_is_refused(column: str, typed: str) -> None:
    entry = PointEntry(minus=typed) if column == "minus" else PointEntry(plus=typed)
    sentence = _errors(entry)[column]
    assert sentence == f"{typed!r} has the sign of the other side. Type the {column} side, such as 6."


def test_a_step_may_go_down() -> None:
    assert Reader(Unit.MM).read(_point(), PointEntry(step="-5")).step_nm == -5 * MM


@pytest.mark.parametrize(
    ("entry", "fields", "column", "words"),
    [
        (PointEntry(cells={"24": CellEntry(nominal="34 3")}), {}, size_column("24"), '"34 3" was read as'),
        (PointEntry(cells={"24": CellEntry(nominal="0")}), {}, size_column("24"), "The nominal is 0"),
        (PointEntry(cells={"24": CellEntry(nominal="-330")}), {}, size_column("24"), "is below zero"),
        (PointEntry(basis="quarter"), {}, Column.BASIS, "Basis 'quarter' is unknown"),
        (PointEntry(basis="full"), {"kind": "length"}, Column.BASIS, "is no half girth"),
        (PointEntry(pair_limit="6"), {"sides": "single"}, Column.PAIR_LIMIT, "no left and right"),
        (PointEntry(favourable_side="up"), {}, Column.FAVOURABLE_SIDE, "Choose plus, minus or neither"),
        (PointEntry(favourable_side="plus"), {}, Column.FAVOURABLE_LIMIT, "Type its wider limit too"),
        (PointEntry(favourable_limit="9"), {}, Column.FAVOURABLE_SIDE, "Choose the side it holds for"),
        (
            PointEntry(favourable_side="plus", favourable_limit="9"),
            {},
            Column.PAIR_LIMIT,
            "Type the ordinary limit too",
        ),
        (
            PointEntry(pair_limit="6", favourable_side="plus", favourable_limit="5"),
            {},
            Column.FAVOURABLE_LIMIT,
            "narrower than the limit of 6 mm",
        ),
    ],
)
def test_what_cannot_be_is_refused_at_its_box(
    entry: PointEntry, fields: dict[str, object], column: str, words: str
) -> None:
    errors = _errors(entry, **fields)
    assert list(errors) == [column]
    assert words in errors[column]


def test_one_wrong_box_is_told_once() -> None:
    errors = _errors(PointEntry(pair_limit="six", favourable_side="plus", favourable_limit="nine"))
    assert set(errors) == {Column.PAIR_LIMIT, Column.FAVOURABLE_LIMIT}
