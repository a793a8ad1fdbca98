"""The boxes of a decision about pieces. What each decision asks for is the service's to say."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

from django import forms

from inventory.access import Deed, may
from inventory.models.pieces import Standing
from inventory.services.disposition_rules import CONCESSION_ASKS, WITH_INSPECTORS

if TYPE_CHECKING:
    from collections.abc import Mapping

    from inventory.models import User

WORDS = {
    Standing.RELEASE: "Release: it may be sold",
    Standing.HOLD: "Hold: set apart until decided",
    Standing.CONCESSION: "Concession: out, but harmless and agreed, until a day",
    Standing.SECOND: "Second: sold as imperfect, the reason shown to the buyer",
    Standing.RELABEL: "Re-label: it gets the size it really is",
    Standing.REWORK: "Rework: mend it, then measure again",
    Standing.RETURN: "Return: it goes back to the maker",
    Standing.SCRAP: "Scrap: taken out of use, or kept as evidence",
}


class DispositionForm(forms.Form):
    """One decision; `sizes` are those a re-label may name."""

    decision = forms.ChoiceField(widget=forms.RadioSelect)
    reason = forms.CharField(
        required=False,
        max_length=300,
        help_text="Needed for a second (the buyer will see it), rework, return and scrap, "
        "and to release what is not in tolerance.",
        widget=forms.Textarea(attrs={"rows": 2}),
    )
    agreed_with = forms.CharField(
        label="Agreed with",
        required=False,
        max_length=120,
        help_text="For a concession: who agreed to it.",
        widget=forms.TextInput(attrs={"size": 30}),
    )
    ends_on = forms.DateField(
        label="Ends on",
        required=False,
        help_text="For a concession: its last day. For a hold: the day to decide by, if you like.",
        widget=forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d"),
    )
    new_size_label = forms.ChoiceField(
        label="Size it really is", required=False, help_text="For a re-label only."
    )

    def __init__(
        self,
        data: Mapping[str, Any] | None = None,  # Any: what a request carries
        *,
        person: User,
        sizes: Sequence[str],
        decision: str = "",
        new_size_label: str = "",
    ) -> None:
        super().__init__(data, initial={"decision": decision, "new_size_label": new_size_label})
        offered = list(Standing) if may(person, Deed.DECIDE) else [s for s in WORDS if s in WITH_INSPECTORS]
        choices = self.fields["decision"]
        assert isinstance(choices, forms.ChoiceField)
        choices.choices = [
            (standing.value, words) for standing, words in WORDS.items() if standing in offered
        ]
        size = self.fields["new_size_label"]
        assert isinstance(size, forms.ChoiceField)
        size.choices = [("", "–"), *((label, label) for label in sizes)]
        if not may(person, Deed.DECIDE):
            for name in ("agreed_with", "new_size_label"):
                del self.fields[name]
            self.fields["reason"].help_text = "For a hold: what it waits for, if you like."
            self.fields["ends_on"].help_text = "For a hold: the day to decide by, if you like."

    def clean(self) -> dict[str, Any]:  # Any: values of every field type
        """All that a concession lacks is said at once; everything else is the service's to say."""
        said = super().clean() or self.cleaned_data
        if said.get("decision") == Standing.CONCESSION and "agreed_with" in self.fields:
            for name, sentence in CONCESSION_ASKS.items():
                if not said.get(name) and name not in self.errors:
                    self.add_error(name, sentence)
        return said

    def clean_new_size_label(self) -> str:
        """A size that was only proposed means nothing to another decision; a chosen one is asked about."""
        size = str(self.cleaned_data["new_size_label"])
        proposed = size == self.initial["new_size_label"]
        return "" if proposed and self.cleaned_data.get("decision") != Standing.RELABEL else size
