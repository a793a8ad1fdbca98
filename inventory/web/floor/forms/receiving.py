"""The boxes of receiving: a delivery, a batch, the table that numbers pieces."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

from django import forms
from django.forms import BoundField
from django.utils import timezone

from inventory.models import Maker, Spec, Style
from inventory.services.pieces import PieceCount

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    MakerChoiceBase = forms.ModelChoiceField[Maker]
    SpecChoiceBase = forms.ModelChoiceField[Spec]
else:
    MakerChoiceBase = SpecChoiceBase = forms.ModelChoiceField

_MINUTES = "%Y-%m-%dT%H:%M"


class MakerChoice(MakerChoiceBase):
    """Makers by name, each with the notice window recorded for it."""

    def label_from_instance(self, obj: Maker) -> str:
        """The maker's name and window."""
        if obj.notice_window_days is None:
            return f"{obj.name} (no notice window recorded)"
        return f"{obj.name} (notice window {obj.notice_window_days} days)"


class DeliveryForm(forms.Form):
    maker = MakerChoice(Maker.objects.filter(is_active=True), empty_label="Choose the maker")
    arrived_at = forms.DateTimeField(
        label="Arrived",
        help_text="Day and time at your door: the clock for notice starts here.",
        widget=forms.DateTimeInput(attrs={"type": "datetime-local"}, format=_MINUTES),
    )
    order_reference = forms.CharField(max_length=60, widget=forms.TextInput(attrs={"size": 24}))
    invoice_reference = forms.CharField(
        max_length=60, required=False, widget=forms.TextInput(attrs={"size": 24})
    )
    notice_window_days = forms.IntegerField(
        label="Notice window, days from arrival",
        required=False,
        min_value=0,
        max_value=3650,
        help_text="Empty takes what is recorded for the maker. What your contract says comes first.",
        widget=forms.NumberInput(attrs={"size": 5}),
    )
    cartons = forms.IntegerField(
        label="Cartons counted",
        required=False,
        min_value=1,
        max_value=9999,
        widget=forms.NumberInput(attrs={"size": 5}),
    )
    carton_note = forms.CharField(
        label="State of the cartons",
        required=False,
        max_length=2000,
        help_text="Damage, wet marks, broken tape: look and take photos before opening.",
        widget=forms.Textarea(attrs={"rows": 3}),
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:  # Any: passed on to Django
        super().__init__(*args, **kwargs)
        self.fields["arrived_at"].initial = timezone.localtime().replace(second=0, microsecond=0)


class SpecChoice(SpecChoiceBase):
    """Revisions a batch can be judged by, each with its state."""

    def label_from_instance(self, obj: Spec) -> str:
        """Style, revision and state."""
        return f"{obj} ({obj.get_state_display().lower()})"


class BatchForm(forms.Form):
    style = forms.ModelChoiceField(Style.objects.filter(is_active=True), empty_label="Choose the style")
    spec = SpecChoice(
        Spec.objects.exclude(state=Spec.State.DRAFT).select_related("style"),
        label="Spec revision named on the order",
        required=False,
        empty_label="the style's revision in force",
        help_text="The pieces are judged by this revision, whatever comes into force later.",
    )
    cutting_reference = forms.CharField(
        max_length=60,
        required=False,
        help_text="Cutting or bundle number, if the maker gives one.",
        widget=forms.TextInput(attrs={"size": 24}),
    )
    pieces_announced = forms.IntegerField(
        label="Pieces announced",
        required=False,
        min_value=0,
        max_value=1_000_000,
        help_text="As the packing list says.",
        widget=forms.NumberInput(attrs={"size": 6}),
    )
    note = forms.CharField(required=False, max_length=2000, widget=forms.Textarea(attrs={"rows": 3}))


class NumberingForm(forms.Form):
    """Rows of colour and carton, each with a count per size."""

    FIRST_ROWS = 3
    MOST_ROWS = 40

    def __init__(
        self,
        data: Mapping[str, Any] | None = None,  # Any: what a request carries
        *,
        sizes: Sequence[str],
        rows: int = FIRST_ROWS,
    ) -> None:
        super().__init__(data)
        self.sizes = sizes
        self.rows = min(max(rows, 1), self.MOST_ROWS)
        for row in range(self.rows):
            self.fields[f"colour-{row}"] = forms.CharField(
                label="Colour", required=False, max_length=40, widget=forms.TextInput(attrs={"size": 14})
            )
            self.fields[f"carton-{row}"] = forms.CharField(
                label="Carton", required=False, max_length=20, widget=forms.TextInput(attrs={"size": 8})
            )
            for place, size in enumerate(sizes):
                self.fields[f"count-{row}-{place}"] = forms.IntegerField(
                    label=f"Size {size}",
                    required=False,
                    min_value=0,
                    max_value=5000,
                    widget=forms.NumberInput(attrs={"size": 4, "inputmode": "numeric"}),
                )

    def table(self) -> Iterator[dict[str, Any]]:  # Any: fields and lists of them
        """The rows for the template: colour, carton, and the counts in size order."""
        for row in range(self.rows):
            counts: list[BoundField] = [self[f"count-{row}-{place}"] for place in range(len(self.sizes))]
            yield {
                "number": row + 1,
                "colour": self[f"colour-{row}"],
                "carton": self[f"carton-{row}"],
                "counts": counts,
            }

    def counts(self) -> list[PieceCount]:
        """What was typed, as the service takes it; empty and zero boxes are no pieces."""
        found = []
        for row in range(self.rows):
            for place, size in enumerate(self.sizes):
                count = self.cleaned_data.get(f"count-{row}-{place}")
                if count:
                    found.append(
                        PieceCount(
                            size_label=size,
                            count=count,
                            colour=self.cleaned_data.get(f"colour-{row}", ""),
                            carton=self.cleaned_data.get(f"carton-{row}", ""),
                        )
                    )
        return found
