"""How likely a verdict is wrong, what a rule costs buyer and maker over time, and whether to read again.

- ``risk_of_verdict``: for one reading in hand, the chance that its verdict is wrong (specific risk);
  ``probabilities_in`` the same for a column of readings at once.
- ``overall_risk``: for all pieces a maker makes, the shares called wrongly under a guard band (global risk);
  ``guard_for_wrongly_in`` and ``guard_for_wrongly_out`` turn a wanted risk into a guard band.
- ``outlook``: on "too close to call", how many more readings would settle it, by whom, and how likely;
  ``worth_it`` sets that against the minutes. ``round_error`` first, where a full girth or a difference of
  halves is asked about.
- ``risk_of_looking_again``: what "measure again until it is clear" does to the risk stated for one look;
  ``risk_of_piece`` what several values that decide do on top, ``multiplier_for_piece`` the guard band for it.

What is known of the maker beforehand is a ``MakerSpread`` (mean and SD of true lengths); without one, every
true length was equally likely before the reading. JCGM 106:2012 clauses 7 and 9 (from memory).
"""

from inventory.calc.risk.looks import (
    multiplier_for_looks,
    multiplier_for_piece,
    risk_of_looking_again,
    risk_of_piece,
)
from inventory.calc.risk.overall import (
    OverallRisk,
    guard_for_wrongly_in,
    guard_for_wrongly_out,
    overall_risk,
)
from inventory.calc.risk.reading import (
    Belief,
    MakerSpread,
    VerdictRisk,
    belief,
    percent,
    probabilities_in,
    risk_of_verdict,
)
from inventory.calc.risk.repeats import Chance, Outlook, TakenAs, outlook, round_error
from inventory.calc.risk.worth import Worth, worth_it

__all__ = [
    "Belief",
    "Chance",
    "MakerSpread",
    "Outlook",
    "OverallRisk",
    "TakenAs",
    "VerdictRisk",
    "Worth",
    "belief",
    "guard_for_wrongly_in",
    "guard_for_wrongly_out",
    "multiplier_for_looks",
    "multiplier_for_piece",
    "outlook",
    "overall_risk",
    "percent",
    "probabilities_in",
    "risk_of_looking_again",
    "risk_of_piece",
    "risk_of_verdict",
    "round_error",
    "worth_it",
]
