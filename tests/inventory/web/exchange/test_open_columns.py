"""Columns that several points fit, on the screen of the columns."""

from __future__ import annotations

import pytest

from inventory.models import ImportRun, MeasurePoint
from inventory.web.exchange.forms import LEAVE_OUT
from tests.factories import PointRecipe, make_style
from tests.inventory.services.importing.files_of_pieces import HEADER, World, csv_of, make_world, row
from tests.inventory.web.exchange.test_imports import choose, signed_in, text_of, upload

pytestmark = pytest.mark.django_db

LABELS = [f"Waist {label[-1]}" if label.startswith("WA ") else label for label in HEADER]
FIRST = LABELS.index("Waist L")


@pytest.fixture
def world() -> World:
    world = make_world()
    waist = MeasurePoint.objects.get(style=world.spec.style, code="WA")
    make_style([PointRecipe("HW", waist.name)])
    return world


def roles() -> list[str]:
    return [column["role"] for column in ImportRun.objects.get().mapping["columns"]]


def test_an_open_column_says_what_it_could_be(world: World) -> None:
    client = signed_in(world.inspector)
    upload(client, csv_of([row()], header=LABELS))
    page = client.get(f"/exchange/imports/{ImportRun.objects.get().pk}/columns/")
    assert text_of(page).count("could be HW or WA: choose") == 2
    assert "leave out" in text_of(page)


def test_the_style_chosen_with_it_settles_an_open_column(world: World) -> None:
    client = signed_in(world.inspector)
    upload(client, csv_of([row()], header=LABELS))
    assert choose(client, world).status_code == 302
    assert roles()[FIRST : FIRST + 2] == ["point:WA:L", "point:WA:R"]


def test_without_a_style_the_column_has_to_be_chosen(world: World) -> None:
    client = signed_in(world.inspector)
    upload(client, csv_of([row()], header=LABELS))
    page = choose(client, world, style="")
    assert page.status_code == 200
    assert "'Waist L' could be HW or WA: choose, or leave it out." in text_of(page)
    assert roles()[FIRST] == ""


def test_an_open_column_can_be_left_out_or_be_the_other_point(world: World) -> None:
    client = signed_in(world.inspector)
    upload(client, csv_of([row()], header=LABELS))
    boxes = {f"role_{FIRST}": LEAVE_OUT, f"role_{FIRST + 1}": "point:HW:R"}
    assert choose(client, world, **boxes).status_code == 302
    assert roles()[FIRST : FIRST + 2] == ["", "point:HW:R"]
