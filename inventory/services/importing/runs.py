"""The deeds of an import: upload, choose, ask for check and store; again and again until it is stored."""

from __future__ import annotations

import io
from collections.abc import Mapping
from typing import TYPE_CHECKING, Any, BinaryIO

from django.core.files.base import File
from django.db import transaction
from django.utils import timezone

from inventory.access import Deed, require
from inventory.models import ImportRun
from inventory.services.audit import leave_row
from inventory.services.importing.exported import read_export
from inventory.services.importing.files import read_table
from inventory.services.importing.first_reading import propose_reading, read_first
from inventory.services.importing.kept_file import content_of, digest_of, ending_of
from inventory.services.importing.mapping import TableMapping, Target
from inventory.services.importing.namesakes import check_answers
from inventory.services.importing.refusals import (
    MappingIncomplete,
    NoColumns,
    NotReady,
    StoredBefore,
    SuspicionsOpen,
)
from inventory.services.importing.report import odd_in_words
from inventory.services.importing.restoring import check_empty
from inventory.services.importing.sheets import named_columns
from inventory.services.jobs import request_job

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
def upload_file(
    *,
    kind: str,
    name: str,
    content: bytes | BinaryIO,
    by: User,
    at: dt.datetime,
    as_before: bool = False,
) -> ImportRun:
    """Keep a file and propose how to read it. Raises `FileNotReadable`; nothing is kept then.

    A whole export may be given as an open file: its photos can be larger than memory. With `as_before` the
    choices are those that the person made for their newest file of the same columns, if there is one.
    """
    require(by, DEEDS[kind])
    file = io.BytesIO(content) if isinstance(content, bytes) else content
    table, mapping = None, None
    report: Json = {}
    if kind == WHOLE:
        check_empty()
        read_export(file)
    else:
        table, mapping, report = read_first(file.read(), kind, by=by, as_before=as_before)
    run = ImportRun(
        kind=kind,
        file_name=name[-160:] or "file",
        digest=digest_of(file, table),
        mapping={} if mapping is None else mapping.as_json(),
        report=report,
        created_by=by,
        created_at=at,
    )
    run.file.save(f"{run.digest[:16]}{ending_of(name)}", File(file), save=False)
    run.save()
    leave_row(who=by, deed="upload file", subject=run, at=at, digest=run.digest, kind=kind)
    return run


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

    `header_row` None looks for the header. Raises `FileNotReadable`, `MappingIncomplete`, `NoColumns`.
    """
    require(by, DEEDS[run.kind])
    held = _open_table(run)
    content = content_of(held)
    table = read_table(content, sheet=sheet, head_of_big=True)
    if header_row is not None and header_row + header_rows > len(table.rows) + 1:
        raise MappingIncomplete(
            f"The header cannot be in row {header_row}: the table has {len(table.rows)} rows.",
            field="header_row",
        )
    held.digest = digest_of(io.BytesIO(content), table)
    mapping = propose_reading(table, held.kind, target=target, header_row=header_row, header_rows=header_rows)
    return _set_mapping(held, mapping, labels=named_columns(table, mapping))


@transaction.atomic
def choose_mapping(*, run: ImportRun, mapping: TableMapping, by: User) -> ImportRun:
    """Keep the choices about columns, unit and delivery; an earlier check no longer counts.

    Raises `NoColumns`.
    """
    require(by, DEEDS[run.kind])
    held = _open_table(run)
    return _set_mapping(held, mapping, labels=held.report.get("labels", []))


@transaction.atomic
def request_check(*, run: ImportRun, by: User) -> Job:
    """Ask for the file to be checked in the background. Raises `NotReady`."""
    require(by, DEEDS[run.kind])
    held = _open_run(run)
    return _request(held, CHECK, State.CHECKING, by=by)


@transaction.atomic
def request_store(
    *,
    run: ImportRun,
    accept_suspicious: bool,
    by: User,
    at: dt.datetime,
    who: Mapping[str, str] | None = None,
) -> Job:
    """Ask for the checked file to be stored.

    Raises `NotReady`, `StoredBefore`, `SuspicionsOpen` and `PeopleOpen`. `who`: for each name of the
    report that could be somebody, the user name, or empty for nobody here.
    """
    require(by, DEEDS[run.kind])
    held = _open_run(run)
    if held.state != State.CHECKED:
        raise NotReady(f"{held.file_name} was not checked yet with these choices. Check it first.")
    counts = held.report["counts"]
    if counts["errors"]:
        raise NotReady(f"{counts['errors']} errors are left. Correct them in the file and upload it again.")
    refuse_stored(held)
    odd = odd_in_words(counts)
    if odd and not accept_suspicious:
        raise SuspicionsOpen(
            f"{odd}. Tick that what was typed is to be stored, or correct the file.",
            field="accept_suspicious",
        )
    if odd:
        cells, rows = counts.get("suspicious", 0), counts.get("doubles", 0)
        leave_row(who=by, deed="accept suspicious cells", subject=held, at=at, cells=cells, doubles=rows)
    answers = check_answers(held.report.get("people", ()), who or {})
    if answers:
        held.report = {**held.report, "who": answers}
        held.save(update_fields=["report"])
        leave_row(who=by, deed="say who measured", subject=held, at=at, people=answers)
    return _request(held, STORE, State.STORING, by=by)


def _open_run(run: ImportRun) -> ImportRun:
    """The run as stored, locked, unless it is stored already or somebody works on it."""
    held = ImportRun.objects.select_for_update(of=("self",)).select_related("job").get(pk=run.pk)
    if held.state == State.STORED:
        raise StoredBefore(f"{held.file_name} is stored already. Upload another file.")
    if held.job is not None and not held.job.is_over:
        raise NotReady(f"{held.file_name} is being worked on. Wait until that is done.")
    return held


def _open_table(run: ImportRun) -> ImportRun:
    """As `_open_run`, of a file whose columns can be chosen."""
    if run.kind == WHOLE:
        raise NoColumns(
            f"{run.file_name} is a whole export, which is read as it was written: there are no columns to "
            "choose. Check it as it is."
        )
    return _open_run(run)


def _set_mapping(run: ImportRun, mapping: TableMapping, *, labels: list[str]) -> ImportRun:
    run.mapping = mapping.as_json()
    run.state, run.report, run.job = State.UPLOADED, {"labels": labels}, None
    run.save(update_fields=["mapping", "state", "report", "job", "digest"])
    return run


def _request(run: ImportRun, kind: str, state: str, *, by: User) -> Job:
    job = request_job(kind, {"run": run.pk}, by=by, dedupe_key=f"import {run.pk}")
    run.job, run.state = job, state
    run.save(update_fields=["job", "state"])
    return job


def refuse_stored(run: ImportRun) -> None:
    """Raise `StoredBefore` when this very file is in the shop already."""
    before = stored_before(run)
    if before is not None and before.stored_at is not None:
        raise StoredBefore(
            f"This very file was stored on {timezone.localtime(before.stored_at):%d %B %Y %H:%M} by "
            f"{before.created_by} already, as {before.file_name!r}. Storing it twice would count every "
            "piece twice."
        )
