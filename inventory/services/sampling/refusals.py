"""What speaks against a deed of sampling."""

from __future__ import annotations

from inventory.services.refusals import Refused


class SchemeRefused(Refused):
    """A scheme lacks something, or contradicts itself or the tables."""


class CannotDraw(Refused):
    """There is nothing to draw from, or no plan to draw by."""


class DrawnAlready(Refused):
    """A batch is drawn from once; what was drawn is never changed."""


class NotDecidedYet(Refused):
    """The sample can still turn out either way."""


class DecidedAlready(Refused):
    """A batch is decided once."""


class NoSample(Refused):
    """A deed needs a sample, and the batch has none."""


class NoteRefused(Refused):
    """A note lacks its words, or its kind is none there is."""
