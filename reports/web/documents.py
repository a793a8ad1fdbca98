"""Ask for a document, watch it being made, fetch it."""

from __future__ import annotations

from typing import TYPE_CHECKING

from django.core.paginator import Paginator
from django.db import transaction
from django.http import FileResponse, Http404, HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods

from inventory.access import Deed, require
from inventory.models import Shop, User
from inventory.services.refusals import Refused
from inventory.tasks import nudge
from reports.models import Document
from reports.queries.documents import documents, subject_named
from reports.services.documents import request_document
from reports.web.forms import DocumentForm

if TYPE_CHECKING:
    from collections.abc import Mapping

    from reports.services.documents import Subject


@require_GET
def document_list(request: HttpRequest) -> HttpResponse:
    """What was asked for, newest first."""
    require(request.user, Deed.VIEW)
    page = Paginator(documents(), 25).get_page(request.GET.get("page"))
    return render(request, "reports/documents.html", {"page": page})


@require_http_methods(["GET", "HEAD", "POST"])
def document_new(request: HttpRequest) -> HttpResponse:
    """Choose the paper, then ask for the document."""
    require(request.user, Deed.PRINT)
    kind = _kind(request.GET)
    subject = subject_named(request.GET)
    form = DocumentForm(
        request.POST if request.method == "POST" else None,
        kind=kind.value,
        initial={"paper": Shop.objects.current().paper},
    )
    if form.is_valid():
        try:
            return _ask(request, kind, subject, form)
        except Refused as refusal:
            form.add_error(refusal.field if refusal.field in form.fields else None, str(refusal))
    return render(request, "reports/document_new.html", {"form": form, "kind": kind, "subject": subject})


@require_GET
def document_page(request: HttpRequest, pk: int) -> HttpResponse:
    """How far a document is, and where to fetch it."""
    require(request.user, Deed.VIEW)
    return render(request, "reports/document.html", {"document": get_object_or_404(documents(), pk=pk)})


@require_GET
def document_progress(request: HttpRequest, pk: int) -> JsonResponse:
    """The same for the page's script."""
    require(request.user, Deed.VIEW)
    job = get_object_or_404(documents(), pk=pk).job
    return JsonResponse({"state": job.state, "done": job.done, "total": job.total})


@require_GET
def document_file(request: HttpRequest, pk: int) -> FileResponse:
    """The PDF itself, to those who may see the records it was made from."""
    require(request.user, Deed.VIEW)
    document = get_object_or_404(documents(), pk=pk)
    if not document.file:
        raise Http404("This document is not made yet. Wait for it on its page.")
    answer = FileResponse(
        document.file.open("rb"), content_type="application/pdf", filename=document.file_name
    )
    answer["Content-Security-Policy"] = "default-src 'none'"
    answer["Cache-Control"] = "private, no-cache"
    return answer


def _ask(request: HttpRequest, kind: Document.Kind, subject: Subject, form: DocumentForm) -> HttpResponse:
    assert isinstance(request.user, User)
    first = form.cleaned_data.get("first")
    document = request_document(
        kind=kind.value,
        subject=subject,
        paper=form.cleaned_data["paper"],
        options={"first": first} if first else None,
        by=request.user,
        at=timezone.now(),
    )
    transaction.on_commit(lambda: nudge(document.job))
    return redirect("document", document.pk)


def _kind(given: Mapping[str, str]) -> Document.Kind:
    try:
        return Document.Kind(given.get("kind", ""))
    except ValueError:
        known = ", ".join(Document.Kind.values)
        raise Http404(f"There is no document called {given.get('kind')!r}. There are: {known}.") from None
