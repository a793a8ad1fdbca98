"""The words of the trade as this program uses them. Common practice, no source, where none is named."""

from __future__ import annotations

from typing import Final

Words = tuple[tuple[str, str], ...]

GLOSSARY: Final[tuple[tuple[str, Words], ...]] = (
    (
        "What arrives",
        (
            ("maker", "The workshop that sewed the garments."),
            ("delivery", "What came to the door at one time. Its arrival starts the clock for notice."),
            ("batch", "The pieces of one style in one delivery; received, measured and judged together."),
            ("piece", "One garment, with a number of its own on a string or loop tag. Never pinned."),
            ("cutting, bundle", "Pieces cut, and sewn, together. The maker's number for them, if known."),
            ("packing list", "What the maker says was sent; counted against what is there."),
            ("rest", "Lying free, laces slack and unfastened, before measuring: some hours, better a night."),
        ),
    ),
    (
        "The garment",
        (
            ("as worn", "Left and right are the wearer's, not those of the table."),
            ("centre front, centre back", "The middle lines of the garment, CF and CB for short."),
            ("panel", "One shaped piece of cloth; counted from the centre front to the centre back."),
            ("bone, channel", "A stiffener, and the sleeve of cloth it lies in."),
            ("busk", "The stiff front fastening in two parts, studs on one and loops on the other."),
            ("eyelet", "A metal ring in a lacing hole; in two parts with a washer it is a grommet."),
            ("waist tape", "A strong tape at the waist line that takes the pull of the lacing."),
            ("binding", "The strip that finishes an edge."),
            ("modesty panel", "The strip of cloth behind the lacing."),
            ("closed girth", "The way round with the front fastened and the lacing edges touching."),
            ("lacing gap", "How far the back edges stand apart when the garment is worn."),
            ("rib spring, hip spring", "How much underbust and hip are larger than the waist."),
        ),
    ),
    (
        "Measuring",
        (
            ("point of measure", "One length on a garment, defined so that two people read the same one."),
            ("the nine words", "Name, from, to, path, level, state, face, kind, side: they define a point."),
            (
                "half girth, full girth",
                "One half read flat; the whole way round. The full is left plus right.",
            ),
            ("path", "How the tape runs: straight, along the edge, or along the seam."),
            ("level", "How the height of a line is found, so that it is not guessed."),
            ("taut, relaxed", "Smoothed straight without stretching; lying free."),
            ("reading", "One figure, read by one person, once. It is never changed: a correction is added."),
            ("repeat", "Another reading of the same point. Repeats are averaged, and less is left in doubt."),
            ("inspection, sitting", "All readings of a piece taken at one time."),
            ("blind", "Read before the wanted figure, or an earlier reading, is seen."),
            (
                "slip",
                "A well-known mistake: the full girth for the half, inches for centimetres, a swapped digit.",
            ),
            ("heaping", "Too many readings end in 0 or 5, or hit the wanted figure exactly."),
            ("tape check", "A tape laid against the steel rule, and the difference written down."),
            ("check garment", "A kept piece, measured again and again: if it seems to change, we have."),
            ("study, turn", "Several people read the same pieces, blind; a turn is one piece read once."),
            ("budget", "What makes a reading uncertain, part by part, and all of it together."),
            ("bias", "A steady error in one direction; averaging does not remove it."),
            ("repeatability", "How well repeats by the same person agree."),
            ("reproducibility", "How well readings by different people or tapes agree."),
            ("uncertainty", "How far the true length may reasonably lie from the reading."),
        ),
    ),
    (
        "The spec",
        (
            (
                "spec, revision",
                "The sheet of wanted lengths. Each issue has a number; in force it is frozen.",
            ),
            ("nominal", "The length that is wanted."),
            ("deviation", "What was measured minus what is wanted: + is larger, − smaller."),
            ("tolerance", "How far from nominal is allowed, below and above."),
            ("limits", "The smallest and the largest length allowed: nominal and tolerance worked out."),
            ("basis", "Whether a tolerance is meant for the half as read or for the full girth."),
            ("grade step", "How much a point grows from one size to the next."),
            ("overlap", "Limits of neighbouring sizes that touch: one piece could pass as both."),
            ("unit of record", "The unit in which the spec counts. Other units are only shown."),
            ("sealed sample", "A garment both sides agreed on, kept by each, to compare with."),
        ),
    ),
    (
        "Verdict and decision",
        (
            ("in tolerance", "Inside the limits by more than the measuring can be wrong."),
            ("out of tolerance", "Outside the limits by more than the measuring can be wrong."),
            ("too close to call", "So near a limit that the measuring cannot tell. Measure again."),
            ("guard band", "The strip on both sides of a limit in which a figure is too close to call."),
            ("shelf rule", "The rule for what we accept and sell."),
            ("claim rule", "The stricter rule for what we can prove against a maker."),
            (
                "rule fixed in advance",
                "Still too close after all readings allowed: their mean counts against the plain limit.",
            ),
            ("provable", "Out by the claim rule. Of a piece that is not, nothing is beyond doubt."),
            ("asymmetric", "Left and right differ by more than the limit set for the pair."),
            (
                "favourable side",
                "The side of nominal on which being off is to the buyer's advantage; a wider limit for it.",
            ),
            ("wrong size suspected", "Out on the size of its label, but within the limits of another size."),
            ("margin", "How far inside the nearest limit a piece lies at its tightest point."),
            ("hold", "Set apart and untouched until decided. Every piece starts so."),
            ("release", "It may be sold."),
            ("concession", "Out, but harmless: accepted by agreement, for these pieces, until a day."),
            ("second", "Sold as imperfect, with the reason said."),
            ("re-label", "Marked as the size it really is."),
            ("rework", "Mended, then measured again."),
            (
                "critical, major, minor",
                "Could hurt or breaks the law; would be sent back; off standard but saleable.",
            ),
            ("zone", "Where a defect lies: A seen when worn, B seen off the body, C hidden."),
            ("shift", "The mean of a batch lies off nominal."),
            ("spread", "How much pieces differ among themselves (standard deviation)."),
            ("left-right bias", "Left pieces are, on the mean, longer than right ones, or shorter."),
        ),
    ),
    (
        "Notice and claim",
        (
            ("notice", "The short, early word to the maker: what is wrong, with which pieces."),
            ("claim", "The full statement with the table of readings and what is asked for."),
            (
                "notice window",
                "The days agreed for notice, as recorded here. The contract itself comes first.",
            ),
            ("house days", "The shop's own rule for notice and full table, in working days from arrival."),
            ("measure-back", "The maker measures some of our numbered pieces, to compare."),
        ),
    ),
)
