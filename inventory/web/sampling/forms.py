"""The boxes of an agreement, of a draw, of a note for the switching rules."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, ClassVar

from django import forms
from django.core.exceptions import ValidationError

from inventory.calc.sampling.draw import DrawKind
from inventory.models import MeasurePoint, SamplingScheme, Style, SwitchingNote
from inventory.web.setup.forms.fields_of_model import FieldsOfModel

_PERCENT = forms.TextInput(attrs={"size": 7, "inputmode": "decimal"})


class SchemeForm(FieldsOfModel):
    """How batches are sampled from now on; a new row each time. The point only where there is a style."""

    model = SamplingScheme
    names: ClassVar[tuple[str, ...]] = (
        "kind",
        "level",
        "stages",
        "switching",
        "aql_major",
        "aql_minor",
        "producer_quality",
        "producer_risk",
        "consumer_quality",
        "consumer_risk",
        "point",
        "method",
        "rota_batches",
        "reason",
    )
    widgets = {
        **dict.fromkeys(
            (
                "aql_major",
                "aql_minor",
                "producer_quality",
                "producer_risk",
                "consumer_quality",
                "consumer_risk",
            ),
            _PERCENT,
        ),
        "rota_batches": forms.NumberInput(attrs={"min": 2, "max": 12}),
    }
    labels = {
        "kind": "How",
        "level": "Inspection level",
        "stages": "Samples",
        "switching": "Switching rules",
        "aql_major": "AQL for major (%)",
        "aql_minor": "AQL for minor (%)",
        "producer_quality": "Share bad that is still good, p1 (%)",
        "producer_risk": "Risk of refusing it, alpha (%)",
        "consumer_quality": "Share bad that must not pass, p2 (%)",
        "consumer_risk": "Risk of passing it, beta (%)",
        "point": "Point judged by variables",
        "method": "Spread",
        "rota_batches": "Secondary points in turn, within so many batches",
        "reason": "Why",
    }
    help_texts = {
        "level": "II is usual; S-1 the least, III the most.",
        "stages": "Double: a second sample only if the first does not decide.",
        "aql_major": "2.5 is common. A limit on the average of many batches, not the share allowed in one.",
        "aql_minor": "4.0 is common. Critical defects have none: one refuses the batch.",
        "method": "“Known” needs 30 judged pieces of earlier batches, and the shares and risks below.",
        "rota_batches": "Empty: every point, always. One reading out brings back all points.",
        "reason": "What was agreed, when; or what the maker has earned it by. It stands in the history.",
    }

    def __init__(
        self,
        data: Mapping[str, Any] | None = None,  # Any: what a request carries
        *,
        row: SamplingScheme | None = None,
        style: Style | None = None,
    ) -> None:
        # The reason belongs to the change, not to what held before.
        super().__init__(data, row=row, initial={"reason": ""})
        if style is None:
            del self.fields["point"]
            kind = self.fields["kind"]
            assert isinstance(kind, forms.TypedChoiceField)
            by_variables = SamplingScheme.Kind.VARIABLES
            kind.choices = [choice for choice in SamplingScheme.Kind.choices if choice[0] != by_variables]
            del self.fields["method"]
            return
        point = self.fields["point"]
        assert isinstance(point, forms.ModelChoiceField)
        point.queryset = MeasurePoint.objects.filter(style=style, is_active=True)


class DrawForm(forms.Form):
    """The seed of a draw and how it is drawn."""

    seed = forms.CharField(
        label="Seed",
        required=False,
        max_length=40,
        widget=forms.TextInput(attrs={"size": 18, "inputmode": "numeric", "autocomplete": "off"}),
        help_text="A whole number, written down before the parcel is opened; empty: one is made.",
    )
    kind = forms.ChoiceField(
        label="How",
        choices=[(kind.value, kind.words) for kind in (DrawKind.SPREAD, DrawKind.RANDOM)],
        help_text="Exact limits on the rest hold for the same chance; spread sees every carton and size.",
    )


class DecideForm(forms.Form):
    """Whether the batch is inspected for the first time."""

    again = forms.BooleanField(
        label="The batch had been refused before and was handed in again",
        required=False,
        help_text="Then it does not count for switching.",
    )


class NoteForm(forms.Form):
    """What a person must say before the rules may switch."""

    kind = forms.ChoiceField(label="What is so", choices=SwitchingNote.Kind.choices)
    note = forms.CharField(label="How this is known", max_length=200)


class HowManyForm(forms.Form):
    """A number of bad pieces, to ask what would become of such a batch."""

    bad = forms.IntegerField(
        label="Bad pieces in the batch",
        required=False,
        min_value=0,
        widget=forms.NumberInput(attrs={"min": 0}),
    )

    def __init__(self, data: Mapping[str, Any] | None, *, batch_size: int) -> None:  # Any: a request's
        self.batch_size = batch_size
        super().__init__(data)

    def clean_bad(self) -> int | None:
        """Refuse more than the batch holds."""
        bad: int | None = self.cleaned_data["bad"]
        if bad is not None and bad > self.batch_size:
            raise ValidationError(
                f"{bad} bad pieces are more than the {self.batch_size} of the batch. "
                f"Give 0 to {self.batch_size}."
            )
        return bad
