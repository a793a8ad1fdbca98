"""The steps of an import: upload, columns, preview, store, result."""

from __future__ import annotations

from dataclasses import asdict
from typing import TYPE_CHECKING, Any, BinaryIO, cast

from django.contrib import messages
from django.http import Http404, HttpResponse, JsonResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_POST

from inventory import tasks
from inventory.access import Deed, may
from inventory.models import ImportRun, Style, User
from inventory.queries import exchange as ask
from inventory.services.importing import runs
from inventory.services.importing.kept_file import table_of
from inventory.services.importing.refusals import IsWholeExport
from inventory.services.importing.report import odd_in_words
from inventory.services.importing.taking_over import who_before
from inventory.services.importing.templates import template_for
from inventory.services.progress import progress_of
from inventory.services.refusals import Refused
from inventory.web.entrance import attempt
from inventory.web.exchange.entrance import found_style, importer, run_for
from inventory.web.exchange.forms import AcceptForm, MappingForm, RestoreForm, UploadForm

if TYPE_CHECKING:
    from django.core.files.uploadedfile import UploadedFile
    from django.http import HttpRequest, QueryDict

SHOWN = 100
State = ImportRun.State
_ROWS_TITLES = {runs.WHOLE: "What the export holds", ImportRun.Kind.SPEC.value: "The points as understood"}


def import_new(request: HttpRequest, kind: str) -> HttpResponse:
    """Upload a file."""
    person = importer(request, kind)
    is_whole = False
    form_class = RestoreForm if kind == runs.WHOLE else UploadForm
    form = form_class(request.POST or None, request.FILES or None)
    if request.method == "POST" and form.is_valid():
        file = form.cleaned_data["file"]
        run, is_whole = _kept(form, kind, file, person)
        if run is not None and kind == runs.WHOLE:
            tasks.nudge(runs.request_check(run=run, by=person))
            return redirect("import", run.pk)
        if run is not None:
            return redirect("import-columns", run.pk)
    styles = Style.objects.filter(is_active=True) if kind != runs.WHOLE else Style.objects.none()
    return render(
        request,
        f"inventory/exchange/upload_{kind}.html",
        {
            "form": form,
            "kind": kind,
            "styles": styles,
            "is_whole": is_whole,
            "may_restore": may(person, Deed.ADMINISTER),
        },
    )


def _kept(
    form: UploadForm, kind: str, file: UploadedFile[bytes], person: User
) -> tuple[ImportRun | None, bool]:
    """The import of the file, and whether it was refused for being a whole export."""
    refused: list[IsWholeExport] = []

    def keep() -> ImportRun:
        try:
            return runs.upload_file(
                kind=kind,
                name=file.name or "",
                content=cast("BinaryIO", file),
                by=person,
                at=timezone.now(),
                as_before=True,
            )
        except IsWholeExport as refusal:
            refused.append(refusal)
            raise

    return attempt(form, keep), bool(refused)


@never_cache  # Back must ask again: by then the file may be stored
def import_columns(request: HttpRequest, pk: int) -> HttpResponse:
    """Say what the columns mean; POST checks the file, or reads another header first."""
    run, person = run_for(request, pk)
    if run.kind == runs.WHOLE or run.state == State.STORED:
        return redirect("import", pk)
    try:
        table = table_of(run, head_of_big=True)
    except Refused as refusal:
        return render(request, "inventory/exchange/gone.html", {"run": run, "sentence": str(refusal)})
    form = MappingForm(request.POST or None, run=run, table=table)
    if request.method == "POST" and form.is_valid():
        if "again" in request.POST or form.header_changed:
            chosen = form.cleaned_data
            again = attempt(
                form,
                lambda: runs.read_header_again(
                    run=run,
                    sheet=chosen.get("sheet", ""),
                    header_row=None
                    if chosen.get("sheet", table.sheet) != table.sheet
                    else chosen["header_row"],
                    header_rows=chosen["header_rows"],
                    target=form.target(),
                    by=person,
                ),
            )
            if again is not None:
                return redirect("import-columns", pk)
        elif attempt(form, lambda: _check(run, form, person)):
            return redirect("import", pk)
    return render(
        request,
        "inventory/exchange/columns.html",
        {
            "run": run,
            "form": form,
            "table": table,
            "same": ask.runs_of_same_file(run),
            "kept": form.kept,
            "taken_over": ask.run_by_pk(run.report.get("taken_over", 0)),
        },
    )


def _check(run: ImportRun, form: MappingForm, person: User) -> bool:
    held = runs.choose_mapping(run=run, mapping=form.mapping(), by=person)
    tasks.nudge(runs.request_check(run=held, by=person))
    return True


@never_cache
def import_page(request: HttpRequest, pk: int) -> HttpResponse:
    """Where an import stands: being worked on, checked with its preview, stored, or failed."""
    run, _ = run_for(request, pk)
    job = run.job
    if job is not None and not job.is_over:
        return render(request, "inventory/exchange/working.html", {"run": run, "progress": progress_of(job)})
    if run.state == State.STORED:
        return render(request, "inventory/exchange/stored.html", _result(run))
    if run.state == State.CHECKED:
        return render(request, "inventory/exchange/preview.html", _preview(run, _accept_form(run)))
    if job is not None:
        return render(request, "inventory/exchange/failed.html", {"run": run, "job": job})
    if run.kind == runs.WHOLE:
        return redirect("import-new", runs.WHOLE)
    return redirect("import-columns", pk)


@require_POST
def import_check(request: HttpRequest, pk: int) -> HttpResponse:
    """Check again with the choices that are kept."""
    run, person = run_for(request, pk)
    try:
        tasks.nudge(runs.request_check(run=run, by=person))
    except Refused as refusal:
        messages.error(request, str(refusal))
    return redirect("import", pk)


@never_cache
@require_POST
def import_store(request: HttpRequest, pk: int) -> HttpResponse:
    """Store what was checked."""
    run, person = run_for(request, pk)
    if run.state != State.CHECKED:  # stored meanwhile, or being worked on, or never checked
        messages.info(
            request, f"{run.file_name}: {run.get_state_display().lower()}. Nothing was stored again."
        )
        return redirect("import", pk)
    form = _accept_form(run, request.POST)
    job = None
    if form.is_valid():
        job = attempt(
            form,
            lambda: runs.request_store(
                run=run,
                accept_suspicious=form.cleaned_data["accept_suspicious"],
                by=person,
                at=timezone.now(),
                who=form.who(),
            ),
        )
    if job is None:
        return render(request, "inventory/exchange/preview.html", _preview(run, form))
    tasks.nudge(job)
    return redirect("import", pk)


def import_progress(request: HttpRequest, pk: int) -> JsonResponse:
    """How far the work is, for the page that asks every second."""
    run, _ = run_for(request, pk)
    job = run.job
    if job is None:
        return JsonResponse({"over": True})
    return JsonResponse({"over": job.is_over, **asdict(progress_of(job))})


def import_template(request: HttpRequest, code: str, kind: str, form: str) -> HttpResponse:
    """A file to fill in, for one style."""
    importer(request, kind)
    if form not in ("csv", "xlsx"):
        raise Http404("There is no template of this form.")
    style = found_style(code)
    types = {"csv": "text/csv", "xlsx": "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"}
    answer = HttpResponse(template_for(style, kind=kind, form=form), content_type=types[form])
    answer["Content-Disposition"] = f'attachment; filename="{style.code}-{kind}.{form}"'
    return answer


def _accept_form(run: ImportRun, data: QueryDict | None = None) -> AcceptForm:
    people = run.report.get("people", [])
    return AcceptForm(data, people=people, labels=_labels(people), before=who_before(run.created_by))


def _labels(people: list[dict[str, Any]]) -> dict[str, str]:  # Any: what JSON can hold
    """What each person that a name means, or could mean, is called on the screen."""
    users = {user for one in people for user in (one["is_user"], *one["could_be"]) if user}
    found = User.objects.filter(username__in=users) if users else User.objects.none()
    return {
        person.username: f"{person.username} ({person}, {person.get_role_display().lower()})"
        for person in found
    }


def _who(people: list[dict[str, Any]]) -> list[tuple[str, str]]:  # Any: what JSON can hold
    """The names of a file beside whom they are taken for."""
    labels = _labels(people)
    return [
        (
            one["name"],
            labels.get(one["is_user"], one["is_user"])
            or (
                "to be chosen before storing"
                if one["could_be"]
                else "nobody here; the name is kept as a note"
            ),
        )
        for one in people
    ]


def _preview(run: ImportRun, form: AcceptForm) -> dict[str, object]:
    report = run.report
    return {
        "run": run,
        "form": form,
        "counts": report.get("counts", {}),
        "odd": odd_in_words(report.get("counts", {})),
        "errors": report.get("errors", [])[:SHOWN],
        "suspicious": report.get("suspicious", [])[:SHOWN],
        "left_out": report.get("left_out", [])[:SHOWN],
        "remarks": report.get("remarks", []),
        "heaps": report.get("heaps", [])[:SHOWN],
        "preview": report.get("preview", {}),
        "rows_title": _ROWS_TITLES.get(run.kind, "The first rows as understood"),
        "unused": report.get("unused", []),
        "who": _who(report.get("people", [])),
        "before": runs.stored_before(run),
        "shown": SHOWN,
    }


def _result(run: ImportRun) -> dict[str, object]:
    stored = run.report.get("stored", {})
    return {"run": run, "stored": stored, "batches": ask.batches_numbered(stored.get("batches", []))}
