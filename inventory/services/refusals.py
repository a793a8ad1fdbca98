"""What a service says when a deed cannot be done as asked."""

from __future__ import annotations


class Refused(Exception):
    """Base of the refusals of setting up; its text is a sentence naming the thing, the value and the cure.

    `field` names the box the sentence belongs to; empty when it is about the whole.
    """

    def __init__(self, sentence: str, *, field: str = "") -> None:
        super().__init__(sentence)
        self.field = field
