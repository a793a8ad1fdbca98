"""The table of measurements: what stands in its lines, no formula in it, and who may have it."""

from __future__ import annotations

import csv
import datetime as dt
import io
import itertools
from typing import TYPE_CHECKING, Any

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from openpyxl import load_workbook

from inventory import tasks
from inventory.access import NotAllowed
from inventory.models import Batch, Job, Piece, PieceVerdict, Shop
from inventory.models.people import Role
from inventory.queries import measurements
from inventory.queries.measurements import measurements_of, pieces_measured
from inventory.services.dispositions import decide_disposition
from inventory.services.exporting import runs, sheets
from inventory.services.exporting.runs import ExportRefused, request_measurements
from inventory.services.judging import judge_inspection
from tests import factories
from tests.factories import LACED, NOW, PointRecipe

if TYPE_CHECKING:
    from collections.abc import Mapping

    from inventory.models import User

pytestmark = pytest.mark.django_db

Line = dict[str, Any]  # Any: whatever a cell can hold

NOTED = PointRecipe(
    "BW", "bone width", kind="length", sides="single", nominal_mm=12, step_mm=0, informational=True
)


def _judged(batch: Batch, off_mm: Mapping[tuple[str, str], float] | None = None, **fields: object) -> Piece:
    piece = factories.make_piece(batch, **fields)  # type: ignore[arg-type]  # fields of the factory
    sitting = factories.make_inspection(piece, finished_at=NOW)
    factories.measure_all(sitting, off_mm)
    judge_inspection(inspection=sitting, by=sitting.opened_by, at=NOW)
    return piece


def _written(form: str, batch: Batch | None = None, by: User | None = None) -> tuple[Job, bytes]:
    by = by or factories.make_user(Role.VIEWER)
    job = request_measurements(form=form, batch=batch, by=by, at=NOW)
    tasks.execute(job.pk)
    job.refresh_from_db()
    assert (job.state, job.error) == ("done", "")
    return job, runs.file_of(job).read_bytes()


def _csv(batch: Batch | None = None) -> list[Line]:
    _, content = _written("csv", batch)
    return list(csv.DictReader(io.StringIO(content.decode("utf-8-sig"))))


def _of(lines: list[Line], point: str, side: str) -> Line:
    (line,) = [line for line in lines if (line["point"], line["side"]) == (point, side)]
    return line


def test_each_side_and_aspect_has_a_line_with_what_was_asked_and_found() -> None:
    batch = factories.make_batch()
    piece = _judged(
        batch, {("WA", "L"): 9, ("WA", "R"): 9}, colour="ivory", maker_reference="M-7", size_label="24"
    )
    lines = _csv()
    assert [(line["point"], line["side"]) for line in lines] == [
        (code, side)
        for code in ("UB", "WA", "CF")
        for side in ("left", "right", "full girth", "left minus right")
        if (code, side) != ("CF", "full girth")
    ]
    waist = _of(lines, "WA", "left")
    assert (
        waist
        | {
            "maker": batch.delivery.maker.name,
            "order": "PO-1",
            "delivery": batch.delivery.label,
            "arrived": "2026-03-02",
            "batch": batch.label,
            "style": batch.style.code,
            "spec revision": "1",
            "piece": piece.label,
            "maker's or old number": "M-7",
            "colour": "ivory",
            "size on the label": "24",
            "judged as size": "24",
            "point name": "half waist",
            "readings as typed": "364",
            "typed in": "mm",
            "mean, mm": "364",
            "nominal, mm": "355",
            "lower limit, mm": "349",
            "upper limit, mm": "361",
            "deviation, mm": "9",
            "verdict": "out of tolerance",
            "decides": "yes",
            "measured at": "2026-03-02 09:00",
            "piece's verdict": "out of tolerance",
            "piece's disposition": "Hold",
        }
        == waist
    )
    verdict = PieceVerdict.objects.get()
    found = {finding.aspect.value: finding for finding in verdict.as_findings()["WA"]}
    assert float(waist["± (k = 2), mm"]) == pytest.approx(2 * found["L"].u_nm / 1e6, abs=1e-3)
    assert float(waist["± (k = 2), mm"]) >= 2 * found["L"].u_nm / 1e6
    full = _of(lines, "WA", "full girth")
    assert (full["readings as typed"], full["mean, mm"], full["nominal, mm"]) == ("", "728", "710")
    assert full["measured by"] == waist["measured by"] != ""
    pair = _of(lines, "WA", "left minus right")
    assert (pair["mean, mm"], pair["lower limit, mm"], pair["upper limit, mm"]) == ("0", "-6", "6")


def test_repeats_are_joined_and_a_corrected_reading_is_not_among_them() -> None:
    batch = factories.make_batch()
    piece = factories.make_piece(batch)
    sitting = factories.make_inspection(piece, finished_at=NOW)
    factories.measure_all(sitting)
    wrong = sitting.readings.get(point__code="WA", side="L")
    factories.make_reading(sitting, "WA", "L", mm=354, corrects=wrong, reason="pulled too tight")
    later = NOW + dt.timedelta(minutes=7)
    factories.make_reading(
        sitting,
        "WA",
        "L",
        mm=355,
        typed="14",
        unit="in",
        taken_at=later,
        taken_by=factories.make_user(),
        instrument=factories.make_instrument(number="T-9"),
    )
    judge_inspection(inspection=sitting, by=sitting.opened_by, at=NOW)
    waist = _of(_csv(batch), "WA", "left")
    assert (waist["readings as typed"], waist["typed in"]) == ("354; 14", "mm; in")
    assert waist["mean, mm"] == "354.5"
    assert waist["measured at"] == "2026-03-02 09:07"
    assert (waist["measured by"].count(";"), waist["tape"]) == (1, "T-9")


def test_a_shop_in_inches_reads_inches_and_millimetres_beside_them() -> None:
    Shop.objects.update(display_unit="in", fraction_denominator=8)
    _judged(factories.make_batch())
    waist = _of(_csv(), "WA", "left")
    assert (waist["mean, in"], waist["mean, mm"]) == ("13.976378", "355")
    assert waist["upper limit, in"] == "14.212598"


def test_what_was_only_read_has_a_line_without_a_verdict() -> None:
    batch = factories.make_batch(factories.make_spec(points=(*LACED, NOTED)))
    _judged(batch)
    begun = factories.make_piece(batch)
    factories.make_reading(factories.make_inspection(begun), "WA", "R", mm=371)
    factories.make_piece(batch)  # nobody has begun it
    lines = _csv(batch)
    (width,) = [line for line in lines if line["point"] == "BW"]
    assert (width["verdict"], width["lower limit, mm"], width["decides"]) == (
        "for information only", "", "no"
    )  # fmt: skip
    assert (width["nominal, mm"], width["piece's verdict"]) == ("12", "in tolerance")
    (waist,) = [line for line in lines if line["piece"] == begun.label]
    assert (waist["point"], waist["side"], waist["deviation, mm"]) == ("WA", "right", "16")
    assert {waist["verdict"], waist["claim verdict"], waist["piece's verdict"]} == {"not judged yet"}


def test_a_relabelled_piece_is_told_as_to_be_measured_again() -> None:
    piece = _judged(factories.make_batch(), {("WA", "L"): 25, ("WA", "R"): 25})
    owner = factories.make_user("owner")
    decide_disposition(piece=piece, decision="relabel", new_size_label="26", by=owner, at=NOW)
    line = _csv()[0]
    assert (line["size on the label"], line["judged as size"]) == ("26", "24")
    assert (line["piece's verdict"], line["piece's disposition"]) == ("to measure again", "Re-label")


def test_a_batch_tells_its_own_pieces_only() -> None:
    mine, other = factories.make_batch(), factories.make_batch()
    piece = _judged(mine)
    _judged(other)
    assert {line["piece"] for line in _csv(mine)} == {piece.label}
    assert len(_csv()) == 2 * len(_csv(mine))


HOSTILE = '=HYPERLINK("https://example.invalid","open")'


def test_nothing_that_was_typed_is_a_formula_in_either_form() -> None:
    batch = factories.make_batch(
        delivery=factories.make_delivery(maker=factories.make_maker(name=HOSTILE), order_reference="@order")
    )
    piece = _judged(batch, maker_reference="+1+1", colour="-ivory")
    sitting = piece.inspections.get()
    wrong = sitting.readings.get(point__code="WA", side="L")
    factories.make_reading(sitting, typed="=1+1", corrects=wrong, reason="typed wrong")
    line = _of(_csv(), "WA", "left")
    assert (line["maker"], line["order"]) == (f"'{HOSTILE}", "'@order")
    assert (line["maker's or old number"], line["colour"]) == ("'+1+1", "'-ivory")
    assert line["readings as typed"] == "'=1+1"
    _, content = _written("xlsx")
    rows = load_workbook(io.BytesIO(content))["measurements"].iter_rows()
    assert {cell.data_type for row in rows for cell in row} == {"s", "n", "d"}  # none is "f"


def test_the_workbook_has_real_numbers_and_days_a_heading_that_stays_and_filters() -> None:
    batch = factories.make_batch()
    piece = _judged(batch, {("WA", "L"): -2.5})
    job, content = _written("xlsx", batch)
    book = load_workbook(io.BytesIO(content))
    sheet = book["measurements"]
    head, *rows = sheet.iter_rows(values_only=True)
    lines: list[Line] = [dict(zip(map(str, head), row, strict=True)) for row in rows]
    waist = _of(lines, "WA", "left")
    assert (waist["mean, mm"], waist["deviation, mm"], waist["spec revision"]) == (352.5, -2.5, 1)
    at_nine = NOW.replace(tzinfo=None)  # the shop's clock is UTC here
    assert waist["arrived"] == at_nine.replace(hour=0)
    assert waist["measured at"] == at_nine
    assert sheet.freeze_panes == "A2"
    assert sheet.auto_filter.ref == sheet.dimensions
    assert all(sheet.column_dimensions[letter].width >= 8 for letter in ("A", "M", "Z"))
    assert book.sheetnames == ["measurements", "about"]
    assert ("batch", batch.label) in set(book["about"].iter_rows(values_only=True))
    assert job.result["rows"] == {"lines": len(lines), "pieces": 1}
    assert {line["piece"] for line in lines} == {piece.label}


def test_what_one_sheet_does_not_hold_goes_on_the_next(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(sheets, "MOST_SHEET_ROWS", 4)
    _judged(factories.make_batch())
    _, content = _written("xlsx")
    book = load_workbook(io.BytesIO(content))
    assert book.sheetnames[:3] == ["measurements", "measurements 2", "measurements 3"]
    rows = [list(book[name].iter_rows(values_only=True)) for name in book.sheetnames[:3]]
    assert [len(of_sheet) - 1 for of_sheet in rows] == [4, 4, 3]
    assert rows[0][0] == rows[1][0] == rows[2][0]


def test_ten_pieces_more_cost_no_statement_more(monkeypatch: pytest.MonkeyPatch) -> None:
    batch = factories.make_batch()
    _judged(batch)
    list(measurements_of(pieces_measured(batch)))  # the spec's plans are in memory from here on

    def statements() -> int:
        with CaptureQueriesContext(connection) as seen:
            list(measurements_of(pieces_measured(batch)))
        return len(seen)

    few = statements()
    for _ in range(10):
        _judged(batch)
    assert statements() == few
    # In smaller lots there are more statements, and the very same lines.
    whole = [line.piece.label for lot in measurements_of(pieces_measured(batch)) for line in lot]
    monkeypatch.setattr(measurements, "AT_ONCE", 3)
    lots = [[line.piece.label for line in lot] for lot in measurements_of(pieces_measured(batch))]
    assert len(lots) == 4
    assert list(itertools.chain(*lots)) == whole == sorted(whole)


@pytest.mark.parametrize("role", list(Role.values))
def test_whoever_may_look_may_have_it(role: str) -> None:
    _judged(factories.make_batch())
    _, content = _written("csv", by=factories.make_user(role))
    assert b"half waist" in content


def test_nobody_who_left_may_have_it_and_no_address_is_in_it() -> None:
    _judged(factories.make_batch())
    gone = factories.make_user(Role.OWNER)
    gone.is_active = False
    with pytest.raises(NotAllowed):
        request_measurements(form="csv", by=gone, at=NOW)
    type(gone).objects.update(email="someone@example.invalid")
    assert b"example.invalid" not in _written("csv")[1]


def test_a_form_that_there_is_not_is_refused_by_name() -> None:
    with pytest.raises(ExportRefused, match=r"no export of the form 'pdf'. Choose csv, xlsx"):
        request_measurements(form="pdf", by=factories.make_user(), at=NOW)
    assert not Job.objects.exists()
