"""Why something at the bench was not stored; each says the thing, the value and the cure."""

from __future__ import annotations

from collections.abc import Mapping

from inventory.services.refusals import Refused


class ClientKeyReused(Refused):
    """The sender's key came a second time with another reading behind it."""


class CannotCorrect(Refused):
    """A correction lacks its reason, or names a reading that is not there to be corrected."""


class NothingToAnswer(Refused):
    """The slip question was answered already."""


class SittingIsOver(Refused):
    """A reading came for a sitting that was finished meanwhile."""


class ReadAlready(Refused):
    """A page that did not know of the person's own reading of a side sent another one nobody asked for."""


class PointNotInWalk(Refused):
    """A reading names a point or side that this piece's spec does not have."""


class ReadByAnother(Refused):
    """A reading waited in the browser while somebody else signed in; nobody signs for another person."""


class CannotSkip(Refused):
    """A side was to be left unread although nothing can stand in for it."""


class OwnerMustAllow(Refused):
    """A sitting with a half that was not read was to be finished by somebody who may not decide that."""


class AlreadyAtTheBench(Refused):
    """A worksheet was typed in for a piece that is being measured on screen."""


class WorksheetRefused(Refused):
    """A filled worksheet has boxes that cannot be stored; `boxes` maps (point code, side) to the sentence."""

    def __init__(self, boxes: Mapping[tuple[str, str], str]) -> None:
        count = len(boxes)
        super().__init__(
            f"{count} {'box' if count == 1 else 'boxes'} could not be read, so nothing was stored. Correct "
            "what is marked below and save the sheet again."
            if boxes
            else "Every box is empty, so there is nothing to store. Type in what stands on the sheet."
        )
        self.boxes = dict(boxes)
