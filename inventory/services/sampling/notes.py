"""Note what a person must say before the switching rules may switch."""

from __future__ import annotations

from typing import TYPE_CHECKING

from django.db import transaction

from inventory.access import Deed, require
from inventory.models import SwitchingNote
from inventory.services.audit import leave_row
from inventory.services.sampling.refusals import NoteRefused

if TYPE_CHECKING:
    import datetime as dt

    from inventory.models import Maker, Style, User


@transaction.atomic
def note_switching(
    *, maker: Maker, style: Style, kind: str, note: str, by: User, at: dt.datetime
) -> SwitchingNote:
    """Note that production is steady or not, that reduced is wanted or not, or that the maker acted.

    It holds from the next sample on. Raises `NoteRefused`.
    """
    require(by, Deed.SET_UP)
    if kind not in SwitchingNote.Kind.values:
        known = ", ".join(SwitchingNote.Kind.values)
        raise NoteRefused(f"{kind!r} is nothing the rules ask for. Use one of: {known}.", field="kind")
    words = note.strip()
    if not words:
        raise NoteRefused("Say how this is known, in a few words.", field="note")
    if len(words) > 200:
        raise NoteRefused(
            f"{len(words)} characters are too many; the place holds 200. Shorten it.", field="note"
        )
    made = SwitchingNote.objects.create(
        maker=maker, style=style, kind=kind, note=words, noted_by=by, noted_at=at
    )
    leave_row(
        who=by, deed="note for switching", subject=made, at=at, maker=maker.code, style=style.code, note=words
    )
    return made
