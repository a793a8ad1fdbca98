"""The boxes of an import: the file, what its columns mean, where its rows go."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, cast

from django import forms

from inventory.calc.length import Unit
from inventory.models import ImportRun, Maker, Style
from inventory.models.shop import LengthUnit
from inventory.queries.destinations import latest_batches, latest_deliveries
from inventory.services.importing.books import known_points
from inventory.services.importing.cells import text_of
from inventory.services.importing.exported import MOST_BYTES as MOST_EXPORT_BYTES
from inventory.services.importing.exported import MOST_DOCUMENT_BYTES
from inventory.services.importing.files import LIMITS_IN_WORDS, MOST_BYTES
from inventory.services.importing.mapping import Column, Layout, TableMapping, Target
from inventory.services.importing.open_columns import open_columns, settled, styles_meant
from inventory.services.importing.roles import LONG_ROLES, PIECE_ROLES, SPEC_LONG_ROLES, SPEC_ROLES
from inventory.services.importing.sheets import letters, named_columns

if TYPE_CHECKING:
    from inventory.services.importing.files import Table

SIDE_WORDS = {"L": "left", "R": "right", "S": "single"}
SAMPLES = 3
LEAVE_OUT = "leave out"
"""Chosen for a column that is still open; else an empty choice is enough."""

Choices = list[tuple[str, Any]]  # Any: a label, or a list of choices in a group


class UploadForm(forms.Form):
    most_bytes = MOST_BYTES
    limits, cure = LIMITS_IN_WORDS, "Split it."
    file = forms.FileField(label="File", help_text=f"CSV or XLSX, up to {LIMITS_IN_WORDS}.")

    def clean_file(self) -> Any:  # Any: Django's uploaded file
        """Refuse what is too large before it is read into memory."""
        file = self.cleaned_data["file"]
        if file.size > self.most_bytes:
            raise forms.ValidationError(
                f"{file.name!r} has {file.size // (1024 * 1024)} MB; at most {self.limits} are read. "
                f"{self.cure}"
            )
        return file


class RestoreForm(UploadForm):
    file = forms.FileField(
        label="Export",
        help_text=f"Zipped CSV tables up to {MOST_EXPORT_BYTES // (1024 * 1024)} MB, workbook or JSON up to "
        f"{MOST_DOCUMENT_BYTES // (1024 * 1024)} MB.",
    )
    most_bytes = MOST_EXPORT_BYTES
    limits = f"{MOST_EXPORT_BYTES // (1024 * 1024)} MB"
    cure = "Restore it from a copy of the data folder instead."


class AcceptForm(forms.Form):
    """What is to be said before a checked file is stored: about cells that look odd, and about names.

    `people` are the names of the report, `labels` what a user name is called, `before` earlier answers.
    """

    NOBODY = "-"
    accept_suspicious = forms.BooleanField(required=False, label="Store all of them as typed")

    def __init__(
        self,
        data: Any = None,  # Any: what a browser sent
        *,
        people: Sequence[Mapping[str, Any]] = (),  # Any: what JSON can hold
        labels: Mapping[str, str] | None = None,
        before: Mapping[str, str] | None = None,
    ) -> None:
        super().__init__(data)
        self._names: dict[str, str] = {}
        for place, one in enumerate(one for one in people if one["could_be"]):
            box = f"person_{place}"
            self._names[box] = one["name"]
            known = (before or {}).get(one["name"])
            self.fields[box] = forms.ChoiceField(
                label=f"Who is {one['name']}?",
                choices=[
                    ("", "choose"),
                    *((user, (labels or {}).get(user, user)) for user in one["could_be"]),
                    (self.NOBODY, "nobody here; keep the name as a note"),
                ],
                initial="" if known is None else known or self.NOBODY,
                error_messages={"required": "Choose who it is, or that it is nobody here."},
            )

    @property
    def people_boxes(self) -> list[forms.BoundField]:
        """The boxes that ask who somebody is."""
        return [self[box] for box in self._names]

    def who(self) -> dict[str, str]:
        """The answers: user names by names of the file, empty for nobody here."""
        chosen = {
            name: self.cleaned_data[box] for box, name in self._names.items() if box in self.cleaned_data
        }
        return {name: "" if user == self.NOBODY else user for name, user in chosen.items()}


@dataclass(frozen=True, slots=True)
class ColumnLine:
    """One column of the file on the screen: its name, some cells, and the two boxes."""

    letter: str
    label: str
    samples: Sequence[str]
    role: forms.BoundField
    unit: forms.BoundField


class MappingForm(forms.Form):
    """Sheet, header, unit, target and the meaning of each column."""

    sheet = forms.ChoiceField(required=False)
    header_row = forms.IntegerField(
        min_value=1, max_value=5000, label="Header begins in row", widget=forms.NumberInput(attrs={"size": 5})
    )
    header_rows = forms.TypedChoiceField(
        coerce=int, choices=[(1, "one row"), (2, "two rows"), (3, "three rows")], label="The header takes"
    )
    layout = forms.ChoiceField()
    unit = forms.ChoiceField(
        choices=LengthUnit.choices, label="Unit of the figures",
        help_text="Taken where neither the cell nor its column names one.",
    )  # fmt: skip
    day_first = forms.ChoiceField(
        choices=[("yes", "3 August (day first)"), ("no", "8 March (month first)")], label="3/8/2026 is"
    )
    fill_down = forms.BooleanField(
        required=False,
        label="An empty maker, style, order or arrival means the same as above",
    )
    into = forms.ChoiceField(
        required=False, label="Where the pieces go",
        help_text="Added to a delivery or batch, they take its maker, order and arrival, whatever stands "
        "below. A row whose reference is the label of a piece that waits in the batch is that piece.",
    )  # fmt: skip
    maker = forms.ChoiceField(required=False)
    style = forms.ChoiceField(required=False)
    revision = forms.CharField(
        required=False, max_length=8, label="Spec revision",
        help_text="Its number, such as 2. Empty: the one in force.",
        widget=forms.TextInput(attrs={"size": 4}),
    )  # fmt: skip
    arrived_on = forms.DateField(
        required=False, label="Arrived on", widget=forms.DateInput(attrs={"type": "date"})
    )
    order = forms.CharField(required=False, max_length=60, label="Order reference")
    base_size = forms.CharField(
        required=False, max_length=12, label="Base size", widget=forms.TextInput(attrs={"size": 8})
    )
    reason = forms.CharField(required=False, max_length=200, label="Why this revision exists")

    PIECES_ONLY = ("day_first", "fill_down", "into", "maker", "revision", "arrived_on", "order")
    SPEC_ONLY = ("base_size", "reason")

    def __init__(self, data: Any, *, run: ImportRun, table: Table) -> None:  # Any: what a browser sent
        self.kept, self.table, self.kind = TableMapping.from_json(run.mapping), table, run.kind
        super().__init__(data, initial=_initial(self.kept))
        self.is_spec = run.kind == ImportRun.Kind.SPEC
        self._set_choices()
        for name in self.PIECES_ONLY if self.is_spec else self.SPEC_ONLY:
            del self.fields[name]
        roles = _role_choices(run.kind, self.kept)
        self.labels = named_columns(table, self.kept)
        self.open = {} if self.is_spec else _open(self.labels, self.kept, table)
        for place, column in enumerate(self.kept.columns):
            label, could_be = letters(place), self.open.get(place)
            choices = [("", could_be), (LEAVE_OUT, "leave out"), *roles[1:]] if could_be else roles
            self.fields[f"role_{place}"] = forms.ChoiceField(
                required=False, choices=_with(choices, column.role), initial=column.role,
                widget=forms.Select(attrs={"aria-label": f"Meaning of column {label}"}),
                label=f"Column {label}",
            )  # fmt: skip
            self.fields[f"unit_{place}"] = forms.ChoiceField(
                required=False, choices=[("", "as above"), *((unit, unit) for unit in LengthUnit.values)],
                initial=column.unit,
                widget=forms.Select(attrs={"aria-label": f"Unit of column {label}"}),
                label=f"Unit of {label}",
            )  # fmt: skip

    def _set_choices(self) -> None:
        sheet = cast("forms.ChoiceField", self.fields["sheet"])
        if len(self.table.sheets) > 1:
            sheet.choices = [(name, name) for name in self.table.sheets]
        else:
            del self.fields["sheet"]
        wide = "One row a point, sizes across" if self.is_spec else "One row a piece, points across"
        long = "One row a point and size" if self.is_spec else "One row a reading"
        cast("forms.ChoiceField", self.fields["layout"]).choices = [("wide", wide), ("long", long)]
        makers = [(maker.code, str(maker)) for maker in Maker.objects.all()]
        styles = [(style.code, str(style)) for style in Style.objects.filter(is_active=True)]
        cast("forms.ChoiceField", self.fields["maker"]).choices = [("", "as the file says"), *makers]
        cast("forms.ChoiceField", self.fields["into"]).choices = _with(_destinations(), self.kept.target.into)
        empty = "choose one" if self.is_spec else "as the file says"
        cast("forms.ChoiceField", self.fields["style"]).choices = [("", empty), *styles]

    def lines(self) -> Iterator[ColumnLine]:
        """The columns for the table on the screen."""
        body = self.table.rows[self.kept.first_data_row :]
        for place, label in enumerate(self.labels[: len(self.kept.columns)]):
            cells = (text_of(row[place]) for row in body if place < len(row) and row[place] != "")
            samples = [text for _, text in zip(range(SAMPLES), cells, strict=False)]
            yield ColumnLine(letters(place), label, samples, self[f"role_{place}"], self[f"unit_{place}"])

    def clean(self) -> dict[str, Any]:  # Any: values of every kind of box
        """An open column is settled by the style that was chosen with it, or has to be chosen itself."""
        chosen = self.cleaned_data
        if self.errors or "again" in self.data or self.header_changed or chosen["layout"] == "long":
            return chosen
        asked = [place for place in self.open if not chosen[f"role_{place}"]]
        mapping = self.mapping()
        styles = styles_meant(mapping.target, table=self.table, mapping=mapping)
        found = settled(mapping, self.labels, styles)
        for place in asked:
            chosen[f"role_{place}"] = found.columns[place].role
            if not found.columns[place].role:
                self.add_error(
                    f"role_{place}", f"{self.labels[place]!r} {self.open[place]}, or leave it out."
                )
        return chosen

    def target(self) -> Target:
        """Where the rows go, as chosen."""
        chosen = self.cleaned_data
        arrived = chosen.get("arrived_on")
        return Target(
            into=chosen.get("into", ""),
            maker=chosen.get("maker", ""),
            style=chosen.get("style", ""),
            revision=chosen.get("revision", "").strip(),
            arrived_on=arrived.isoformat() if arrived else "",
            order=chosen.get("order", "").strip(),
            base_size=chosen.get("base_size", "").strip(),
            reason=chosen.get("reason", "").strip(),
        )

    def mapping(self) -> TableMapping:
        """All choices, as kept in the run."""
        chosen = self.cleaned_data
        return TableMapping(
            sheet=self.kept.sheet,
            header_row=self.kept.header_row,
            header_rows=self.kept.header_rows,
            layout=cast("Layout", chosen["layout"]),
            unit=Unit(chosen["unit"]),
            day_first=chosen.get("day_first", "yes") == "yes",
            fill_down=chosen.get("fill_down", False),
            columns=tuple(
                Column(chosen[f"role_{place}"].removeprefix(LEAVE_OUT), chosen[f"unit_{place}"])
                for place in range(len(self.kept.columns))
            ),
            target=self.target(),
        )

    @property
    def header_changed(self) -> bool:
        """Whether the columns on the screen are those of another header than the one asked for."""
        chosen = self.cleaned_data
        return (chosen["header_row"], chosen["header_rows"], chosen.get("sheet", self.kept.sheet)) != (
            self.kept.header_row,
            self.kept.header_rows,
            self.kept.sheet,
        )


def _open(labels: Sequence[str], kept: TableMapping, table: Table) -> dict[int, str]:
    """For each column that several points fit, by its place, what is to be chosen."""
    styles = styles_meant(kept.target, table=table, mapping=kept)
    found = open_columns(labels, kept, styles)
    return {place: f"could be {' or '.join(codes)}: choose" for place, codes in found.items()}


def _initial(kept: TableMapping) -> dict[str, Any]:  # Any: values of every kind of box
    target = kept.target
    return {
        "sheet": kept.sheet,
        "header_row": kept.header_row,
        "header_rows": kept.header_rows,
        "layout": kept.layout,
        "unit": kept.unit.value,
        "day_first": "yes" if kept.day_first else "no",
        "fill_down": kept.fill_down,
        "into": target.into,
        "maker": target.maker,
        "style": target.style,
        "revision": target.revision,
        "arrived_on": target.arrived_on or None,
        "order": target.order,
        "base_size": target.base_size,
        "reason": target.reason,
    }


def _destinations() -> Choices:
    deliveries = [
        (one.label, f"{one.label} {one.maker}, {one.order_reference}") for one in latest_deliveries()
    ]
    batches = [
        (one.label, f"{one.label} {one.style.code}, {one.delivery.maker}, {one.delivery.order_reference}")
        for one in latest_batches()
    ]
    return [
        ("", "into a new delivery, as said below"),
        ("As a new batch of a delivery", deliveries),
        ("Added to a batch", batches),
    ]


def _role_choices(kind: str, kept: TableMapping) -> Choices:
    if kind == ImportRun.Kind.SPEC:
        sizes = [column.role for column in kept.columns if column.role.startswith("size:")]
        return [
            ("", "leave out"),
            ("The point", list(SPEC_ROLES.items())),
            ("One row a point and size", list(SPEC_LONG_ROLES.items())),
            ("Figures of a size", [(role, f"Size {role.partition(':')[2]}") for role in sizes]),
        ]
    readings = [
        (f"point:{point.code}:{side}", f"{point.code} {point.name}, {SIDE_WORDS[side]}")
        for point in known_points()
        for side in point.sides
    ]
    return [
        ("", "leave out"),
        ("The piece", list(PIECE_ROLES.items())),
        ("Readings", readings),
        ("One row a reading", list(LONG_ROLES.items())),
    ]


def _with(choices: Choices, role: str) -> Choices:
    """The choices, with one that is kept though no longer known: a point retired since."""
    known = {value for group in choices for value, _ in (group[1] if isinstance(group[1], list) else [group])}
    return choices if role in known else [*choices, (role, role)]
