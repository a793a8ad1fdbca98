"""Codes in words: a program compares the code and shows the words, which are those of the screens.

{"standing": "hold", "standing_words": "on hold"}
"""

from __future__ import annotations

from rest_framework import serializers

from inventory.templatetags.verdicts import DISPOSITION_WORDS, VERDICT_WORDS


class VerdictWords(serializers.CharField):
    """A verdict as people read it; `source` names the field that holds the code."""

    def __init__(self, source: str) -> None:
        super().__init__(read_only=True, source=source, help_text="The same in words.")

    def to_representation(self, value: str) -> str:
        """The words of the code."""
        return VERDICT_WORDS[str(value)]


class StandingWords(VerdictWords):
    """What is done with a piece, as people read it."""

    def to_representation(self, value: str) -> str:
        """The words of the code."""
        return DISPOSITION_WORDS[str(value)]
