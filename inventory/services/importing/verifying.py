"""Work stored verdicts out again from the readings, by the basis each was given on, and compare."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from itertools import islice

from inventory.calc import judging
from inventory.calc.conformity import read_rule
from inventory.calc.errors import CalcError
from inventory.models import PieceVerdict, Reading, UnreadSide, findings
from inventory.queries.taken import taken_of
from inventory.queries.tape_corrections import TapesOfVerdict
from inventory.services.importing.refusals import FileNotReadable

AT_ONCE = 500


def verify_verdicts() -> tuple[int, list[str]]:
    """How many current verdicts come out the same, and the labels of the pieces whose do not."""
    same, other = 0, []
    verdicts = PieceVerdict.objects.filter(is_current=True).select_related("piece", "basis").order_by("pk")
    for chunk in _chunks(verdicts.iterator(AT_ONCE)):
        readings, unread = _of_sittings([verdict.inspection_id for verdict in chunk])
        for verdict in chunk:
            if _understood(verdict, readings[verdict.inspection_id], unread[verdict.inspection_id]):
                same += 1
            else:
                other.append(verdict.piece.label)
    return same, other


def _understood(verdict: PieceVerdict, readings: list[Reading], unread: set[str]) -> bool:
    try:
        return _again(verdict, readings, unread)
    except (ArithmeticError, AttributeError, CalcError, LookupError, TypeError, ValueError) as problem:
        raise FileNotReadable(
            f"What the verdict on {verdict.piece.label} was given on is not understood "
            f"({type(problem).__name__}). Was the export edited? Write a new one."
        ) from problem


def _again(verdict: PieceVerdict, readings: list[Reading], unread: set[str]) -> bool:
    plans = verdict.basis.as_plans()
    taken = taken_of(readings, TapesOfVerdict(verdict.corrections))
    judged = judging.judge_piece(
        list(plans.values()),
        {column: found for column, found in taken.items() if column[0] in plans},
        shelf=read_rule(verdict.basis.document["shelf_rule"]),
        claim=read_rule(verdict.basis.document["claim_rule"]),
        one_half_will_do=frozenset(unread),
    )
    return (judged.shelf, judged.claim, findings.write_rows(judged.findings, plans=plans)) == (
        verdict.shelf,
        verdict.claim,
        verdict.findings,
    )


def _of_sittings(keys: list[int]) -> tuple[dict[int, list[Reading]], dict[int, set[str]]]:
    readings: defaultdict[int, list[Reading]] = defaultdict(list)
    for reading in Reading.objects.in_effect().filter(inspection__in=keys).select_related("point"):
        readings[reading.inspection_id].append(reading)
    unread: defaultdict[int, set[str]] = defaultdict(set)
    for sitting, code in UnreadSide.objects.filter(inspection__in=keys).values_list(
        "inspection", "point__code"
    ):
        unread[sitting].add(code)
    return readings, unread


def _chunks(verdicts: Iterator[PieceVerdict]) -> Iterator[list[PieceVerdict]]:
    while chunk := list(islice(verdicts, AT_ONCE)):
        yield chunk
