"""The boxes of a tape check."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from django import forms

from inventory.calc.length import Unit, show_exact
from inventory.calc.tape_class import TapeClass
from inventory.fields import LengthFormField
from inventory.models import Instrument
from inventory.queries.tape_corrections import class_of
from inventory.services.tape_checks import USUAL_ALLOWED_NM, TypedLength

if TYPE_CHECKING:
    from collections.abc import Mapping

SUGGESTED = {
    Unit.MM: ("300 mm", "800 mm"),
    Unit.CM: ("30 cm", "80 cm"),
    Unit.INCH: ("12 in", "32 in"),
}
"""Where tapes are used most on garments; common practice, no source."""

REPEATS = (1, 2, 3)


class TapeCheckForm(forms.Form):
    """Two lengths on the rule, up to three readings of each."""

    against = forms.ModelChoiceField(
        Instrument.objects.filter(kind=Instrument.Kind.RULE, retired_on=None),
        label="Checked against",
        required=False,
        empty_label="A steel rule without a number",
        help_text="A steel rule, never another tape.",
    )
    allowed = LengthFormField(
        label="It may be off by",
        help_text="This tape has no class, so the shop says so itself; 2 mm is common practice.",
        widget=forms.TextInput(attrs={"size": 10}),
    )
    note = forms.CharField(max_length=200, required=False)

    def __init__(
        self, data: Mapping[str, Any] | None = None, *, tape: Instrument, unit: Unit
    ) -> None:  # Any: what a request carries
        super().__init__(data)
        near, far = SUGGESTED[unit]
        boxes: dict[str, forms.Field] = {}
        for name, words, rule in (("near", "Shorter length", near), ("far", "Longer length", far)):
            boxes[f"{name}_rule"] = _box(f"{words} on the rule", initial=rule)
            for number in REPEATS:
                boxes[f"{name}_{number}"] = _box(
                    f"{words}: the tape reads" if number == 1 else f"Read again ({number})",
                    required=number == 1,
                )
        self.fields = boxes | self.fields
        if class_of(tape) is not TapeClass.UNCLASSED:
            del self.fields["allowed"]
        else:
            allowed = self.fields["allowed"]
            assert isinstance(allowed, LengthFormField)
            allowed.unit, allowed.initial = unit, show_exact(USUAL_ALLOWED_NM, unit=Unit.MM)

    @property
    def groups(self) -> list[tuple[str, list[forms.BoundField]]]:
        """The boxes of each length, with the words above them."""
        return [
            (words, [self[f"{name}_rule"], *(self[f"{name}_{number}"] for number in REPEATS)])
            for name, words in (("near", "Shorter length"), ("far", "Longer length"))
        ]

    @property
    def others(self) -> list[forms.BoundField]:
        """The boxes that belong to neither length."""
        return [self[name] for name in ("allowed", "against", "note") if name in self.fields]

    def lengths(self) -> list[TypedLength]:
        """What was typed, as the service takes it."""
        typed = self.cleaned_data
        return [
            TypedLength(
                typed[f"{name}_rule"],
                tuple(typed[f"{name}_{number}"] for number in REPEATS if typed[f"{name}_{number}"].strip()),
            )
            for name in ("near", "far")
        ]


def _box(label: str, *, required: bool = True, initial: str | None = None) -> forms.CharField:
    widget = forms.TextInput(attrs={"size": 10, "autocomplete": "off"})
    return forms.CharField(label=label, max_length=40, required=required, initial=initial, widget=widget)
