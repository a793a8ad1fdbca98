"""A column that several points of the shop could be is settled by the style, or said to be open."""

from __future__ import annotations

import pytest

from inventory.models import ImportRun, MeasurePoint
from inventory.services.importing import runs
from inventory.services.importing.mapping import TableMapping, Target
from inventory.services.importing.open_columns import open_columns, settled, styles_meant
from tests.factories import NOW, PointRecipe, make_batch, make_style
from tests.inventory.services.importing.files_of_pieces import HEADER, World, csv_of, make_world, row

pytestmark = pytest.mark.django_db


@pytest.fixture
def world() -> World:
    """A style whose waist has the same name as another point of another style."""
    world = make_world()
    waist = MeasurePoint.objects.get(style=world.spec.style, code="WA")
    MeasurePoint.objects.filter(pk=waist.pk).update(name="half waist")
    make_style([PointRecipe("HW", "waist, half")])
    return world


LABELS = [f"Waist (half) {label[-1]}" if label.startswith("WA ") else label for label in HEADER]
OPEN = [place for place, label in enumerate(LABELS) if label.startswith("Waist")]


def uploaded(world: World, content: bytes) -> list[str]:
    run = runs.upload_file(kind="pieces", name="p.csv", content=content, by=world.inspector, at=NOW)
    return [column["role"] for column in run.mapping["columns"]]


def test_without_a_style_both_points_are_named(world: World) -> None:
    run = runs.upload_file(
        kind="pieces", name="p.csv", content=csv_of([row()], header=LABELS), by=world.inspector, at=NOW
    )
    mapping = TableMapping.from_json(run.mapping)
    assert open_columns(LABELS, mapping, []) == {place: ["HW", "WA"] for place in OPEN}
    assert settled(mapping, LABELS, []) == mapping


def test_a_style_above_the_header_settles_it(world: World) -> None:
    above = f"Style,{world.spec.style.code}\n\n".encode()
    roles = uploaded(world, above + csv_of([row()], header=LABELS))
    assert [roles[place] for place in OPEN] == ["point:WA:L", "point:WA:R"]


def test_a_style_column_settles_it(world: World) -> None:
    content = csv_of([[*row(), world.spec.style.code]], header=[*LABELS, "Style"])
    roles = uploaded(world, content)
    assert [roles[place] for place in OPEN] == ["point:WA:L", "point:WA:R"]


def test_two_styles_in_the_column_leave_it_open(world: World) -> None:
    other = MeasurePoint.objects.get(code="HW").style
    rows = [[*row("a1"), world.spec.style.code], [*row("a2"), other.code]]
    roles = uploaded(world, csv_of(rows, header=[*LABELS, "Style"]))
    assert [roles[place] for place in OPEN] == ["", ""]


def test_the_batch_the_pieces_are_added_to_says_the_style(world: World) -> None:
    batch = make_batch(world.spec)
    assert styles_meant(Target(into=batch.label)) == [world.spec.style]
    assert styles_meant(Target(into=batch.delivery.label)) == []
    assert styles_meant(Target(style="nowhere")) == []
    assert styles_meant(Target()) == []


def test_a_column_that_was_chosen_is_not_touched(world: World) -> None:
    run = runs.upload_file(
        kind="pieces", name="p.csv", content=csv_of([row()], header=LABELS), by=world.inspector, at=NOW
    )
    mapping = TableMapping.from_json(run.mapping)
    chosen = settled(mapping, LABELS, [MeasurePoint.objects.get(code="HW").style])
    assert [chosen.columns[place].role for place in OPEN] == ["point:HW:L", "point:HW:R"]
    assert settled(chosen, LABELS, [world.spec.style]) == chosen
    assert ImportRun.objects.get().mapping == mapping.as_json()


def test_the_header_read_again_with_a_style_settles_it(world: World) -> None:
    run = runs.upload_file(
        kind="pieces", name="p.csv", content=csv_of([row()], header=LABELS), by=world.inspector, at=NOW
    )
    again = runs.read_header_again(
        run=run, sheet="", header_row=1, header_rows=1, target=world.target, by=world.inspector
    )
    assert [again.mapping["columns"][place]["role"] for place in OPEN] == ["point:WA:L", "point:WA:R"]
