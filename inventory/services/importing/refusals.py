"""Why a file cannot be brought in."""

from __future__ import annotations

from inventory.services.refusals import Refused


class FileNotReadable(Refused):
    """The file is not a table this program reads, or is damaged, or larger than the limits."""


class IsWholeExport(FileNotReadable):
    """The file is a whole export, which is restored and has no columns to choose."""


class MappingIncomplete(Refused):
    """The columns, the unit or the delivery are not said well enough to read the rows."""


class NoColumns(Refused):
    """A whole export is read as it is; there is nothing to choose."""


class NotReady(Refused):
    """The file was not checked yet, or has errors, or is being worked on."""


class StoredBefore(Refused):
    """The same file was stored already."""


class SuspicionsOpen(Refused):
    """Some cells look like slips and nobody has said that they are to be stored as typed."""


class PeopleOpen(Refused):
    """A name of the file is a first name alone, or that of several people, and nobody has said who it is."""


class ShopNotEmpty(Refused):
    """An export can be restored into an empty shop only."""
