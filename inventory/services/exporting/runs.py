"""Ask for an export, write it in the background, find its file again."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

from django.conf import settings
from django.db import transaction
from django.utils import timezone

from inventory.access import Deed, require
from inventory.queries.exchange import EXPORT
from inventory.services.audit import leave_row
from inventory.services.exporting.tables import TABLES
from inventory.services.exporting.writing import write_export
from inventory.services.jobs import JobRefused, finish_job, hold_job, report_progress, request_job

if TYPE_CHECKING:
    import datetime as dt

    from inventory.models import Job, User

FORMS: Final = {"xlsx": "xlsx", "csv": "zip", "json": "json"}
"""Forms of an export, and the ending of the file each is."""


class ExportRefused(JobRefused):
    """An export of a form that there is not."""


@transaction.atomic
def request_export(*, form: str, by: User, at: dt.datetime) -> Job:
    """Ask for everything to be written out. Raises `ExportRefused`."""
    require(by, Deed.TAKE_OUT)
    if form not in FORMS:
        raise ExportRefused(f"There is no export of the form {form!r}. Choose {', '.join(FORMS)}.")
    job = request_job(EXPORT, {"form": form}, by=by, dedupe_key=f"export {form} {by.pk}")
    leave_row(who=by, deed="ask for export", subject=job, at=at, form=form)
    return job


def carry_out_export(job: Job) -> dict[str, Any]:  # Any: what JSON can hold
    """Write the file beside its place and move it there when it is whole."""
    form = str(job.arguments["form"])
    at = timezone.now()
    place = file_of(job)
    place.parent.mkdir(parents=True, exist_ok=True)
    unfinished = place.with_suffix(f".{job.attempts}.part")
    done = 0

    def said(table: str) -> None:
        nonlocal done
        report_progress(job, done, len(TABLES) + 1, f"writing {table.replace('_', ' ')}")
        done += 1

    try:
        with unfinished.open("wb") as out:
            counts = write_export(form, out, at=at, said=said)
        unfinished.replace(place)
    finally:
        unfinished.unlink(missing_ok=True)
    result = {"rows": counts, "bytes": place.stat().st_size, "written_at": at.isoformat()}
    with transaction.atomic():
        hold_job(job)
        finish_job(job, result)
    return result


def file_of(job: Job) -> Path:
    """Where the export of a job lies, or will lie."""
    ending = FORMS.get(str(job.arguments.get("form")), "bin")
    return Path(settings.MEDIA_ROOT) / "exports" / f"export-{job.pk}.{ending}"
