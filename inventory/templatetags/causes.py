"""Causes in words and pictures.

{% load causes %}
{{ suspect.probability|chance }}      87 %           {{ suspect.words.whose|whose }}      the maker's work
{{ suspect|explained }}               82 % of the deviations (by their squares)
{% effect one %}  {% where one moments %}  {% against mean %}
{% shift_picture shifts.points title="…" marks="L,R" %}   means and their doubt on a common scale, an SVG
{% shift_mark "L" %}                                      the shape a mark has in the picture
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from django import template
from django.template import Context
from django.utils.safestring import SafeString

from inventory.calc.causes import Effect, Mean, Suspect, Whose
from inventory.queries.causes import wording
from inventory.queries.causes.shifts import ShiftLine
from inventory.templatetags import shift_pictures
from inventory.templatetags.lengths import display_of

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Sequence

register = template.Library()


@register.filter
def chance(probability: float) -> str:
    """A probability in whole percent, never as certain."""
    return wording.chance_in_words(probability)


@register.filter
def whose(code: Whose) -> str:
    """On whose side a cause is."""
    return wording.WHOSE_WORDS[code]


@register.filter
def explained(suspect: Suspect) -> str:
    """How much of the deviations goes away with a cause."""
    return wording.explained_in_words(suspect)


@register.simple_tag(takes_context=True)
def effect(context: Context, of: Effect) -> str:
    """How large a cause is at one place."""
    return wording.effect_in_words(of, display_of(context))


@register.simple_tag
def where(of: Effect, moments: Sequence[dt.datetime]) -> str:
    """Where a cause sits."""
    return wording.where_in_words(of.where, moments)


@register.simple_tag(takes_context=True)
def against(context: Context, mean: Mean) -> str:
    """A figure that does not fit."""
    return wording.against_in_words(mean, display_of(context))


@register.simple_tag(takes_context=True)
def shift_picture(context: Context, lines: Sequence[ShiftLine], *, title: str) -> SafeString:
    """The means of some lines on one scale."""
    return shift_pictures.shift_picture(lines, title=title, display=display_of(context))


@register.simple_tag
def shift_mark(mark: str) -> SafeString:
    """The shape of a mark, for the key."""
    return shift_pictures.mark_in_the_key(mark)
