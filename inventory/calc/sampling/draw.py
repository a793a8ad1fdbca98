"""Which pieces to take: a draw that the maker can repeat with nothing but the seed and the labels.

How it is done, so that anyone can do it again with any tool that knows SHA-256:

1. Write the seed as a plain whole number, a colon, and the label as printed: ``20261125:B7-041``. Take the
   SHA-256 of that text in UTF-8, as 64 hexadecimal digits.
2. Put the pieces in the order of these digits, smallest first.
3. Random draw: take them from the top until there are enough.
4. Spread draw: a stratum is what shares carton, size and colour. When there are enough pieces for every
   stratum, each gets one; each further piece goes to the stratum furthest behind its share (sample size ×
   pieces in it ÷ pieces in the batch), among equals to the larger, then to the one whose digits come first
   (of seed, colon, and carton, size and colour with a slash between). With fewer pieces than strata, the top
   piece of a stratum is taken whenever its turn comes in the order of step 2, no stratum twice. In a stratum
   the pieces are taken from the top of the order of step 2.
5. Inspect in the order of step 2.

The digits of one seed are as good as chance, and nobody can choose a seed that favours a piece without
trying many: write the seed down before the parcel is opened. No library's random numbers are used, which
change between versions.

A random draw gives every piece the same chance, which exact limits on the rest of the batch rest on. A
spread draw sees every size and carton, but gives pieces of small strata a greater chance.
"""

import hashlib
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum

from inventory.calc.errors import ImpossibleInput

Stratum = tuple[str, str, str]
"""Carton, size, colour."""


class DrawKind(StrEnum):
    """How the pieces are chosen."""

    RANDOM = "random"
    SPREAD = "spread"

    @property
    def words(self) -> str:
        """What it means, for the page."""
        return _WORDS[self]


_WORDS = {
    DrawKind.RANDOM: "every piece with the same chance",
    DrawKind.SPREAD: "spread over cartons, sizes and colours",
}


@dataclass(frozen=True, slots=True)
class DrawPiece:
    """A piece that can be drawn: its label as printed, and what it is spread over."""

    label: str
    carton: str = ""
    size: str = ""
    colour: str = ""

    @property
    def stratum(self) -> Stratum:
        """Carton, size, colour."""
        return (self.carton, self.size, self.colour)


@dataclass(frozen=True, slots=True)
class Draw:
    """Labels in the order of inspection, with all that is needed to repeat the draw."""

    seed: int
    kind: DrawKind
    batch_size: int
    strata: int
    labels: tuple[str, ...]


def digits(seed: int, label: str) -> str:
    """The 64 hexadecimal digits that put a label in its place: SHA-256 of ``seed:label`` in UTF-8.

    >>> digits(20261125, "B7-041")[:16]
    '213c843e982a9173'
    """
    return hashlib.sha256(f"{seed}:{label}".encode()).hexdigest()


def draw(pieces: Sequence[DrawPiece], *, number: int, seed: int, kind: DrawKind = DrawKind.RANDOM) -> Draw:
    """Draw ``number`` pieces; the order they are given in plays no part.

    Raises `ImpossibleInput` for a negative seed, a label that is empty or there twice, or more pieces wanted
    than there are.

    >>> batch = [DrawPiece(f"B7-{number:03}") for number in range(1, 81)]
    >>> draw(batch, number=4, seed=20261125).labels
    ('B7-067', 'B7-076', 'B7-044', 'B7-033')
    """
    _check(pieces, number=number, seed=seed)
    ordered = sorted(pieces, key=lambda piece: (digits(seed, piece.label), piece.label))
    chosen = ordered[:number] if kind is DrawKind.RANDOM else _spread(ordered, number=number, seed=seed)
    strata = len({piece.stratum for piece in pieces})
    return Draw(seed, kind, len(pieces), strata, tuple(piece.label for piece in chosen))


def shares(sizes: Mapping[Stratum, int], *, number: int, seed: int) -> dict[Stratum, int]:
    """How many pieces each stratum gives: at least one, the rest in proportion by largest remainder.

    Needs at least as many pieces as strata, and at most as many as there are.

    >>> shares({("1", "S", ""): 10, ("1", "M", ""): 30, ("2", "M", ""): 2}, number=8, seed=1)
    {('1', 'S', ''): 2, ('1', 'M', ''): 5, ('2', 'M', ''): 1}
    """
    total = sum(sizes.values())
    if not len(sizes) <= number <= total:
        raise ImpossibleInput(
            "number of pieces to draw",
            f"{number}, for {len(sizes)} strata with {total} pieces",
            "Give at least one per stratum and at most all",
        )
    given = dict.fromkeys(sizes, 1)
    # The digits decide last, so that no stratum is always favoured among equals.
    turns = sorted(sizes, key=lambda stratum: digits(seed, "/".join(stratum)))
    for _ in range(number - len(sizes)):
        open_still = [stratum for stratum in turns if given[stratum] < sizes[stratum]]
        next_one = max(
            open_still,
            key=lambda stratum: (number * sizes[stratum] - given[stratum] * total, sizes[stratum]),
        )
        given[next_one] += 1
    return given


def chances_of(pieces: Sequence[DrawPiece], found: Draw) -> tuple[float, float]:
    """The lowest and the highest chance that a piece of this batch had to be drawn, by its stratum.

    In a stratum every piece has the same. ``pieces`` is the whole batch.

    >>> batch = [DrawPiece(f"P{number}", size="S" if number < 3 else "M") for number in range(1, 13)]
    >>> chances_of(batch, draw(batch, number=3, seed=1, kind=DrawKind.SPREAD))
    (0.2, 0.5)
    """
    if found.kind is DrawKind.RANDOM:
        even = len(found.labels) / found.batch_size
        return even, even
    taken, sizes = set(found.labels), Counter(piece.stratum for piece in pieces)
    given = Counter(piece.stratum for piece in pieces if piece.label in taken)
    if len(found.labels) < found.strata:
        # Which strata come at all is chance too; the only piece of a small one comes whenever that does.
        return 0.0, 1 / min(sizes.values())
    shares_given = [given[stratum] / sizes[stratum] for stratum in sizes]
    return min(shares_given), max(shares_given)


def _spread(ordered: Sequence[DrawPiece], *, number: int, seed: int) -> list[DrawPiece]:
    sizes: dict[Stratum, int] = {}
    for piece in sorted(ordered, key=lambda piece: piece.stratum):
        sizes[piece.stratum] = sizes.get(piece.stratum, 0) + 1
    allowed = dict.fromkeys(sizes, 1) if number < len(sizes) else shares(sizes, number=number, seed=seed)
    chosen: list[DrawPiece] = []
    for piece in ordered:
        if len(chosen) < number and allowed[piece.stratum]:
            allowed[piece.stratum] -= 1
            chosen.append(piece)
    return chosen


def _check(pieces: Sequence[DrawPiece], *, number: int, seed: int) -> None:
    if seed < 0:
        raise ImpossibleInput("seed", seed, "Give a whole number from 0")
    if not 1 <= number <= len(pieces):
        raise ImpossibleInput(
            "number of pieces to draw",
            f"{number}, from a batch of {len(pieces)}",
            "Give at least 1 and at most as many as there are",
        )
    seen: set[str] = set()
    for piece in pieces:
        if not piece.label:
            raise ImpossibleInput("label of a piece", "empty", "Give every piece a label")
        if piece.label in seen:
            raise ImpossibleInput(
                "label of a piece", f"{piece.label}, there twice", "Give each piece its own label"
            )
        seen.add(piece.label)


def describe(found: Draw) -> str:
    """How to repeat the draw, for the maker.

    >>> print(describe(Draw(5, DrawKind.RANDOM, 80, 1, ("B7-003", "B7-017"))))
    Drawn 2 of 80 pieces with seed 5, every piece with the same chance. To repeat: take the SHA-256 of \
"5:" followed by each label (UTF-8, hexadecimal), sort the pieces by it, and take the first 2.
    """
    how = f"take the first {len(found.labels)}"
    if found.kind is DrawKind.SPREAD and len(found.labels) < found.strata:
        how = "in that order take the first of each carton, size and colour until there are enough"
    elif found.kind is DrawKind.SPREAD:
        how = (
            "in that order take from each carton, size and colour its share: one each, each further piece "
            "to whichever is furthest behind its proportion"
        )
    return (
        f"Drawn {len(found.labels)} of {found.batch_size} pieces with seed {found.seed}, {found.kind.words}. "
        f'To repeat: take the SHA-256 of "{found.seed}:" followed by each label (UTF-8, hexadecimal), '
        f"sort the pieces by it, and {how}."
    )
