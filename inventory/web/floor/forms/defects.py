"""The boxes of a defect, and of its photos."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from django import forms
from django.core.files.uploadedfile import UploadedFile

from inventory.calc.length import Unit
from inventory.catalogue import zone_map
from inventory.fields import LengthFormField
from inventory.models import Batch, Defect, DefectKind, Photo, Piece
from inventory.queries.pieces import number_on_label
from inventory.services.defects import NewPhoto

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from django.utils.datastructures import MultiValueDict

    Uploads = MultiValueDict[str, UploadedFile[Any]]  # Any: of bytes or of text

MOST_PHOTOS = 12


class PhotosInput(forms.FileInput):
    """A file box that takes several files."""

    allow_multiple_selected = True


class PhotosField(forms.FileField):
    """Several photos at once; cleans to a list. What is in the files is the service's to say."""

    def __init__(self, **kwargs: Any) -> None:  # Any: passed on to Django
        accept = {"accept": "image/jpeg,image/png,image/webp", "multiple": True}
        super().__init__(widget=PhotosInput(attrs=accept), **kwargs)

    def clean(self, data: Any, initial: Any = None) -> Any:  # Any: Django's own signature
        files = [file for file in (data if isinstance(data, list) else [data]) if file]
        if len(files) > MOST_PHOTOS:
            raise forms.ValidationError(
                f"{len(files)} photos at once are more than {MOST_PHOTOS}. Send them in parts."
            )
        if not files:
            super().clean(None, initial)  # says so when at least one is needed
        return [file for file in files if isinstance(file, UploadedFile)]


class DataList(forms.TextInput):
    """A text box with suggestions, which works without a script."""

    template_name = "inventory/floor/parts/datalist.html"

    def __init__(self, suggestions: list[tuple[str, str]], **kwargs: Any) -> None:  # Any: passed on to Django
        super().__init__(**kwargs)
        self.suggestions = suggestions

    def get_context(
        self, name: str, value: Any, attrs: dict[str, Any] | None
    ) -> dict[str, Any]:  # Any: Django's own signature
        context = super().get_context(name, value, attrs)
        context["widget"]["attrs"]["list"] = f"{context['widget']['attrs'].get('id', name)}_list"
        context["suggestions"] = self.suggestions
        return context


class ZoneSelect(forms.RadioSelect):
    """The zones as small drawings to choose from; a drawing says nothing that its words do not."""

    template_name = "inventory/floor/parts/zones.html"
    family = ""

    def get_context(
        self, name: str, value: Any, attrs: dict[str, Any] | None
    ) -> dict[str, Any]:  # Any: Django's own signature
        context = super().get_context(name, value, attrs)
        context["drawings"] = {zone: zone_map.drawing(self.family, zone) for zone in Defect.Zone.values}
        return context


_ADVICE = "JPEG, PNG or WebP, up to 15 MB each. Originals are kept untouched."


class PhotoBoxes(forms.Form):
    """Photos by what they show; one of the whole and one close up tell most."""

    whole = PhotosField(label="Photos of the whole piece", required=False, help_text="Its tag readable.")
    close_up = PhotosField(
        label="Photos close up",
        required=False,
        help_text="With a tape or rule in the plane of the defect, its zero in sight.",
    )
    rule_in_frame = forms.BooleanField(label="A rule lies in the close-ups", required=False, initial=True)
    label = PhotosField(label="Photos of a label", required=False)
    carton = PhotosField(label="Photos of the carton mark", required=False)
    photos = PhotosField(label="Other photos", required=False, help_text=_ADVICE)

    def taken(self) -> list[NewPhoto]:
        """All uploads with what they show, after a successful clean."""
        said = self.cleaned_data
        rule = bool(said["rule_in_frame"])
        return [
            NewPhoto(file, shows=shows, rule_in_frame=rule and shows == Photo.Shows.CLOSE_UP)
            for box, shows in _SHOWN.items()
            for file in said[box]
        ]


_SHOWN = {
    "whole": Photo.Shows.WHOLE,
    "close_up": Photo.Shows.CLOSE_UP,
    "label": Photo.Shows.LABEL,
    "carton": Photo.Shows.CARTON,
    "photos": Photo.Shows.OTHER,
}
PHOTO_BOXES = ("whole", "close_up", "rule_in_frame", "label", "carton", "photos")


class DefectForm(PhotoBoxes):
    piece = forms.CharField(
        label="Piece",
        required=False,
        help_text="Its label, typed or scanned. Empty: the defect is of the batch as a whole.",
        widget=forms.TextInput(attrs={"size": 12, "autocapitalize": "characters"}),
    )
    kind = forms.CharField(
        label="What is wrong",
        max_length=120,
        help_text="Choose from the usual kinds, or use your own words.",
        widget=DataList([]),
    )
    severity = forms.ChoiceField(label="Class", choices=Defect.Severity.choices, widget=forms.RadioSelect)
    zone = forms.ChoiceField(label="Zone", choices=Defect.Zone.choices, widget=ZoneSelect)
    count = forms.IntegerField(
        label="How many",
        initial=1,
        min_value=1,
        max_value=9999,
        widget=forms.NumberInput(attrs={"size": 4}),
    )
    size_nm = LengthFormField(
        label="Size of the defect",
        required=False,
        max_length=40,
        widget=forms.TextInput(attrs={"size": 10}),
    )
    note = forms.CharField(
        required=False,
        max_length=300,
        help_text="Where the class is not the usual one: why.",
        widget=forms.Textarea(attrs={"rows": 2}),
    )
    field_order = ("piece", "kind", "severity", "zone", "count", "size_nm", "note", *PHOTO_BOXES)

    def __init__(
        self,
        data: Mapping[str, Any] | None = None,  # Any: what a request carries
        files: Uploads | None = None,
        *,
        batch: Batch,
        unit: Unit,
        piece: str = "",
        kinds: Sequence[DefectKind] = (),
    ) -> None:
        super().__init__(data, files, initial={"piece": piece})
        self.batch = batch
        kind, zone = self.fields["kind"].widget, self.fields["zone"].widget
        assert isinstance(kind, DataList)
        assert isinstance(zone, ZoneSelect)
        kind.suggestions = [(one.name, f"{one.family}; usually {one.severity}") for one in kinds]
        zone.family = batch.style.family
        size = self.fields["size_nm"]
        assert isinstance(size, LengthFormField)
        size.unit = unit
        words = "inches" if unit is Unit.INCH else unit.value  # "In in" would be read as a slip of the pen
        size.help_text = f"In {words} unless you type another unit."

    def clean_piece(self) -> Piece | None:
        """The piece of that label in this batch, or None when the box is empty."""
        typed = self.cleaned_data["piece"]
        if not typed:
            return None
        number = number_on_label(typed)
        piece = None if number is None else self.batch.pieces.filter(number=number).first()
        if piece is None:
            raise forms.ValidationError(
                f"{typed!r} is no piece of batch {self.batch.label}. Type a label such as P000123, or leave "
                "the box empty."
            )
        return piece


class PhotosForm(PhotoBoxes):
    """More photos of a defect noted before; one at least."""

    def clean(self) -> dict[str, Any]:  # Any: Django's own signature
        said = super().clean() or {}
        if not self.errors and not any(said.get(box) for box in _SHOWN):
            raise forms.ValidationError("No photo was chosen. Choose one at least.")
        return said
