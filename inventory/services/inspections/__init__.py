"""At the bench: open a sitting, record readings, correct them, answer the slip guard, finish.

opening        a sitting for a piece
sending        a reading as a browser sends it
readings       one reading, stored exactly once; corrections
stored_before  the same reading sent twice
slip_guard     which reading looks like a slip; the answer to its question
unread         a side that cannot be read
worksheets     a filled paper worksheet, all or nothing
finishing      close the sitting and judge the piece
refusals       why something was not stored
"""

from inventory.services.inspections.finishing import finish_inspection
from inventory.services.inspections.opening import open_inspection
from inventory.services.inspections.readings import record_reading
from inventory.services.inspections.refusals import (
    AlreadyAtTheBench,
    CannotCorrect,
    CannotSkip,
    ClientKeyReused,
    NothingToAnswer,
    OwnerMustAllow,
    PointNotInWalk,
    ReadAlready,
    ReadByAnother,
    SittingIsOver,
    WorksheetRefused,
)
from inventory.services.inspections.sending import TypedReading, take_reading
from inventory.services.inspections.slip_guard import answer_slip_question
from inventory.services.inspections.stored_before import Recorded
from inventory.services.inspections.unread import note_unread_side
from inventory.services.inspections.worksheets import record_worksheet

__all__ = [
    "AlreadyAtTheBench",
    "CannotCorrect",
    "CannotSkip",
    "ClientKeyReused",
    "NothingToAnswer",
    "OwnerMustAllow",
    "PointNotInWalk",
    "ReadAlready",
    "ReadByAnother",
    "Recorded",
    "SittingIsOver",
    "TypedReading",
    "WorksheetRefused",
    "answer_slip_question",
    "finish_inspection",
    "note_unread_side",
    "open_inspection",
    "record_reading",
    "record_worksheet",
    "take_reading",
]
