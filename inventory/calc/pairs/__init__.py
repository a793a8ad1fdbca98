"""Two figures for the same thing: two people, two tapes, shop and maker, left and right.

When each piece was measured both ways, the *differences* are what counts: the pieces themselves fall out.

- do the two differ on average, and by how much: ``paired``; when the pieces were not the same: ``unpaired``;
- do they agree well enough, within a margin fixed beforehand: ``equivalence`` (not finding a difference
  proves nothing; this does);
- how far apart will two single figures be: ``agreement``; two by the same hands: ``repeats``;
- without any bell curve: ``sign_test``.

A difference is first minus second. Values are whole nm in, floats in nm out.
"""

from inventory.calc.pairs.agreement import Agreement, Repeats, agreement, agreement_of, repeats
from inventory.calc.pairs.comparing import (
    Comparison,
    Equivalence,
    Outcome,
    comparison_of,
    differences_nm,
    equivalence,
    paired,
    unpaired,
)
from inventory.calc.pairs.signs import SignTest, sign_test

__all__ = [
    "Agreement",
    "Comparison",
    "Equivalence",
    "Outcome",
    "Repeats",
    "SignTest",
    "agreement",
    "agreement_of",
    "comparison_of",
    "differences_nm",
    "equivalence",
    "paired",
    "repeats",
    "sign_test",
    "unpaired",
]
