"""The admin site, for set-up by the owner: one module per subject.

What is evidence can only be looked at here: readings, verdicts, decisions, rules, audit rows. What is set up
can be changed, and each change leaves an audit row as it does on the screens.
"""

from inventory.admin import (
    catalogue,
    evidence,
    instruments,
    makers,
    own_measuring,
    people,
    receiving,
    sampling,
    shop,
    specs,
    styles,
)

__all__ = [
    "catalogue",
    "evidence",
    "instruments",
    "makers",
    "own_measuring",
    "people",
    "receiving",
    "sampling",
    "shop",
    "specs",
    "styles",
]
