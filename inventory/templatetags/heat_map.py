"""The rows of a batch's heat map, drawn fast: 500 pieces × 20 points are 10,000 cells.

    {% load heat_map %}  {% heat_row line.cells %}

A cell says no more than its verdict, side, deviation and allowance, and these come again and again, so each
different cell is drawn once and kept.
"""

from __future__ import annotations

from collections.abc import Iterable
from functools import lru_cache

from django import template
from django.template import Context
from django.utils.safestring import SafeString

from inventory.calc.length import Display
from inventory.queries.verdict_cells import Cell
from inventory.templatetags.lengths import display_of
from inventory.templatetags.verdicts import heat_cell

register = template.Library()


@register.simple_tag(takes_context=True)
def heat_row(context: Context, cells: Iterable[Cell | None]) -> SafeString:
    """The <td>s of one piece, one for each point."""
    chosen = display_of(context)
    # The context's display is looked up late, and would be so again for each of 10,000 comparisons.
    display = Display(chosen.unit, chosen.denominator)
    return SafeString("".join([_drawn(cell, display) for cell in cells]))


@lru_cache(maxsize=16_384)
def _drawn(cell: Cell | None, display: Display) -> SafeString:
    context = Context({"display": display})
    if cell is None:
        return heat_cell(context, None, None, 0, 0)
    return heat_cell(context, cell.shelf, cell.deviation_nm, cell.minus_nm, cell.plus_nm, aspect=cell.aspect)
