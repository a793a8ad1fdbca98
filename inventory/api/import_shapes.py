"""How an import is shown, and what can be said of its columns."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from rest_framework import serializers

from inventory.api.frame.inputs import Code, Day, Input, OneOf, Text, Truth
from inventory.api.frame.jobs import JobShape
from inventory.api.frame.shapes import Shape
from inventory.calc.length import Unit
from inventory.models import ImportRun
from inventory.models.shop import LengthUnit
from inventory.queries.destinations import destination
from inventory.services.importing.books import known_points
from inventory.services.importing.mapping import Column
from inventory.services.importing.roles import LONG_ROLES, PIECE_ROLES, SPEC_LONG_ROLES, SPEC_ROLES

if TYPE_CHECKING:
    import datetime as dt

LAYOUTS = [("wide", "one row a piece or point"), ("long", "one row a reading or figure")]


class ColumnIn(Input):
    """What a column means: a word such as `size`, `point:WA:L` for readings, `size:24` for nominals."""

    role = Text(max_length=40, allow_blank=True, help_text="Empty: the column is left out.")
    unit = OneOf(choices=LengthUnit.choices, required=False, allow_blank=True, default="")


class TargetIn(Input):
    """Where the rows go as far as the file does not say it."""

    into = Text(
        max_length=20,
        required=False,
        allow_blank=True,
        help_text="Label of the delivery (D0007) or batch (B0012) that the pieces are added to, with its "
        "maker, order and arrival; empty: into a new delivery.",
    )
    maker = Code("maker", most=12, required=False, allow_blank=True)
    style = Code("style", most=24, required=False, allow_blank=True)  # type: ignore[assignment]  # a name of ours
    revision = Text(max_length=8, required=False, allow_blank=True)
    arrived_on = Day(required=False)
    order = Text(max_length=60, required=False, allow_blank=True)
    base_size = Text(max_length=12, required=False, allow_blank=True)
    reason = Text(max_length=200, required=False, allow_blank=True)

    def validate_into(self, label: str) -> str:
        """The label as printed, of a delivery or batch that is there."""
        there = destination(label) if label else None
        if label and there is None:
            raise serializers.ValidationError(
                f"There is no delivery or batch {label!r}. Look at /api/v1/batches/ and /api/v1/deliveries/.",
                code="against",
            )
        return there.label if there else ""

    def validate_arrived_on(self, day: dt.date) -> str:
        """The day as the import keeps it."""
        return day.isoformat()


class MappingIn(Input):
    """What is to be changed of how a file is read; the rest stays as proposed."""

    layout = OneOf(choices=LAYOUTS, required=False)
    unit = OneOf(
        choices=LengthUnit.choices, required=False, help_text="Meant where neither cell nor column names one."
    )
    day_first = Truth(required=False, help_text="Whether 3/8 is 3 August.")
    fill_down = Truth(required=False, help_text="An empty maker, style or order means the same as above.")
    columns = ColumnIn(many=True, required=False, help_text="One for each column of the file.")
    target = TargetIn(required=False)

    def validate_unit(self, unit: str) -> Unit:
        """The unit as the import keeps it."""
        return Unit(unit)

    def validate_columns(self, columns: list[dict[str, str]]) -> tuple[Column, ...]:
        """As many as the file has, each with a meaning that there is."""
        run: ImportRun = self.context["run"]
        wanted = len(run.mapping.get("columns", ()))
        if len(columns) != wanted:
            raise serializers.ValidationError(
                f"The file has {wanted} columns and {len(columns)} were sent. Send one for each, in order.",
                code="against",
            )
        known = _known_roles(run.kind)
        for place, column in enumerate(columns, start=1):
            role = column["role"]
            if role not in known and not (run.kind == ImportRun.Kind.SPEC and role.startswith("size:")):
                raise serializers.ValidationError(
                    f"Column {place}: {role!r} is no meaning of a column. There are: {', '.join(known)}.",
                    code="against",
                )
        return tuple(Column(**column) for column in columns)


class ColumnShape(Shape):
    """What a column means."""

    role = serializers.CharField()
    unit = serializers.CharField(help_text="Empty: that of the file.")


class TargetShape(Shape):
    """Where the rows go."""

    into = serializers.CharField(help_text="Label of a delivery or batch; empty: a new delivery.")
    maker = serializers.CharField()
    style = serializers.CharField()  # type: ignore[assignment]  # a name of ours
    revision = serializers.CharField()
    arrived_on = serializers.CharField()
    order = serializers.CharField()
    base_size = serializers.CharField()
    reason = serializers.CharField()


class MappingShape(Shape):
    """How a file is read."""

    sheet = serializers.CharField()
    header_row = serializers.IntegerField()
    header_rows = serializers.IntegerField()
    layout = serializers.ChoiceField(choices=LAYOUTS)
    unit = serializers.ChoiceField(choices=LengthUnit.choices)
    day_first = serializers.BooleanField()
    fill_down = serializers.BooleanField()
    columns = ColumnShape(many=True)
    target = TargetShape()


class RowError(Shape):
    """What keeps a row from being stored; row 0 is the file as a whole."""

    row = serializers.IntegerField()
    column = serializers.CharField()
    detail = serializers.CharField()


class Suspicion(Shape):
    """A cell that looks like a slip, or, with nothing typed, cells of one question; row 0 is the file."""

    row = serializers.IntegerField()
    column = serializers.CharField()
    typed = serializers.CharField()
    question = serializers.CharField()


class LeftOut(Shape):
    """A line that is not a piece."""

    row = serializers.IntegerField()
    text = serializers.CharField()
    why = serializers.CharField()


class Heap(Shape):
    """Figures of one person or point that are round, or hit the nominal, too often to be chance."""

    what = serializers.CharField()
    kind = serializers.CharField(help_text="What they heap at.")
    readings = serializers.IntegerField()
    count = serializers.IntegerField(help_text="How many of them do.")
    expected = serializers.IntegerField(help_text="How many would by chance.")


class NamedPerson(Shape):
    """A name of somebody who measured, and whom it means here."""

    name = serializers.CharField()
    is_user = serializers.CharField(help_text="User name; empty: not sure, or nobody here.")
    could_be = serializers.ListField(
        child=serializers.CharField(), help_text="User names it could mean: say which when storing."
    )


class ReportShape(Shape):
    """What the check found. Lists are cut at some hundreds of rows, counts are not."""

    counts = serializers.DictField(child=serializers.IntegerField())
    errors = RowError(many=True)  # type: ignore[assignment]  # a name of ours
    suspicious = Suspicion(many=True)
    left_out = LeftOut(many=True)
    heaps = Heap(many=True)
    people = NamedPerson(many=True)
    unused = serializers.ListField(child=serializers.CharField(), help_text="Columns without a meaning.")
    remarks = serializers.ListField(child=serializers.CharField())


class ImportLine(Shape):
    """A file that was brought in, or is to be."""

    id = serializers.IntegerField()
    kind = serializers.ChoiceField(choices=ImportRun.Kind.choices)
    state = serializers.ChoiceField(choices=ImportRun.State.choices)
    file_name = serializers.CharField()
    digest = serializers.CharField(help_text="SHA-256; the same file twice is recognised by it.")
    created_by = serializers.CharField(source="created_by.username")
    created_at = serializers.DateTimeField()
    stored_at = serializers.DateTimeField(allow_null=True)
    job = JobShape(allow_null=True, help_text="Null: no work was asked for yet.")


class ImportShape(ImportLine):
    """An import with how it is read, what the check found and what was stored."""

    mapping = MappingShape(allow_null=True, help_text="Null: a whole export has no columns to choose.")
    report = ReportShape(allow_null=True, help_text="Null: not checked yet.")
    stored = serializers.DictField(help_text="Counts and batch numbers; empty: not stored.")


def shown_run(run: ImportRun) -> dict[str, Any]:  # Any: values of every type
    """An import as `ImportShape` takes it."""
    own = ("id", "kind", "state", "file_name", "digest", "created_by", "created_at", "stored_at", "job")
    return {
        **{name: getattr(run, name) for name in own},
        "mapping": run.mapping or None,
        "report": _shown_report(run.report) if run.report.get("counts") else None,
        "stored": run.report.get("stored", {}),
    }


def _shown_report(report: dict[str, Any]) -> dict[str, Any]:  # Any: JSON
    def rows(name: str, *keys: str) -> list[dict[str, Any]]:  # Any: JSON
        return [dict(zip(keys, row, strict=True)) for row in report.get(name, [])]

    return {
        "counts": report["counts"],
        "errors": rows("errors", "row", "column", "detail"),
        "suspicious": rows("suspicious", "row", "column", "typed", "question"),
        "left_out": rows("left_out", "row", "text", "why"),
        "heaps": rows("heaps", "what", "kind", "readings", "count", "expected"),
        "people": report.get("people", []),
        "unused": report.get("unused", []),
        "remarks": report.get("remarks", []),
    }


def _known_roles(kind: str) -> list[str]:
    if kind == ImportRun.Kind.SPEC:
        return ["", *SPEC_ROLES, *SPEC_LONG_ROLES]
    points = [f"point:{point.code}:{side}" for point in known_points() for side in point.sides]
    return ["", *PIECE_ROLES, *LONG_ROLES, *points]
