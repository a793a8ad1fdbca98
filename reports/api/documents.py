"""Documents: ask for one, see how far it is, fetch it."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING, Any

from django.http import FileResponse
from django.utils import timezone
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.renderers import BaseRenderer

from inventory.api.frame.errors import Against
from inventory.api.frame.inputs import Code, Filters, Input, OneOf, Text, Whole
from inventory.api.frame.jobs import JobShape
from inventory.api.frame.resource import Resource, found
from inventory.api.frame.shapes import Shape
from inventory.models import Shop
from inventory.services.refusals import Refused
from inventory.tasks import nudge
from reports.models import Document
from reports.queries import documents as ask
from reports.services.documents import request_document

if TYPE_CHECKING:
    from collections.abc import Mapping

    from rest_framework.request import Request
    from rest_framework.response import Response


class DocumentNotMade(Refused):
    """A file was asked for that is still being made, or could not be."""


class NewDocument(Input):
    """What is wanted, and of which batch, piece or style: exactly one of them."""

    kind = OneOf(choices=Document.Kind.choices)
    batch = Text(max_length=10, required=False, help_text="Label, such as B0012.")
    piece = Text(max_length=19, required=False, help_text="Label, such as P000123.")
    style = Code("style", most=24, required=False)  # type: ignore[assignment]  # a name of ours
    paper = OneOf(choices=Shop.Paper.choices, required=False, help_text="The shop's unless said.")
    first = Whole(
        min_value=1, max_value=200, required=False, help_text="First free label of a half-used sheet."
    )


class DocumentShape(Shape):
    """A document somebody asked for; its file is there when the job is done."""

    id = serializers.IntegerField()
    kind = serializers.ChoiceField(choices=Document.Kind.choices)
    subject = serializers.CharField(source="subject_label", help_text="Label or code of what it is about.")
    paper = serializers.ChoiceField(choices=Shop.Paper.choices)
    file_name = serializers.CharField()
    requested_by = serializers.CharField(source="requested_by.username")
    requested_at = serializers.DateTimeField()
    job = JobShape()
    digest = serializers.CharField(help_text="SHA-256 of the file; empty while it is not made.")
    size_bytes = serializers.IntegerField(allow_null=True)
    pages = serializers.IntegerField(allow_null=True)


class DocumentFilters(Filters):
    kind = OneOf(choices=Document.Kind.choices, required=False)


class Pdf(BaseRenderer):
    """The type of the file, for whoever asks for it by name; a problem stays JSON."""

    media_type = "application/pdf"
    format = "pdf"
    charset = None

    def render(
        self,
        data: Any,  # Any: JSON
        accepted_media_type: str | None = None,
        renderer_context: Mapping[str, Any] | None = None,  # Any: the base's own signature
    ) -> bytes:
        return json.dumps(data).encode()


class Documents(Resource):
    @extend_schema(parameters=[DocumentFilters], responses=DocumentShape(many=True))
    def get(self, request: Request) -> Response:
        """Documents in the order in which they were asked for."""
        return self.page(ask.documents(**self.wanted(DocumentFilters)), DocumentShape)

    @extend_schema(request=NewDocument, responses={202: DocumentShape})
    def post(self, request: Request) -> Response:
        """Ask for a document; the same one still waiting is shown instead of a second."""
        sent = self.body(NewDocument)
        named = {name: sent[name] for name in ("batch", "piece", "style") if name in sent}
        if len(named) != 1:
            raise Against({"kind": ["Name what the document is about: one of batch, piece or style."]})
        ((field, label),) = named.items()
        first = sent.get("first")
        subject = ask.subject_labelled(field, label)
        if subject is None:
            raise Against({field: [f"There is no {field} {label!r}. Look at the label again."]})
        document = request_document(
            kind=sent["kind"],
            subject=subject,
            paper=sent.get("paper") or Shop.objects.current().paper,
            options={"first": first} if first else None,
            by=self.person,
            at=timezone.now(),
        )
        nudge(document.job)
        return self.shown(document, DocumentShape, status=202)


class OneDocument(Resource):
    @extend_schema(responses=DocumentShape)
    def get(self, request: Request, pk: int) -> Response:
        """How far a document is."""
        return self.shown(found_document(pk), DocumentShape)


class DocumentFile(Resource):
    renderer_classes = [*Resource.renderer_classes, Pdf]
    also_refuses = (409,)

    @extend_schema(responses={(200, "application/pdf"): OpenApiTypes.BINARY})
    def get(self, request: Request, pk: int) -> FileResponse:
        """The PDF itself."""
        document = found_document(pk)
        if not document.file:
            why = document.job.error or "It is still being made; ask for its state."
            raise DocumentNotMade(f"{document} has no file yet. {why}")
        answer = FileResponse(
            document.file.open("rb"), content_type=Pdf.media_type, filename=document.file_name
        )
        answer["Cache-Control"] = "private, no-cache"
        return answer


def found_document(pk: int) -> Document:
    """The document of this number, or a 404."""
    return found(ask.documents().filter(pk=pk).first(), f"There is no document {pk}. Ask for one first.")
