"""Who may do what. Each deed is named once; services ask `require` before they write."""

from __future__ import annotations

from enum import StrEnum
from typing import TYPE_CHECKING

from django.core.exceptions import PermissionDenied

from inventory.models.people import Role, User

if TYPE_CHECKING:
    from django.contrib.auth.models import AnonymousUser


class Deed(StrEnum):
    """What a person may want to do; the words finish the sentence "you may not …"."""

    VIEW = "see the shop's records"
    RECEIVE = "receive deliveries and number pieces"
    MEASURE = "record readings"
    NOTE_DEFECT = "note defects"
    RELEASE_GOOD = "release a piece that is in tolerance, or hold a piece"
    BRING_IN = "import files"
    PRINT = "ask for documents"
    DECIDE = "decide concessions, seconds, re-labels, rework, returns and scrap"
    SET_UP = "set up makers, styles, specs and instruments"
    # Everything: also people's addresses and the whole audit trail.
    TAKE_OUT = "take out everything the shop has recorded"
    ADMINISTER = "change the shop's settings and people"


_VIEWER = frozenset({Deed.VIEW})
_INSPECTOR = _VIEWER | {
    Deed.RECEIVE,
    Deed.MEASURE,
    Deed.NOTE_DEFECT,
    Deed.RELEASE_GOOD,
    Deed.BRING_IN,
    Deed.PRINT,
}
_OWNER = frozenset(Deed)

DEEDS_OF: dict[str, frozenset[Deed]] = {
    Role.VIEWER: _VIEWER,
    Role.INSPECTOR: frozenset(_INSPECTOR),
    Role.OWNER: _OWNER,
}


class NotAllowed(PermissionDenied):
    """The signed-in person's role does not include the deed."""

    def __init__(self, user: User | AnonymousUser, deed: Deed) -> None:
        role = user.get_role_display().lower() if isinstance(user, User) else "a stranger"
        super().__init__(
            f"As {role} you may not {deed.value}. Ask the owner, or sign in as somebody who may."
        )
        self.deed = deed


def may(user: User | AnonymousUser, deed: Deed) -> bool:
    """Whether this person may do the deed; a stranger or a switched-off person may nothing."""
    return isinstance(user, User) and user.is_active and deed in DEEDS_OF[user.role]


def require(user: User | AnonymousUser, deed: Deed) -> None:
    """Raise `NotAllowed` unless the person may do the deed."""
    if not may(user, deed):
        raise NotAllowed(user, deed)
