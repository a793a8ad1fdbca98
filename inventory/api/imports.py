"""Imports: upload a file, say what its columns mean, have it checked, then stored, all or nothing."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Any

from django.utils import timezone
from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.parsers import MultiPartParser

from inventory.access import Deed, require
from inventory.api.frame.errors import TooLarge
from inventory.api.frame.inputs import Input, OneOf, Truth, Whole
from inventory.api.frame.resource import Resource, found, read_body
from inventory.api.import_shapes import ImportLine, ImportShape, MappingIn, shown_run
from inventory.models import ImportRun
from inventory.queries import exchange as ask
from inventory.services.importing import runs
from inventory.services.importing.files import LIMITS_IN_WORDS, MOST_BYTES
from inventory.services.importing.mapping import TableMapping, Target
from inventory.services.importing.open_columns import settled, styles_meant
from inventory.tasks import nudge

if TYPE_CHECKING:
    from collections.abc import Callable

    from rest_framework.request import Request
    from rest_framework.response import Response

    from inventory.models import Job


class NewImport(Input):
    """A CSV or XLSX file with a spec or with measured pieces; a whole shop is restored on screen."""

    kind = OneOf(choices=[choice for choice in ImportRun.Kind.choices if choice[0] != runs.WHOLE])
    file = serializers.FileField(allow_empty_file=True)


class Header(Input):
    """Another sheet, or another header row; what the columns mean is then proposed anew."""

    sheet = serializers.CharField(max_length=31, required=False, allow_blank=True, default="")
    header_row = Whole(
        min_value=1, max_value=5000, required=False, allow_null=True, default=None, help_text="From 1."
    )
    header_rows = Whole(min_value=1, max_value=3, required=False, default=1)


class Acceptance(Input):
    """Whether cells that look like slips are stored as they were typed, and who the names in the file are."""

    accept_suspicious = Truth(default=False, required=False)
    who = serializers.DictField(
        child=serializers.CharField(max_length=150, allow_blank=True),
        required=False,
        default=dict,
        help_text="For each name of the report with `could_be`: the user name; empty for nobody here.",
    )


class Imports(Resource):
    parser_classes = [MultiPartParser]

    @extend_schema(responses=ImportLine(many=True))
    def get(self, request: Request) -> Response:
        """All files that were brought in, or were to be."""
        require(self.person, Deed.BRING_IN)
        return self.page(ask.all_runs(), ImportLine)

    @extend_schema(request={"multipart/form-data": NewImport}, responses={201: ImportShape})
    def post(self, request: Request) -> Response:
        """Keep a file and propose how to read it. Nothing of it is stored yet."""
        sent = self.body(NewImport)
        file = sent["file"]
        if file.size > MOST_BYTES:
            raise TooLarge(
                f"{file.name!r} has {file.size // (1024 * 1024)} MB; at most {LIMITS_IN_WORDS} are read. "
                "Split it."
            )
        run = runs.upload_file(
            kind=sent["kind"], name=file.name, content=file.read(), by=self.person, at=timezone.now()
        )
        return self.shown(shown_run(run), ImportShape, status=201)


class ImportResource(Resource):
    """Base of what is done with one import: whoever may not bring in its kind may not look into it."""

    def run(self, pk: int) -> ImportRun:
        """The import of this number, for those who may bring in files of its kind."""
        require(self.person, Deed.BRING_IN)
        there = found(ask.run_by_pk(pk), f"There is no import {pk}.")
        require(self.person, runs.DEEDS[there.kind])
        return there

    def state_of(self, pk: int, *, status: int = 200) -> Response:
        """The import as it stands now."""
        return self.shown(shown_run(self.run(pk)), ImportShape, status=status)

    def work_on(self, pk: int, ask_for: Callable[[ImportRun], Job]) -> Response:
        """Ask for background work and tell the worker."""
        nudge(ask_for(self.run(pk)))
        return self.state_of(pk, status=202)


class OneImport(ImportResource):
    @extend_schema(responses=ImportShape)
    def get(self, request: Request, pk: int) -> Response:
        """Where an import stands: how it is read, how far the work is, what the check found."""
        return self.state_of(pk)


class ImportHeader(ImportResource):
    @extend_schema(request=Header, responses={200: ImportShape})
    def put(self, request: Request, pk: int) -> Response:
        """Read the file from another sheet or header row; an earlier check no longer counts."""
        sent, run = self.body(Header), self.run(pk)
        kept = Target(**run.mapping.get("target", {}))
        runs.read_header_again(run=run, **sent, target=kept, by=self.person)
        return self.state_of(pk)


class ImportMapping(ImportResource):
    @extend_schema(request=MappingIn, responses={200: ImportShape})
    def patch(self, request: Request, pk: int) -> Response:
        """Change what is said of unit, columns and target; an earlier check no longer counts."""
        run = self.run(pk)
        sent = read_body(MappingIn(data=request.data, context={"run": run}))
        runs.choose_mapping(run=run, mapping=_changed(run, sent), by=self.person)
        return self.state_of(pk)


class ImportCheck(ImportResource):
    @extend_schema(request=None, responses={202: ImportShape})
    def post(self, request: Request, pk: int) -> Response:
        """Have the file checked in the background."""
        return self.work_on(pk, lambda run: runs.request_check(run=run, by=self.person))


class ImportStore(ImportResource):
    @extend_schema(request=Acceptance, responses={202: ImportShape})
    def post(self, request: Request, pk: int) -> Response:
        """Have the checked file stored in the background, all of it or nothing."""
        sent = self.body(Acceptance)
        return self.work_on(
            pk,
            lambda run: runs.request_store(run=run, **sent, by=self.person, at=timezone.now()),
        )


def _changed(run: ImportRun, sent: dict[str, Any]) -> TableMapping:  # Any: values of every type
    kept = TableMapping.from_json(run.mapping)
    changes = dict(sent)
    if "target" in changes:
        changes["target"] = replace(kept.target, **changes["target"])
    chosen = replace(kept, **changes)
    if "columns" in sent or run.kind != ImportRun.Kind.PIECES:
        return chosen
    return settled(chosen, run.report.get("labels", ()), styles_meant(chosen.target))
