"""Causes on our side of the bench: the tape, where it starts, who reads, and how. Effects in mm or shares.

They show in the check garment and in other makers' pieces as much as in the batch. The usual sizes of the
effects are common practice, no source.
"""

from collections.abc import Iterator
from typing import Final

import numpy as np

from inventory.calc.causes.layout import Floats, Ints, Layout
from inventory.calc.causes.variants import Prior, Variant, Variants, Where, gather, packed

TAPE: Final = Prior(0.0, 0.010)
START: Final = Prior(0.0, 5.0)
PERSON: Final = Prior(0.0, 4.0)
TOO_LOW: Final = Prior(0.0, 8.0)
MISREAD: Final = Prior(0.0, 20.0)

LATER: Final = 0.1
"""How likely a tape went wrong at one given quarter of the readings, beside having been wrong all along."""


def tape(layout: Layout) -> Variants | None:
    """One tape, or all of them, all along or from some reading on: the same share of every length."""
    return gather(_with_tapes(layout, layout.nominal), TAPE)


def start(layout: Layout) -> Variants | None:
    """One tape, or all of them, all along or from some reading on: the same mm on every reading."""
    return gather(_with_tapes(layout, np.ones(layout.rows)), START)


def person(layout: Layout) -> Variants | None:
    """One person: the same mm on every reading, or on every girth."""
    return gather(
        (
            Variant(Where(person=who), held * kind)
            for who, held in _each(layout, layout.person, layout.people)
            for kind in (np.ones(layout.rows), layout.girth.astype(float))
        ),
        PERSON,
    )


def technique(layout: Layout) -> Variants | None:
    """One person: the line laid so many mm too low, girths off by their sensitivity to height."""
    slope = np.where(layout.girth, layout.sensitivity, 0.0)
    held = _each(layout, layout.person, layout.people)
    return gather((Variant(Where(person=who), mine * slope) for who, mine in held), TOO_LOW)


def misread(layout: Layout) -> Variants | None:
    """One reading of the batch."""
    inside = np.flatnonzero(layout.inside)
    each = np.ones(len(inside))
    return packed(
        where=lambda which: _name(layout, int(inside[which])),
        rows=inside,
        values=each,
        lengths=[1] * len(inside),
        weights=each.tolist(),
        groups=range(len(inside)),
        prior=MISREAD,
        height=layout.rows,
    )


def _with_tapes(layout: Layout, column: Floats) -> Iterator[Variant]:
    """One tape or all, from the first reading on or from a later one."""
    held = list(_each(layout, layout.tape, layout.tapes))
    if len(held) > 1:
        held.append(("", np.ones(layout.rows)))
    for name, mine in held:
        yield Variant(Where(tape=name), column * mine)
        for since in _onsets(layout):
            later = layout.since(since)
            yield Variant(Where(tape=name, since=since), column * mine * later, weight=LATER)


def _onsets(layout: Layout) -> list[int]:
    """A quarter, half and three quarters through the readings; none if their order is not known."""
    orders = np.sort(layout.order[layout.inside])
    onsets = orders[[len(orders) * quarter // 4 for quarter in (1, 2, 3)]]
    return sorted({int(onset) for onset in onsets} - {int(orders[0])})


def _each(layout: Layout, holder: Ints, names: tuple[str, ...]) -> Iterator[tuple[str, Floats]]:
    for place, name in enumerate(names):
        yield name, layout.share_of(holder, place, len(names))


def _name(layout: Layout, row: int) -> Where:
    batch = layout.batch
    return Where(
        pieces=(batch.pieces[layout.piece[row]].name,),
        side="LRS"[layout.side[row]],
        codes=(batch.points[layout.point[row]].code,),
        person=layout.people[layout.person[row]],
        tape=layout.tapes[layout.tape[row]],
    )
