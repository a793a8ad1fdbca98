"""Switching between normal, tightened and reduced inspection, by what a maker's last batches earned.

One history belongs to one maker, one style and one class of defects. The rules are chosen by name:
MIL-STD-105E (1989), MIL-STD-105D (1963), or the switching score of ISO 2859-1:1999. Keeping them is what
the plans' protection rests on; a single batch at an AQL plan protects nobody much.

    kinds          PastBatch, Rules, State, Standing, Change
    machine        standing: a history to the state of the next batch, with why; next_severity
    limit_numbers  limit_number: Table VIII, for earning reduced inspection
    wording        the reasons in words
    scheme         scheme_passing: what normal and tightened together do in the long run
"""

from inventory.calc.sampling.switching.kinds import Change, PastBatch, Rules, Standing, State
from inventory.calc.sampling.switching.limit_numbers import limit_number
from inventory.calc.sampling.switching.machine import next_severity, standing
from inventory.calc.sampling.switching.scheme import run_on_normal, run_on_tightened, scheme_passing

__all__ = [
    "Change",
    "PastBatch",
    "Rules",
    "Standing",
    "State",
    "limit_number",
    "next_severity",
    "run_on_normal",
    "run_on_tightened",
    "scheme_passing",
    "standing",
]
