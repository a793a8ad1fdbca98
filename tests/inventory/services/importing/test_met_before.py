"""Pieces that are in the shop already are not stored again by a file that was saved anew."""

from __future__ import annotations

from dataclasses import replace

import pytest

from inventory.models import ImportRun, Piece
from inventory.services.importing import runs
from inventory.services.importing.mapping import Target
from inventory.services.importing.refusals import NotReady, SuspicionsOpen
from tests.factories import NOW, make_delivery, make_maker
from tests.inventory.services.importing.files_of_pieces import (
    HEADER,
    bring_in,
    check,
    csv_of,
    make_world,
    only_batch,
    row,
    upload,
)

pytestmark = pytest.mark.django_db

ROWS = [row(f"a{number}") for number in range(5)]


def faults(run: ImportRun) -> list[str]:
    return [sentence for _, _, sentence in run.report["errors"]]


def with_remark(rows: list[list[object]], remark: str) -> bytes:
    return csv_of([[*line, remark] for line in rows], header=[*HEADER, "Remarks"])


def test_a_file_saved_anew_with_one_remark_changed_is_not_stored_again() -> None:
    world = make_world()
    bring_in(with_remark(ROWS, "first"), world)
    run = check(upload(with_remark(ROWS, "second"), world), world)
    batch = only_batch()
    assert len(faults(run)) == 1
    said = f"5 of 5 pieces are in {batch.label} of {batch.delivery.label} already, under the same references"
    assert said in faults(run)[0]
    assert "a0, a1, a2 and 2 more" in faults(run)[0]
    with pytest.raises(NotReady):
        runs.request_store(run=run, accept_suspicious=True, by=world.inspector, at=NOW)
    assert Piece.objects.count() == 5


def test_rows_added_to_a_file_that_was_stored_name_the_rows_to_take_out() -> None:
    world = make_world()
    bring_in(csv_of(ROWS[:2]), world)
    run = check(upload(csv_of([*ROWS[2:], [str(ROWS[0][0]).upper(), *ROWS[0][1:]]]), world), world)
    assert [(line, "1 of 4 pieces" in said) for line, _, said in run.report["errors"]] == [(5, True)]


@pytest.mark.parametrize(
    "changed", [{"order": "PO-8"}, {"arrived_on": "2026-02-27"}], ids=["other order", "other day"]
)
def test_the_same_references_of_another_order_or_day_are_other_garments(changed: dict[str, str]) -> None:
    world = make_world()
    bring_in(csv_of(ROWS), world)
    again = replace(world, target=replace(world.target, **changed))
    assert faults(check(upload(csv_of([*ROWS, row("a9")]), again), again)) == []


def nameless(*offs: int, size: str = "24") -> bytes:
    return csv_of([row("", size, off={("WA", "L"): off, ("UB", "R"): off}) for off in offs])


def test_rows_without_references_and_the_figures_of_stored_pieces_are_asked_about() -> None:
    world = make_world()
    bring_in(nameless(0, 1, 2, 3), world)
    run = check(upload(nameless(2, 4, 3), world), world)
    batch = only_batch()
    assert faults(run) == []
    ((first, where, typed, question),) = run.report["suspicious"]
    assert (first, where, typed) == (2, "2 rows", "")
    assert f"Rows 2, 4 have no reference and the very figures of pieces in {batch.label}" in question
    assert (run.report["counts"]["doubles"], run.report["counts"]["suspicious"]) == (2, 0)
    with pytest.raises(SuspicionsOpen, match="2 rows look like pieces that count already"):
        runs.request_store(run=run, accept_suspicious=False, by=world.inspector, at=NOW)
    runs.request_store(run=run, accept_suspicious=True, by=world.inspector, at=NOW)


def test_a_row_without_a_reference_written_twice_in_one_file_is_asked_about() -> None:
    world = make_world()
    run = check(upload(nameless(0, 1, 0, 2, 1), world), world)
    assert faults(run) == []
    ((first, where, typed, question),) = run.report["suspicious"]
    assert (first, where, typed) == (4, "2 rows", "")
    assert question.startswith("Rows 4 (as row 2), 6 (as row 3) have no reference and the very figures")
    assert run.report["counts"]["doubles"] == 2
    with pytest.raises(SuspicionsOpen, match="2 rows look like pieces that count already"):
        runs.request_store(run=run, accept_suspicious=False, by=world.inspector, at=NOW)


@pytest.mark.parametrize("other", ["size", "colour", "reference", "few"])
def test_rows_alike_that_say_they_are_two_garments_are_not_asked_about(other: str) -> None:
    world = make_world()
    one, two = row("", "24"), row("", "22" if other == "size" else "24")
    if other == "colour":
        two[2] = "ivory"
    if other == "reference":
        one[0], two[0] = "a1", "a2"
    wide = len(HEADER) - (1 if other == "few" else 0)
    run = check(upload(csv_of([one[:wide], two[:wide]], header=HEADER[:wide]), world), world)
    assert run.report["counts"]["doubles"] == 0


@pytest.mark.parametrize("other", ["size", "figures", "maker", "few"])
def test_other_pieces_without_references_are_not_asked_about(other: str) -> None:
    world = make_world()
    bring_in(nameless(0), world)
    if other == "maker":
        world = replace(world, target=replace(world.target, maker=make_maker().code))
    content = {"size": nameless(0, size="22"), "figures": nameless(1)}.get(other, nameless(0) + b"\n")
    if other == "few":
        content = csv_of([["", "24", "black", 380, 380, 330]], header=HEADER[:6])
    assert check(upload(content, world), world).report["counts"]["doubles"] == 0


def test_a_delivery_that_is_chosen_for_the_pieces_may_hold_them_already() -> None:
    world = make_world()
    delivery = make_delivery(order_reference="PO-9")
    target = Target(into=delivery.label, style=world.spec.style.code)
    bring_in(csv_of(ROWS), world, target=target)
    run = check(upload(csv_of(ROWS[:3]), world, target=target), world)
    assert "3 of 3 pieces are in" in faults(run)[0]


def test_two_files_of_the_same_pieces_checked_side_by_side_are_stored_once() -> None:
    from inventory import tasks  # noqa: PLC0415  # only here

    world = make_world()
    first, second = (check(upload(with_remark(ROWS, remark), world), world) for remark in ("first", "second"))
    jobs = [
        runs.request_store(run=run, accept_suspicious=True, by=world.inspector, at=NOW)
        for run in (first, second)
    ]
    for job in jobs:
        tasks.execute(job.pk)
        job.refresh_from_db()
    assert [job.state for job in jobs] == ["done", "failed"]
    assert "Check it again" in jobs[1].error
    assert Piece.objects.count() == 5
