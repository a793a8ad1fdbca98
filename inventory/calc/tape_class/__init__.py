"""How far a tape may be off, how far this one is off, and what to do with a reading taken with it.

A class says what the maker of the tape promises: a maximum permissible error (MPE) a + b·L, with L the
length rounded *up* to the next whole metre, so that every length of up to a metre may be off the same. Most
sewing tapes carry no class and promise nothing. The tape check looks for itself: the tape is laid along a
steel rule and read at two lengths. Two errors tell a wrong *start* (the same on every reading: a worn or
cut end) from *stretch* (in proportion), and so the error of any other reading.

An error is what the tape reads minus what the rule shows: a stretched tape reads short, its error is below
zero, and the correction is the error with its sign turned.

    classes   a + b·L, the hook or end, the standard uncertainty from a class
    check     what was read along the rule, and what cannot be a check
    findings  check -> errors, start, stretch, verdict, correction
    newest    which of several checks speaks for a reading, and which readings a bad check puts in doubt
    segments  what is known of a tape at each moment: the error to take off, and how well it is known
"""

from inventory.calc.tape_class.check import CheckedLength, TapeCheck
from inventory.calc.tape_class.classes import (
    REFERENCE_TEMPERATURE_C,
    REFERENCE_TENSION_N,
    TapeClass,
    interval_mpe_nm,
    mpe_nm,
    tape_u_nm,
)
from inventory.calc.tape_class.findings import CheckFindings, CheckVerdict, Correction, evaluate
from inventory.calc.tape_class.newest import DatedCheck, Doubt, newest_check, readings_in_doubt
from inventory.calc.tape_class.segments import Line, Promise, Segment, segment_at, segments_of

__all__ = [
    "REFERENCE_TEMPERATURE_C",
    "REFERENCE_TENSION_N",
    "CheckFindings",
    "CheckVerdict",
    "CheckedLength",
    "Correction",
    "DatedCheck",
    "Doubt",
    "Line",
    "Promise",
    "Segment",
    "TapeCheck",
    "TapeClass",
    "evaluate",
    "interval_mpe_nm",
    "mpe_nm",
    "newest_check",
    "readings_in_doubt",
    "segment_at",
    "segments_of",
    "tape_u_nm",
]
