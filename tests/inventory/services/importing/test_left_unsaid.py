"""A column whose name two points answer to is left out, and the report says which they are."""

from __future__ import annotations

import pytest

from inventory.models import MeasurePoint
from tests.factories import PointRecipe, make_style
from tests.inventory.services.importing.files_of_pieces import HEADER, check, csv_of, make_world, row, upload

pytestmark = pytest.mark.django_db


def test_a_column_left_out_says_which_points_of_the_style_it_could_be() -> None:
    world = make_world()
    waist = MeasurePoint.objects.get(style=world.spec.style, code="WA")
    make_style([PointRecipe("HW", waist.name)])
    header = [f"{waist.name} {label[-1]}" if label.startswith("WA ") else label for label in HEADER]
    run = check(upload(csv_of([row("a1")], header=header), world), world)
    said = [remark for remark in run.report["remarks"] if "could be" in remark]
    assert run.report["unused"] == [f"{waist.name} L", f"{waist.name} R"]
    assert [
        (label in remark, "could be WA." in remark) for label, remark in zip("LR", said, strict=True)
    ] == [
        (True, True),
        (True, True),
    ]


def test_columns_that_name_no_point_are_left_out_without_a_remark() -> None:
    world = make_world()
    run = check(upload(csv_of([[*row("a1"), "x"]], header=[*HEADER, "Weather"]), world), world)
    assert run.report["unused"] == ["Weather"]
    assert not [remark for remark in run.report["remarks"] if "could be" in remark]
