"""The deeds of an import: upload, choose, check, store. Each can be taken again until the file is stored."""

from __future__ import annotations

import hashlib
from collections.abc import Callable
from typing import TYPE_CHECKING, Any

from django.core.files.base import ContentFile
from django.db import transaction
from django.utils import timezone

from inventory.access import Deed, require
from inventory.calc.length import Unit
from inventory.models import ImportRun, Shop
from inventory.services.audit import leave_row
from inventory.services.importing.books import Books, known_points
from inventory.services.importing.checking import check_pieces
from inventory.services.importing.exported import read_export
from inventory.services.importing.files import Table, read_table
from inventory.services.importing.guessing import propose
from inventory.services.importing.judging import judge_pieces
from inventory.services.importing.mapping import TableMapping, Target
from inventory.services.importing.refusals import (
    FileNotReadable,
    MappingIncomplete,
    NotReady,
    StoredBefore,
    SuspicionsOpen,
)
from inventory.services.importing.report import Report
from inventory.services.importing.restoring import check_empty, check_export, restore
from inventory.services.importing.storing import store_pieces
from inventory.services.jobs import JobRefused, finish_job, hold_job, report_progress, request_job

if TYPE_CHECKING:
    import datetime as dt

    from inventory.models import Job, User

CHECK = "import-check"
STORE = "import-store"

DEEDS = {
    ImportRun.Kind.PIECES.value: Deed.BRING_IN,
    ImportRun.Kind.SPEC.value: Deed.SET_UP,
    ImportRun.Kind.WHOLE.value: Deed.ADMINISTER,
}
WHOLE = ImportRun.Kind.WHOLE.value

State = ImportRun.State
Json = dict[str, Any]  # Any: what JSON can hold


@transaction.atomic
def upload_file(*, kind: str, name: str, content: bytes, by: User, at: dt.datetime) -> ImportRun:
    """Keep a file and propose how to read it. Raises `FileNotReadable`; nothing is kept then."""
    require(by, DEEDS[kind])
    table = None
    if kind == WHOLE:
        check_empty()
        read_export(content)
    else:
        table = read_table(content)
    run = ImportRun(
        kind=kind,
        file_name=name[-160:] or "file",
        digest=_digest(content, table),
        mapping={} if table is None else _proposal(table, kind).as_json(),
        created_by=by,
        created_at=at,
    )
    run.file.save(f"{run.digest[:16]}{_ending(name)}", ContentFile(content), save=False)
    run.save()
    leave_row(who=by, deed="upload file", subject=run, at=at, digest=run.digest, kind=kind)
    return run


def content_of(run: ImportRun) -> bytes:
    """The file as it came. Raises `FileNotReadable` when it is no longer there."""
    try:
        with run.file.open("rb") as kept:
            content: bytes = kept.read()
    except FileNotFoundError as gone:
        raise FileNotReadable(
            f"The uploaded file {run.file_name!r} is no longer on the server. Upload it again."
        ) from gone
    return content


def table_of(run: ImportRun, *, sheet: str | None = None) -> Table:
    """The rows of the run's file, of the sheet that was chosen unless another is named."""
    chosen = str(run.mapping.get("sheet", "")) if sheet is None else sheet
    return read_table(content_of(run), sheet=chosen)


def stored_before(run: ImportRun) -> ImportRun | None:
    """The run that stored this very file (this very sheet of it) earlier, if any."""
    return (
        ImportRun.objects.filter(kind=run.kind, digest=run.digest, state=State.STORED)
        .exclude(pk=run.pk)
        .select_related("created_by")
        .first()
    )


@transaction.atomic
def read_header_again(
    *, run: ImportRun, sheet: str, header_row: int | None, header_rows: int, target: Target, by: User
) -> ImportRun:
    """Take another sheet, or another header row (from 1), and propose anew what the columns mean.

    `header_row` None looks for the header. Raises `FileNotReadable`, `MappingIncomplete`.
    """
    require(by, DEEDS[run.kind])
    held = _open_run(run)
    content = content_of(held)
    table = read_table(content, sheet=sheet)
    if header_row is not None and header_row + header_rows > len(table.rows) + 1:
        raise MappingIncomplete(
            f"The header cannot be in row {header_row}: the table has {len(table.rows)} rows.",
            field="header_row",
        )
    held.digest = _digest(content, table)
    return _set_mapping(
        held, _proposal(table, held.kind, target=target, header_row=header_row, header_rows=header_rows)
    )


@transaction.atomic
def choose_mapping(*, run: ImportRun, mapping: TableMapping, by: User) -> ImportRun:
    """Keep the choices about columns, unit and delivery; an earlier check no longer counts."""
    require(by, DEEDS[run.kind])
    return _set_mapping(_open_run(run), mapping)


@transaction.atomic
def request_check(*, run: ImportRun, by: User) -> Job:
    """Ask for the file to be checked in the background. Raises `NotReady`."""
    require(by, DEEDS[run.kind])
    held = _open_run(run)
    return _request(held, CHECK, State.CHECKING, by=by)


@transaction.atomic
def request_store(*, run: ImportRun, accept_suspicious: bool, by: User, at: dt.datetime) -> Job:
    """Ask for the checked file to be stored. Raises `NotReady`, `StoredBefore`, `SuspicionsOpen`."""
    require(by, DEEDS[run.kind])
    held = _open_run(run)
    if held.state != State.CHECKED:
        raise NotReady(f"{held.file_name} was not checked yet with these choices. Check it first.")
    counts = held.report["counts"]
    if counts["errors"]:
        raise NotReady(f"{counts['errors']} errors are left. Correct them in the file and upload it again.")
    _refuse_stored(held)
    suspicious = counts.get("suspicious", 0)
    if suspicious and not accept_suspicious:
        look = "1 cell looks like a slip" if suspicious == 1 else f"{suspicious} cells look like slips"
        raise SuspicionsOpen(
            f"{look}. Tick that what was typed is to be stored, or correct the file.", field="accept"
        )
    if suspicious:
        leave_row(who=by, deed="accept suspicious cells", subject=held, at=at, cells=suspicious)
    return _request(held, STORE, State.STORING, by=by)


def carry_out_check(job: Job) -> Json:
    """The work of a check: read, judge what is wrong, keep the report."""
    run = _run_of(job)
    report = _guarded(run, lambda: _check(run, job))
    with transaction.atomic():
        hold_job(job)
        run.report = report
        run.state = State.CHECKED
        run.save(update_fields=["report", "state"])
        finish_job(job, {"run": run.pk})
    return {"run": run.pk}


def carry_out_store(job: Job) -> Json:
    """The work of storing: read and judge once more, then everything in one transaction."""
    run = _run_of(job)
    if run.state == State.STORED:
        return dict(run.report.get("stored", {}))
    return _guarded(run, lambda: _store(run, job))


def _check(run: ImportRun, job: Job) -> Json:
    at = timezone.now()
    report_progress(job, 0, 100, "reading the file")
    if run.kind == WHOLE:
        report = Report()
        check_empty()
        check_export(read_export(content_of(run)), report)
        return report.as_json()
    table = table_of(run)
    if run.kind == ImportRun.Kind.SPEC:
        from inventory.services.importing.specs import check_spec  # noqa: PLC0415  # needed for specs only

        return check_spec(table, TableMapping.from_json(run.mapping), by=run.created_by)[1].as_json()
    report_progress(job, 20, 100, f"understanding {len(table.rows)} lines")
    _, report = check_pieces(
        table,
        TableMapping.from_json(run.mapping),
        Books(),
        by=run.created_by,
        at=at,
        display=Shop.objects.current().as_display(),
        said=lambda done, total: report_progress(
            job, 40 + 60 * done // max(total, 1), 100, "looking for slips"
        ),
    )
    return report.as_json()


def _store(run: ImportRun, job: Job) -> Json:
    at = timezone.now()
    by = job.created_by or run.created_by
    report_progress(job, 0, 100, "reading the file")
    write = _writer_of(run, job=job, by=by, at=at)
    report_progress(job, 70, 100, "storing")
    with transaction.atomic():
        hold_job(job)
        _refuse_stored(run)
        stored = write(by, at)
        run.report = {**run.report, "stored": stored}
        run.state, run.stored_at = State.STORED, at
        run.save(update_fields=["report", "state", "stored_at"])
        leave_row(who=by, deed="store import", subject=run, at=at, digest=run.digest, **stored)
        finish_job(job, stored)
    return stored


Writer = Callable[["User", "dt.datetime"], Json]


def _writer_of(run: ImportRun, *, job: Job, by: User, at: dt.datetime) -> Writer:
    """Everything that can be done before the transaction, and the function that writes inside it."""
    if run.kind == WHOLE:
        tables = read_export(content_of(run))
        return lambda _by, _at: restore(tables)
    table, mapping = table_of(run), TableMapping.from_json(run.mapping)
    if run.kind == ImportRun.Kind.SPEC:
        return _spec_writer(table, mapping)
    return _piece_writer(run, table, mapping, job=job, by=by, at=at)


def _spec_writer(table: Table, mapping: TableMapping) -> Writer:
    from inventory.services.importing.specs import store_spec  # noqa: PLC0415  # needed for specs only

    return lambda by, at: store_spec(table, mapping, by=by, at=at)


def _piece_writer(
    run: ImportRun, table: Table, mapping: TableMapping, *, job: Job, by: User, at: dt.datetime
) -> Writer:
    shop = Shop.objects.current()
    books = Books()
    report_progress(job, 15, 100, f"understanding {len(table.rows)} lines")
    pieces, report = check_pieces(
        table, mapping, books, by=by, at=at, display=shop.as_display(), said=lambda _done, _total: None
    )
    known = run.report["counts"]
    if report.error_count or report.suspicion_count != known.get("suspicious", 0):
        raise NotReady(
            "Since the check something changed in makers, styles, specs or people, and the file reads "
            "otherwise "
            f"now ({report.error_count} errors, {report.suspicion_count} suspicious cells). Check it again."
        )
    report_progress(job, 50, 100, f"judging {len(pieces)} pieces")
    judged = judge_pieces(pieces, books, shelf=shop.shelf_rule.as_rule(), claim=shop.claim_rule.as_rule())
    return lambda by, at: store_pieces(
        pieces, judged, books, run=run, shop=shop, unit=mapping.unit.value, by=by, at=at
    )


def _guarded(run: ImportRun, work: Callable[[], Json]) -> Json:
    """Do the work; whatever stops it leaves the run failed, so that it can be changed and tried again."""
    try:
        return work()
    except Exception:
        ImportRun.objects.filter(pk=run.pk).exclude(state=State.STORED).update(state=State.FAILED)
        raise


def _run_of(job: Job) -> ImportRun:
    run = ImportRun.objects.select_related("created_by").filter(pk=job.arguments.get("run")).first()
    if run is None:
        raise JobRefused("The import this work belongs to is gone. Upload the file again.")
    return run


def _open_run(run: ImportRun) -> ImportRun:
    """The run as stored, locked, unless it is stored already or somebody works on it."""
    held = ImportRun.objects.select_for_update(of=("self",)).select_related("job").get(pk=run.pk)
    if held.state == State.STORED:
        raise StoredBefore(f"{held.file_name} is stored already. Upload another file.")
    if held.job is not None and not held.job.is_over:
        raise NotReady(f"{held.file_name} is being worked on. Wait until that is done.")
    return held


def _set_mapping(run: ImportRun, mapping: TableMapping) -> ImportRun:
    run.mapping = mapping.as_json()
    run.state, run.report, run.job = State.UPLOADED, {}, None
    run.save(update_fields=["mapping", "state", "report", "job", "digest"])
    return run


def _request(run: ImportRun, kind: str, state: str, *, by: User) -> Job:
    job = request_job(kind, {"run": run.pk}, by=by, dedupe_key=f"import {run.pk}")
    run.job, run.state = job, state
    run.save(update_fields=["job", "state"])
    return job


def _refuse_stored(run: ImportRun) -> None:
    before = stored_before(run)
    if before is not None and before.stored_at is not None:
        raise StoredBefore(
            f"This very file was stored on {timezone.localtime(before.stored_at):%d %B %Y %H:%M} by "
            f"{before.created_by} already, as {before.file_name!r}. Storing it twice would count every "
            "piece twice."
        )


def _proposal(
    table: Table,
    kind: str,
    *,
    target: Target | None = None,
    header_row: int | None = None,
    header_rows: int = 1,
) -> TableMapping:
    return propose(
        table,
        kind=kind,
        points=known_points(),
        unit=Unit(Shop.objects.current().display_unit),
        target=target or Target(),
        header=None if header_row is None else (header_row - 1, header_rows),
    )


def _digest(content: bytes, table: Table | None) -> str:
    """SHA-256 of the file; of the file and the sheet's name where a workbook has several."""
    name = f"\0sheet {table.sheet}" if table is not None and len(table.sheets) > 1 else ""
    return hashlib.sha256(content + name.encode()).hexdigest()


def _ending(name: str) -> str:
    known = (".xlsx", ".zip", ".json")
    return next((ending for ending in known if name.lower().endswith(ending)), ".csv")
