"""Pieces of a file that go into a delivery or batch that is there already."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import pytest

from inventory import tasks
from inventory.models import AuditRow, Batch, Delivery, ImportRun, Inspection, Piece, PieceVerdict, Reading
from inventory.queries.destinations import destination, latest_batches, latest_deliveries
from inventory.services.importing import carrying_out, runs
from inventory.services.importing.judging import judge_pieces
from inventory.services.importing.mapping import Target
from inventory.services.importing.refusals import StoredBefore
from inventory.services.inspections import open_inspection
from inventory.services.piece_corrections import correct_piece
from inventory.services.pieces import PieceCount, number_pieces
from tests.factories import NOW, make_batch, make_delivery, make_maker, make_spec
from tests.inventory.services.importing.files_of_pieces import (
    HEADER,
    World,
    bring_in,
    check,
    csv_of,
    make_world,
    row,
    upload,
)

pytestmark = pytest.mark.django_db


def a_batch(world: World, *, waiting: Sequence[str] = ()) -> Batch:
    """A batch of the world's spec in a delivery of its maker, with pieces of these sizes waiting in it."""
    batch = make_batch(world.spec, delivery=make_delivery(order_reference="PO-9"))
    if waiting:
        counts = [PieceCount(size, 1) for size in waiting]
        number_pieces(batch=batch, counts=counts, by=world.inspector, at=NOW)
    return batch


def faults(run: ImportRun) -> list[str]:
    return [sentence for _, _, sentence in run.report["errors"]]


def test_pieces_are_added_to_a_batch_whatever_else_is_chosen() -> None:
    world = make_world()
    batch = a_batch(world, waiting=["24"])
    target = Target(into=batch.label, maker="nobody", order="other", arrived_on="2020-01-01")
    run = bring_in(csv_of([row("a1"), row("a2", off={("WA", "L"): 40})]), world, target=target)
    assert (Delivery.objects.count(), Batch.objects.count()) == (1, 1)
    counts = run.report["counts"]
    assert (counts["deliveries"], counts["batches"], counts["pieces"]) == (0, 0, 2)
    assert batch.pieces.count() == 3
    assert sorted(PieceVerdict.objects.values_list("shelf", flat=True)) == ["in", "out"]
    assert run.report["stored"]["batches"] == [batch.number]
    noted = AuditRow.objects.get(deed="import pieces", subject_type="batch", subject_id=batch.pk)
    assert noted.detail == {"file": "pieces.csv", "pieces": 2}


def test_pieces_become_a_new_batch_of_a_delivery() -> None:
    world = make_world()
    delivery = make_delivery(order_reference="PO-9")
    target = Target(into=f"d{delivery.number}", style=world.spec.style.code)
    run = bring_in(csv_of([row("a1")]), world, target=target)
    batch = Batch.objects.get()
    assert (batch.delivery, batch.spec) == (delivery, world.spec)
    assert (run.report["counts"]["deliveries"], run.report["counts"]["batches"]) == (0, 1)


def test_readings_go_to_the_pieces_that_wait_in_the_batch() -> None:
    world = make_world()
    batch = a_batch(world, waiting=["24", "24"])
    first, second = batch.pieces.order_by("number")
    Piece.objects.filter(pk=second.pk).update(maker_reference="K-17")
    content = csv_of([row(first.label.lower()), row("k-17"), row("new one")])
    run = bring_in(content, world, target=Target(into=batch.label))
    assert run.report["counts"]["numbered_before"] == run.report["stored"]["numbered_before"] == 2
    assert batch.pieces.count() == 3
    for piece in (first, second):
        sitting = Inspection.objects.get(piece=piece)
        assert (sitting.readings.count(), sitting.finished_at is not None) == (6, True)
        assert PieceVerdict.objects.get(piece=piece).is_current
    added = batch.pieces.get(maker_reference="new one")
    assert run.report["stored"]["first_piece"] == run.report["stored"]["last_piece"] == added.number
    assert any("wait to be measured: 2." in remark for remark in run.report["remarks"])


def test_the_long_form_finds_the_waiting_pieces_too() -> None:
    world = make_world()
    batch = a_batch(world, waiting=["24"])
    piece = batch.pieces.get()
    lines = [
        [piece.label, "24", column.split()[0], column.split()[1], mm]
        for column, mm in zip(HEADER[3:], row("x")[3:], strict=True)
    ]
    content = csv_of(lines, header=["Piece", "Size", "Point", "Side", "Reading"])
    bring_in(content, world, target=Target(into=batch.label))
    assert Piece.objects.get() == piece
    assert Reading.objects.filter(inspection__piece=piece).count() == 6


def test_what_does_not_fit_a_waiting_piece_is_named() -> None:
    world = make_world()
    batch = a_batch(world, waiting=["24", "24", "24"])
    one, two, three = batch.pieces.order_by("number")
    open_inspection(piece=two, by=world.inspector, at=NOW)
    Piece.objects.filter(pk__in=(one.pk, three.pk)).update(maker_reference="twin")
    content = csv_of([
        row(one.label), row(one.label[0] + one.label[1:].lstrip("0")), row(two.label),
        row(three.label, "22"), row("P999999"), row("twin"),
    ])  # fmt: skip
    run = check(upload(content, world, target=Target(into=batch.label)), world)
    said = "\n".join(faults(run))
    for sentence in (
        f"{one.label} is meant by row 2 already",
        f"is {two.label} of {batch.label}, which was measured already",
        f"{three.label} is size 24 here and size 22 in the file",
        f"'P999999' is no piece of {batch.label}",
        f"'twin' may be {one.label}, {three.label}",
    ):
        assert sentence in said
    assert len(faults(run)) == 5


@pytest.mark.parametrize(
    ("name", "value", "sentence"),
    [
        ("Maker", "other", "This row names maker other, but"),
        ("PO", "PO-1", "This row names order PO-1, but"),
        ("Arrived", "2026-01-05", "This row names arrival 2026-01-05, but"),
        ("Style", "other", "This row names style other, but"),
        ("Revision", "2", "This row names spec"),
    ],
)
def test_a_column_that_says_otherwise_than_the_batch_is_an_error(
    name: str, value: str, sentence: str
) -> None:
    world = make_world()
    batch = a_batch(world)
    make_maker(code="other")
    other = make_spec()
    type(other.style).objects.filter(pk=other.style.pk).update(code="other")
    make_spec(world.spec.style, state="superseded")
    content = csv_of([[*row("a1"), ""], [*row("a2"), value]], header=[*HEADER, name])
    run = check(upload(content, world, target=Target(into=batch.label)), world)
    assert [fault.split(". Correct")[0].startswith(sentence) for fault in faults(run)] == [True]


def test_a_piece_measured_between_check_and_store_stops_the_store() -> None:
    world = make_world()
    batch = a_batch(world, waiting=["24"])
    piece = batch.pieces.get()
    run = check(upload(csv_of([row(piece.label)]), world, target=Target(into=batch.label)), world)
    open_inspection(piece=piece, by=world.inspector, at=NOW)
    job = runs.request_store(run=run, accept_suspicious=True, by=world.inspector, at=NOW)
    tasks.execute(job.pk)
    job.refresh_from_db()
    assert job.state == "failed"
    assert "1 errors" in job.error or "were measured since the check" in job.error
    assert Reading.objects.count() == 0


def test_a_size_corrected_while_the_file_is_judged_stops_the_store(monkeypatch: pytest.MonkeyPatch) -> None:
    world = make_world()
    batch = a_batch(world, waiting=["24"])
    piece = batch.pieces.get()
    run = check(upload(csv_of([row(piece.label)]), world, target=Target(into=batch.label)), world)

    def judge_meanwhile(*args: Any, **kwargs: Any) -> Any:  # Any: passed on
        judged = judge_pieces(*args, **kwargs)
        correct_piece(piece=piece, size_label="26", colour="", reason="typed 24", by=world.inspector, at=NOW)
        return judged

    monkeypatch.setattr(carrying_out, "judge_pieces", judge_meanwhile)
    job = runs.request_store(run=run, accept_suspicious=True, by=world.inspector, at=NOW)
    tasks.execute(job.pk)
    job.refresh_from_db()
    assert (job.state, "corrected since the check" in job.error) == ("failed", True)
    assert not PieceVerdict.objects.exists()


def test_a_makers_own_number_that_looks_like_a_label_is_not_taken_for_one() -> None:
    world = make_world()
    batch = a_batch(world, waiting=["24", "24"])
    one, two = batch.pieces.order_by("number")
    Piece.objects.filter(pk=one.pk).update(maker_reference="P7700")
    Piece.objects.filter(pk=two.pk).update(maker_reference=f"P{one.number}")

    def checked(reference: str) -> ImportRun:
        return check(
            upload(csv_of([row(reference)]), world, target=Target(into=batch.label), name=reference), world
        )

    assert faults(checked(f"P{one.number}")) == [
        f"'P{one.number}' may be {one.label}, {two.label}. Type the label of the one that is meant."
    ]
    for reference in (one.label, "P7700"):
        run = checked(reference)
        assert (faults(run), run.report["counts"]["numbered_before"]) == ([], 1)


def test_a_destination_that_is_gone_is_named() -> None:
    world = make_world()
    run = check(upload(csv_of([row("a1")]), world, target=Target(into="B0999")), world)
    assert any("There is no delivery or batch 'B0999'" in fault for fault in faults(run))


def test_destinations_are_found_by_label_and_offered_newest_first() -> None:
    world = make_world()
    first, second = a_batch(world), a_batch(world)
    assert destination(first.label.lower()) == first
    assert destination(second.delivery.label) == second.delivery
    assert [destination(text) for text in ("", "P000001", "B", "B99999999999")] == [None] * 4
    assert list(latest_batches()) == [second, first]
    assert list(latest_deliveries(most=1)) == [second.delivery]


def test_the_same_file_is_not_added_to_a_second_batch() -> None:
    world = make_world()
    first, second = a_batch(world), a_batch(world)
    content = csv_of([row("a1")])
    bring_in(content, world, target=Target(into=first.label))
    run = check(upload(content, world, target=Target(into=second.label)), world)
    with pytest.raises(StoredBefore):
        runs.request_store(run=run, accept_suspicious=True, by=world.inspector, at=NOW)
