"""The tags of the floor: cells of the map, cells of the point table, the words of an audit row."""

from __future__ import annotations

import pytest
from django.template import Context, Template
from django.test import override_settings

from inventory.calc.length import Display, Unit
from inventory.queries.verdict_cells import Cell
from inventory.templatetags.audit_words import said
from inventory.templatetags.heat_map import heat_row
from tests.factories import MM

MILLIMETRES = Context({"display": Display(Unit.MM)})


@pytest.mark.parametrize(("aspect", "word"), [("L", "<i>L</i> "), ("F", "<i>full</i> "), ("S", "")])
def test_a_cell_of_the_map_names_what_it_is_of(aspect: str, word: str) -> None:
    drawn = heat_row(MILLIMETRES, [Cell("out", aspect, 7 * MM, 6 * MM, 6 * MM)])
    assert f"{word}+7.0</td>" in drawn
    assert "<b>out </b>" in drawn  # heard, and drawn as the mark of the key above the map


def test_a_cell_drawn_before_is_drawn_anew_in_another_unit() -> None:
    cell = Cell("in", "L", 25_400_000, 30 * MM, 30 * MM)
    inches = Context({"display": Display(Unit.INCH, 8)})
    assert "+25.4</td>" in heat_row(MILLIMETRES, [cell])
    assert "+1</td>" in heat_row(inches, [cell])


def test_a_point_that_was_not_judged_has_an_empty_cell() -> None:
    drawn = heat_row(MILLIMETRES, [None, None])
    assert drawn.count("<td") == 2
    assert "not measured" in drawn


def test_a_finding_that_is_not_there_is_a_dash() -> None:
    drawn = Template("{% load point_table %}{% found nothing %}{% found_pair nothing %}").render(
        Context({"nothing": None})
    )
    assert drawn.split() == ["–", "–"] or drawn.strip().replace("\n", "") == "––"


@override_settings(TIME_ZONE="UTC")
def test_the_detail_of_an_audit_row_leaves_out_what_is_empty() -> None:
    detail: dict[str, object] = {
        "before": "hold",
        "new_size": "26",
        "reason": "",
        "photos": [],
        "piece": None,
        "count": 0,
    }
    assert said(detail) == "before: hold; new size: 26; count: 0"


@override_settings(TIME_ZONE="UTC")
def test_moments_lists_and_digests_are_said_shortly() -> None:
    detail = {
        "arrived_at": "2026-03-02T09:00:00+00:00",
        "photos": ["a" * 64, "b" * 64],
        "name": ["old", "new"],
        "note": "2026-13-45T99:00:00+00:00",
    }
    assert said(detail) == (
        "arrived at: 2 Mar 2026 09:00; photos: aaaaaaaaaaaa…, bbbbbbbbbbbb…; name: old, new; "
        "note: 2026-13-45T99:00:00+00:00"
    )
