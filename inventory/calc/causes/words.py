"""The causes by name: whose they are, what they do, what confirms them. Common practice, no source."""

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum
from typing import Final


class Cause(StrEnum):
    """Everything that may be behind the deviations of a batch."""

    NOTHING = "nothing"
    TAPE = "tape"
    START = "start"
    PERSON = "person"
    TECHNIQUE = "technique"
    MISREAD = "misread"
    SEAMS = "seams"
    PATTERN = "pattern"
    GRADING = "grading"
    LABEL = "label"
    PANEL = "panel"
    CLOTH = "cloth"
    BINDING = "binding"
    WAIST_TAPE = "waist_tape"
    STACK = "stack"
    WORN = "worn"
    OLD_SPEC = "old_spec"


class Whose(StrEnum):
    """Whose doing a cause is."""

    OURS = "ours"
    MAKERS = "makers"
    HANDLING = "handling"
    ORDERING = "ordering"
    NOBODYS = "nobodys"


class EffectUnit(StrEnum):
    """What an effect counts: nm on each reading, a share of the length, nm a seam, a size, or of height."""

    NM = "nm"
    SHARE = "share"
    NM_PER_SEAM = "nm_per_seam"
    NM_PER_SIZE = "nm_per_size"
    NM_TOO_LOW = "nm_too_low"
    STEPS = "steps"
    TIMES_WIDER = "times_wider"


@dataclass(frozen=True, slots=True)
class Words:
    """A cause in words: its name, whose it is, what it does to the readings, how to confirm it, its unit.

    ``needs``: what must be known before it can be looked for.
    """

    name: str
    whose: Whose
    explanation: str
    confirm: str
    unit: EffectUnit
    needs: str = ""


WORDS: Final[Mapping[Cause, Words]] = {
    Cause.NOTHING: Words(
        "nothing in particular",
        Whose.NOBODYS,
        "The deviations are no more than the usual spread of hands, people and tape.",
        "Measure more pieces if in doubt.",
        EffectUnit.NM,
    ),
    Cause.TAPE: Words(
        "tape stretched or shrunk",
        Whose.OURS,
        "All lengths and girths are off by the same share, on the check garment and other makers too.",
        "Lay the tape beside the steel rule at two lengths; measure the check garment.",
        EffectUnit.SHARE,
    ),
    Cause.START: Words(
        "start of the tape",
        Whose.OURS,
        "Every reading with the tape is off by the same amount, long or short, whoever reads.",
        "Read again with another tape; look at the first centimetre of this one.",
        EffectUnit.NM,
    ),
    Cause.PERSON: Words(
        "one person reads differently",
        Whose.OURS,
        "One person's readings are all off by the same amount, or all of that person's girths.",
        "Have another person read the same pieces, blind.",
        EffectUnit.NM,
        "two people who measured, to tell it from the start of the tape",
    ),
    Cause.TECHNIQUE: Words(
        "one person lays the line at another height",
        Whose.OURS,
        "One person's girths are off where the garment tapers, most where steepest; the waist is not.",
        "Have another person read the hip and the edges, with the height marked.",
        EffectUnit.NM_TOO_LOW,
        "how much each girth changes with height",
    ),
    Cause.MISREAD: Words(
        "one reading is wrong",
        Whose.OURS,
        "A single reading stands out; the rest of the piece and the batch do not follow it.",
        "Read that one again.",
        EffectUnit.NM,
    ),
    Cause.SEAMS: Words(
        "seam allowances taken too wide or too narrow",
        Whose.MAKERS,
        "All girths are off by the same amount a seam crossed, both sides, all sizes; lengths are not.",
        "Measure the panels seam to seam: all are off a little.",
        EffectUnit.NM_PER_SEAM,
        "girths that were measured",
    ),
    Cause.PATTERN: Words(
        "pattern off at one point",
        Whose.MAKERS,
        "One point is off by the same amount in every size and piece.",
        "Measure the panels at that point: one of them is off.",
        EffectUnit.NM,
    ),
    Cause.GRADING: Words(
        "grading of one point",
        Whose.MAKERS,
        "At one point the deviation grows evenly from size to size.",
        "Look at the deviations of that point over the sizes.",
        EffectUnit.NM_PER_SIZE,
        "three sizes or more",
    ),
    Cause.LABEL: Words(
        "wrong size label",
        Whose.MAKERS,
        "One piece or a few fit the neighbouring size at every point.",
        "Judge the piece against the neighbouring size.",
        EffectUnit.STEPS,
        "the nominals of the neighbouring sizes",
    ),
    Cause.PANEL: Words(
        "panel swapped on one side",
        Whose.MAKERS,
        "One side of one piece is off over neighbouring girths; its other side and its lengths are not.",
        "Measure the panels of that side seam to seam.",
        EffectUnit.NM,
        "two neighbouring girths read on both sides",
    ),
    Cause.CLOTH: Words(
        "cloth shrank or stretched in one direction",
        Whose.MAKERS,
        "Lengths, or girths, are off by the same share in all pieces, and the other direction is not.",
        "Compare lengths with girths; ask for the roll of cloth.",
        EffectUnit.SHARE,
    ),
    Cause.BINDING: Words(
        "binding pulled in",
        Whose.MAKERS,
        "Bound edges are short in all pieces while the girths just below or above them are right.",
        "Compare the edge with the girth beside it.",
        EffectUnit.NM,
        "a bound edge among the points",
    ),
    Cause.WAIST_TAPE: Words(
        "waist tape set short or long",
        Whose.MAKERS,
        "The waist alone is off, in all pieces; the panels are right.",
        "Measure the waist tape inside, and the panels at the waist.",
        EffectUnit.NM,
        "a waist among the points",
    ),
    Cause.STACK: Words(
        "cutting stack slipped",
        Whose.MAKERS,
        "The spread grows through each bundle while the mean stays; top and bottom plies differ.",
        "Order the pieces by bundle and look again.",
        EffectUnit.TIMES_WIDER,
        "the place of each piece in its bundle",
    ),
    Cause.WORN: Words(
        "worn or tried on",
        Whose.HANDLING,
        "Single pieces are wide at the waist, both sides; the rest of the piece is not.",
        "Compare with the record made on arrival, or with an untouched piece.",
        EffectUnit.NM,
        "a waist among the points",
    ),
    Cause.OLD_SPEC: Words(
        "made to an earlier spec",
        Whose.ORDERING,
        "The points that changed between two revisions are off as a block; the earlier one fits.",
        "Ask the maker which revision was cut from.",
        EffectUnit.STEPS,
        "an earlier revision with other nominals",
    ),
}
