"""Which entry slip a reading looks like. It asks; it never alters a figure.

A tape is read right and typed wrong in a few well-known ways: the full girth for the half, inches in a
centimetre box, started at the 1 inch mark, the row of another point. Each leaves its own trace. A reading
within its limits (widened by the guard band) raises no question, nor does one that an earlier reading of
the same point confirms, or that is usual for its batch. Outside, every slip that would bring the reading
back to what is expected is a guess; guesses are ranked by how often the slip happens times how well the
undone figure fits. A guess must fit better than the reading itself fits, and the guesses together must be
likely beside an honest reading that is merely off, given what the other side of the piece or the batch has
shown: both sides 8 mm small are a small piece, not two misread tens. Last, a reading that nothing explains is
asked about when it is very far off, and a repeat when it contradicts the readings before it.

How often each slip happens, and the traces themselves, are common practice without a written source.

    kinds     the slips, what is expected, what is said
    digits    slips visible in the typed text: swapped digits, a fraction typed as decimals
    guesses   slips visible in the length
    usual     what an honest reading is here, given the batch and the other side
    guard     the guesses weighed and ranked
    repeats   a repeat against the readings before it
    wording   the question in plain words
    of_plans  the same for a piece whose spec is at hand
    division  which division of the inch a batch of readings keeps to
    heaps     a whole batch: too many figures ending in 0 or 5, too many exact hits
    charts    figures of a graded chart instead of readings; asked for by its own name
"""

from inventory.calc.slips.division import division_of
from inventory.calc.slips.guard import look_for_slips
from inventory.calc.slips.heaps import Heaping, heaping, heaping_together
from inventory.calc.slips.kinds import Expected, Slip, SlipKind
from inventory.calc.slips.of_plans import expected_of, questions_for

__all__ = [
    "Expected",
    "Heaping",
    "Slip",
    "SlipKind",
    "division_of",
    "expected_of",
    "heaping",
    "heaping_together",
    "look_for_slips",
    "questions_for",
]
