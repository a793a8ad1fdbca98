"""The boxes around a spec's grid: its frame, why it is revised."""

from __future__ import annotations

import re
from collections.abc import Sequence

from django import forms

from inventory.models import Spec
from inventory.models.shop import LengthUnit


class SizeRunField(forms.CharField):
    """Sizes as people list them, separated by commas or line breaks; cleans to a list of labels.

    Without any comma, spaces separate: `22 24 26`.
    """

    widget = forms.TextInput

    def clean(self, value: object) -> list[str]:
        """The labels in order, without empty ones."""
        typed = str(super().clean(value) or "")
        return split_run(typed)

    def prepare_value(self, value: object) -> object:
        return ", ".join(value) if isinstance(value, list | tuple) else value


def split_run(typed: str) -> list[str]:
    """The labels of a typed size run.

    >>> split_run("22, 24,26"), split_run("S M  L"), split_run("24 tall; 26 tall")
    (['22', '24', '26'], ['S', 'M', 'L'], ['24 tall', '26 tall'])
    """
    marks = r"[,;\n]" if re.search(r"[,;\n]", typed) else r"\s"
    return [" ".join(label.split()) for label in re.split(marks, typed) if label.strip()]


class FrameForm(forms.Form):
    """Size run, base size and unit of record of a draft."""

    unit_of_record = forms.ChoiceField(
        label="Unit of record",
        choices=LengthUnit.choices,
        help_text="The unit this spec counts in; figures are typed and shown in it.",
    )
    size_run = SizeRunField(
        label="Size run",
        max_length=800,
        help_text="All sizes in order, with commas between them: 22, 24, 26, 28.",
    )
    base_size = forms.CharField(
        label="Base size",
        max_length=12,
        widget=forms.TextInput(attrs={"size": 8}),
        help_text="The sample size the others are graded from.",
    )
    reason = forms.CharField(
        label="Reason",
        max_length=200,
        required=False,
        help_text="Why this revision exists; the maker will ask.",
    )

    def clean_base_size(self) -> str:
        """Without the spaces around it."""
        return " ".join(str(self.cleaned_data["base_size"]).split())


class DraftFrameForm(FrameForm):
    """The frame of a draft that has figures already."""

    drop_figures = forms.BooleanField(
        label="Throw away the figures of sizes I take out of the run", required=False
    )

    @classmethod
    def of(cls, spec: Spec, sizes: Sequence[str]) -> DraftFrameForm:
        """The form as it stands for a draft."""
        return cls(
            initial={
                "unit_of_record": spec.unit_of_record,
                "size_run": list(sizes),
                "base_size": spec.base_size,
                "reason": spec.reason,
            }
        )


class ReviseForm(forms.Form):
    """Why a new revision is drafted."""

    reason = forms.CharField(
        label="Reason",
        max_length=200,
        help_text="What changes and why, such as: waist 3 mm over on the last two deliveries.",
    )
