"""The bars of filters over lists. What is not understood filters nothing: an old bookmark still opens."""

from __future__ import annotations

from typing import Any

from django import forms

from inventory.models import Maker, Style
from inventory.models.verdicts import VerdictCode
from inventory.templatetags.verdicts import DISPOSITION_WORDS

SEARCH = forms.TextInput(attrs={"size": 16, "type": "search"})
ANY = ("", "any")


class ListFilters(forms.Form):
    """A GET form; `asked` holds what could be understood."""

    use_required_attribute = False

    @property
    def asked(self) -> dict[str, Any]:  # Any: values of every field type
        """The filters that are set and make sense."""
        self.is_valid()
        return {name: value for name, value in self.cleaned_data.items() if value}


class DeliveryFilters(ListFilters):
    text = forms.CharField(label="Label, order or invoice", required=False, widget=SEARCH, max_length=60)
    maker = forms.ModelChoiceField(Maker.objects.all(), required=False, empty_label="any")
    undecided = forms.BooleanField(label="only with pieces to decide", required=False)


class BatchFilters(ListFilters):
    text = forms.CharField(label="Label, order or cutting", required=False, widget=SEARCH, max_length=60)
    maker = forms.ModelChoiceField(Maker.objects.all(), required=False, empty_label="any")
    style = forms.ModelChoiceField(Style.objects.all(), required=False, empty_label="any")
    undecided = forms.BooleanField(label="only with pieces to decide", required=False)


class PieceFilters(ListFilters):
    text = forms.CharField(label="Label, old number or colour", required=False, widget=SEARCH, max_length=60)
    shelf = forms.ChoiceField(
        label="Verdict",
        required=False,
        choices=[
            ANY,
            *VerdictCode.choices,
            ("none", "not judged yet"),
            ("again", "to measure again, label changed"),
        ],
    )
    standing = forms.ChoiceField(required=False, choices=[ANY, *DISPOSITION_WORDS.items()])
    maker = forms.ModelChoiceField(Maker.objects.all(), required=False, empty_label="any")
    batch = forms.CharField(required=False, widget=forms.HiddenInput, max_length=12)
