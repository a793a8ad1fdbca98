"""The questions of the slip guard."""

from __future__ import annotations

from inventory.models import SlipQuestion


def slip_question_by_id(pk: int) -> SlipQuestion | None:
    """One question with its reading."""
    return SlipQuestion.objects.select_related("reading", "answered_by").filter(pk=pk).first()
