"""Make the documents that were asked for."""

from __future__ import annotations

from inventory.models import Job
from inventory.services.jobs import Json, report_progress
from inventory.tasks import job
from reports.models import Document
from reports.pdf import documents
from reports.services.documents import JOB_KIND, keep_document


@job(JOB_KIND)
def make_document(job_row: Job) -> Json | None:
    """Render the document of this job; leaves quietly when nobody asks for it any more."""
    document = Document.objects.select_related("batch", "piece", "style").filter(job=job_row).first()
    if document is None:
        return None
    total = documents.sheet_count(document)
    report_progress(job_row, 0, total, "sheets")
    rendered = documents.make(
        document, on_progress=lambda done: report_progress(job_row, done, total, "sheets")
    )
    keep_document(document=document, job=job_row, content=rendered.content, pages=rendered.pages)
    return {"document": document.pk, "pages": rendered.pages}
