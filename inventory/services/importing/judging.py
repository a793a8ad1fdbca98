"""Verdicts for all pieces of a file, through arrays: size by size, each against its own plans.

What is stored per verdict is the same JSON that a sitting at the bench leaves. Its rows repeat from piece to
piece (a waist half of 331 mm is judged alike each time), so each different one is written out once.
"""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import numpy as np

from inventory.calc import judging, sizing
from inventory.calc.judging import ManyFindings, ManyJudged
from inventory.calc.plan import Aspect, PointPlan, columns_of
from inventory.models.findings import Flag
from inventory.queries.tape_corrections import as_read, corrections_document
from inventory.services.importing.read_by import read_by
from inventory.services.importing.tapes import (
    TapesOfColumns,
    TapesOfFile,
    corrected_column,
    known_by_code,
)

if TYPE_CHECKING:
    from inventory.calc.conformity import Lengths, Rule
    from inventory.models import Spec
    from inventory.services.importing.books import Books
    from inventory.services.importing.pieces import Pieces, Readings

SLICE: Final = 20_000
WORDS: Final = ("in", "close", "out", None)
"""Verdict codes 0, 1, 2 and -1 as stored."""


@dataclass(slots=True)
class Judged:
    """The complete pieces of one spec and size, as the columns of their verdict rows."""

    spec: Spec
    size: str
    plans: dict[str, PointPlan]
    piece: list[int]
    shelf: list[str]
    claim: list[str]
    worst_point: list[str]
    worst_aspect: list[str]
    suspected: list[bool]
    fits: list[str]
    margin_nm: list[int | None]
    findings: list[str]
    corrections: str | None
    """What was taken off for the tapes, as `queries.tape_corrections.corrections_document` says it."""


def judge_pieces(
    pieces: Pieces, books: Books, *, shelf: Rule, claim: Rule, tapes: TapesOfFile
) -> list[Judged]:
    """Judge every piece of which all deciding sides are read; the others have no verdict yet.

    Pieces read with the same tapes, as far as anything is known of them, are judged together.
    """
    of_kind: dict[tuple[int, str, TapesOfColumns], list[int]] = {}
    for piece, (group, size) in enumerate(zip(pieces.group, pieces.size, strict=True)):
        kind = (pieces.groups[group].judged_by.pk, size, tapes.of_columns(piece))
        of_kind.setdefault(kind, []).append(piece)
    specs = {group.judged_by.pk: group.judged_by for group in pieces.groups}
    found: list[Judged] = []
    for (pk, size, read_with), members in of_kind.items():
        plans = books.deciding(specs[pk], size)
        found += [
            _judge(
                pieces,
                books,
                specs[pk],
                size,
                members=np.array(members[start : start + SLICE]),
                read_with=read_with,
                rules=(shelf, claim),
            )
            for start in range(0, len(members) if plans else 0, SLICE)
        ]
    return found


def _judge(
    pieces: Pieces,
    books: Books,
    spec: Spec,
    size: str,
    *,
    members: Lengths,
    rules: tuple[Rule, Rule],
    read_with: TapesOfColumns,
) -> Judged:
    plans = books.deciding(spec, size)
    columns = columns_of(list(plans.values()))
    means_nm, counts, people = _table(pieces, columns, members, read_with)
    known = known_by_code(pieces.readings, read_with, plans)
    corrections = corrections_document(plans.values(), known.values())
    plans = {code: as_read(plan, known.get(code, {})) for code, plan in plans.items()}
    there = counts > 0
    many = judging.judge_many(
        list(plans.values()), means_nm, there, shelf=rules[0], claim=rules[1],
        readings=_one_if_all(counts), people=_one_if_all(people),
        by=read_by(pieces, columns, members, counts),
    )  # fmt: skip
    grid = {label: books.deciding(spec, label) for label in books.plans(spec).by_size}
    sizes = sizing.fit_sizes_many(columns, means_nm, there, grid, labelled=size)
    whole = np.flatnonzero(many.complete)
    worst = tuple(many.findings)
    chosen = [worst[place] if place >= 0 else ("", None) for place in many.worst[whole].tolist()]
    best = sizes.size[whole].tolist()
    margins = sizes.margin_nm[whole].tolist()
    return Judged(
        spec=spec,
        size=size,
        plans=plans,
        piece=members[whole].tolist(),
        shelf=[str(WORDS[code]) for code in many.shelf[whole].tolist()],
        claim=[str(WORDS[code]) for code in many.claim[whole].tolist()],
        worst_point=[code for code, _ in chosen],
        worst_aspect=[aspect.value if aspect else "" for _, aspect in chosen],
        suspected=sizes.suspected[whole].tolist(),
        fits=[sizes.sizes[place] if place >= 0 else "" for place in best],
        margin_nm=[margin if place >= 0 else None for place, margin in zip(best, margins, strict=True)],
        findings=_written(many, plans, whole),
        corrections=None if corrections is None else json.dumps(corrections),
    )


def _one_if_all(counts: Lengths) -> Lengths | int:
    """A plain 1 where every reading stands alone: the usual file, and less work."""
    return 1 if counts.max(initial=0) <= 1 else counts


def _table(
    pieces: Pieces, columns: Sequence[tuple[str, str]], members: Lengths, read_with: TapesOfColumns
) -> tuple[Lengths, Lengths, Lengths]:
    """Means (nm) without the errors of the tapes, number of readings and of people; pieces × columns."""
    shape = (len(members), len(columns))
    means_nm, counts, people = np.zeros(shape, np.int64), np.zeros(shape, np.int64), np.zeros(shape, np.int64)
    for place, (code, side) in enumerate(columns):
        places = [place for place, one in enumerate(pieces.readings) if (one.code, one.side) == (code, side)]
        of_cell = [pieces.readings[place] for place in places]
        corrected = [corrected_column(pieces.readings[p].nm[members], read_with, p) for p in places]
        if len(of_cell) == 1:
            (nm,) = corrected
            counts[:, place] = nm >= 0
            means_nm[:, place] = nm
        elif of_cell:
            means_nm[:, place], counts[:, place] = _means(np.stack(corrected))
            people[:, place] = _people(of_cell, members, counts[:, place])
            continue
        people[:, place] = counts[:, place]
    return means_nm, counts, people


def _means(repeats: Lengths) -> tuple[Lengths, Lengths]:
    """Mean of the repeats that were read, in whole nm, exact halves to the even one; and their number."""
    read = repeats >= 0
    count = read.sum(axis=0)
    by = np.maximum(count, 1)
    total = np.where(read, repeats, 0).sum(axis=0)
    mean, rest = total // by, total % by
    mean += (2 * rest > by) | ((2 * rest == by) & (mean % 2 == 1))
    return mean, count


def _people(repeats: list[Readings], members: Lengths, counts: Lengths) -> Lengths:
    found = np.minimum(counts, 1)
    for place in np.flatnonzero(counts > 1):
        piece = int(members[place])
        found[place] = len({one.by[piece] for one in repeats if one.nm[piece] >= 0})
    return found


def _written(many: ManyJudged, plans: dict[str, PointPlan], whole: Lengths) -> list[str]:
    """The findings of each complete piece as JSON, as `models.findings.write_rows` gives them."""
    texts: list[list[str]] = []
    frame: dict[str, list[str]] = {code: [] for code in plans}
    everywhere = True
    for (code, _), found in many.findings.items():
        there = found.there[whole]
        everywhere = everywhere and bool(there.all())
        texts.append(_rows(found, plans[code], whole))
        frame[code].append("%s")
    if everywhere:
        form = ",".join(
            f"{json.dumps(code).replace('%', '%%')}:[{','.join(marks)}]" for code, marks in frame.items()
        )
        form = f"{{{form}}}"
        return [form % row for row in zip(*texts, strict=True)]
    codes = [code for code, _ in many.findings]
    gone = [(~found.there[whole]).tolist() for found in many.findings.values()]
    return [
        _one_by_one(frame, codes, row, missing)
        for row, missing in zip(zip(*texts, strict=True), zip(*gone, strict=True), strict=True)
    ]


def _one_by_one(
    frame: dict[str, list[str]], codes: list[str], row: tuple[str, ...], missing: tuple[bool, ...]
) -> str:
    of_point: dict[str, list[str]] = {code: [] for code in frame}
    for code, text, gone in zip(codes, row, missing, strict=True):
        if not gone:
            of_point[code].append(text)
    return "{" + ",".join(f"{json.dumps(code)}:[{','.join(rows)}]" for code, rows in of_point.items()) + "}"


def _rows(found: ManyFindings, plan: PointPlan, whole: Lengths) -> list[str]:
    """One aspect of all complete pieces as JSON rows; each different row is put into words once."""
    flags = found.by_final_rule[whole] * int(Flag.BY_FINAL_RULE)
    flags = (
        flags
        + found.deciding[whole] * int(Flag.DECIDING)
        + found.from_one_half[whole] * int(Flag.FROM_ONE_HALF)
    )
    if found.aspect is Aspect.PAIR and plan.pair_limit is not None:
        flags = flags + (found.upper_nm[whole] != plan.pair_limit.limit_nm) * int(Flag.FAVOURABLE_LIMIT)
    known: dict[tuple[int, ...], str] = {}
    texts = []
    for row in zip(
        found.value_nm[whole].tolist(), found.u_nm[whole].tolist(), found.shelf_guard_nm[whole].tolist(),
        found.claim_guard_nm[whole].tolist(), found.readings[whole].tolist(), found.shelf[whole].tolist(),
        found.claim[whole].tolist(), found.beyond_nm[whole].tolist(), flags.tolist(),
        strict=True,
    ):  # fmt: skip
        text = known.get(row)
        if text is None:
            *numbers, shelf, claim, beyond_nm, bits = row
            known[row] = text = json.dumps(
                [found.aspect.value, *numbers, WORDS[shelf], WORDS[claim], beyond_nm, bits],
                separators=(",", ":"),
            )
        texts.append(text)
    return texts
