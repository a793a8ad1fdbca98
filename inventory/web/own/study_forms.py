"""The boxes of a study: planning one, giving one up, using its result; and of a stated reading error."""

from __future__ import annotations

import re
import secrets
from typing import TYPE_CHECKING, Any, Final

from django import forms

from inventory.fields import LengthFormField
from inventory.models import Piece, Shop
from inventory.queries.own import studies as ask
from inventory.services.studies import LONGEST_NOTE

if TYPE_CHECKING:
    from inventory.models import Style

_LABEL: Final = re.compile(r"[Pp]?(\d{1,18})")
_SEEDS: Final = 1_000_000_000
_NEVER: Final = 2**63 - 1


class PlanForm(forms.Form):
    """Who reads which points of which pieces how often."""

    pieces = forms.MultipleChoiceField(
        required=False,
        widget=forms.CheckboxSelectMultiple,
        label="Pieces",
        help_text="5 to 12, of different sizes and colours if you can: what a usual week brings.",
    )
    labels = forms.CharField(
        required=False,
        max_length=200,
        label="Further pieces by their label",
        help_text="Such as P000123, P000131, for pieces that are not in the list.",
    )
    people = forms.MultipleChoiceField(
        error_messages={
            "required": "Nobody is picked. Take at least 2: one person cannot show how far people differ."
        },
        widget=forms.CheckboxSelectMultiple,
        label="People",
        help_text="Two at least, better three: two say little of how far people differ.",
    )
    points = forms.MultipleChoiceField(
        error_messages={"required": "No point is picked. Pick at least one; three or four are usual."},
        widget=forms.CheckboxSelectMultiple,
        label="Points",
        help_text="Those that decide verdicts. Each more takes 20 seconds a reading.",
    )
    rounds = forms.IntegerField(
        min_value=0,
        max_value=20,
        initial=2,
        label="Rounds",
        help_text="How often each person reads each piece. Without a second nobody's own spread is seen.",
        widget=forms.NumberInput(attrs={"size": 4}),
    )
    seed = forms.IntegerField(
        min_value=0,
        max_value=_NEVER,
        label="Seed of the order",
        help_text="Recorded, so that the shuffled order can be made again. Any number will do.",
        widget=forms.NumberInput(attrs={"size": 12}),
    )
    note = forms.CharField(required=False, max_length=LONGEST_NOTE, label="Note")

    def __init__(self, data: Any = None, *, style: Style) -> None:  # Any: what a request carries
        super().__init__(data, initial={"seed": secrets.randbelow(_SEEDS)})
        self._pieces = {str(piece.pk): piece for piece in ask.pieces_at_hand(style)}
        self._people = {str(person.pk): person for person in ask.people_who_measure()}
        self._points = {str(point.pk): point for point in style.points.filter(is_active=True)}
        self._choices(
            pieces={
                pk: f"{piece.label}, size {piece.size_label}, {piece.batch.label}"
                for pk, piece in self._pieces.items()
            },
            people={pk: str(person) for pk, person in self._people.items()},
            points={pk: str(point) for pk, point in self._points.items()},
        )

    def _choices(self, **offered: dict[str, str]) -> None:
        for name, choices in offered.items():
            field = self.fields[name]
            assert isinstance(field, forms.MultipleChoiceField)
            field.choices = list(choices.items())

    def clean_labels(self) -> list[Piece]:
        """The pieces named by label; refuses what is no label, and labels nobody has."""
        typed = [word for word in re.split(r"[\s,;]+", self.cleaned_data["labels"]) if word]
        numbers = []
        for word in typed:
            found = _LABEL.fullmatch(word)
            if found is None:
                raise forms.ValidationError(f"{word!r} is no label of a piece. Write them like P000123.")
            numbers.append(int(found[1]))
        pieces = {
            piece.number: piece
            for piece in Piece.objects.filter(number__in=[n for n in numbers if n <= _NEVER]).select_related(
                "batch"
            )
        }
        unknown = [word for word, number in zip(typed, numbers, strict=True) if number not in pieces]
        if unknown:
            raise forms.ValidationError(f"There is no piece {', '.join(unknown)}. Look at its tag again.")
        return list(dict.fromkeys(pieces[number] for number in numbers))

    def chosen(self) -> dict[str, Any]:  # Any: arguments of the service
        """What was picked, as rows; pieces in label order."""
        data = self.cleaned_data
        pieces = {self._pieces[pk] for pk in data["pieces"]} | set(data["labels"])
        return {
            "pieces": sorted(pieces, key=lambda piece: piece.number),
            "people": [self._people[pk] for pk in data["people"]],
            "points": [self._points[pk] for pk in data["points"]],
            "note": data["note"],
        }


class GiveUpForm(forms.Form):
    reason = forms.CharField(
        max_length=200, label="Why", help_text="Such as: a tape was changed in the middle."
    )


class StatedErrorForm(forms.Form):
    """A reading error as the owner states it; a length without a unit is in the shop's."""

    repeat_sd_nm = LengthFormField(
        label="Repeats of one person",
        help_text="Standard deviation of one reading by the same hands, such as 1.2 mm.",
        widget=forms.TextInput(attrs={"size": 10}),
    )
    person_sd_nm = LengthFormField(
        label="Other hands add",
        help_text="Standard deviation between people, beyond their repeats.",
        widget=forms.TextInput(attrs={"size": 10}),
    )
    fixed_sd_nm = LengthFormField(
        label="In every reading alike",
        help_text="Beside tape, level and state, which are counted apart. Usually 0.",
        widget=forms.TextInput(attrs={"size": 10}),
    )
    reason = forms.CharField(
        max_length=200, label="Where the figures come from", help_text="A verdict may be asked about this."
    )

    def __init__(self, data: Any = None, *, initial: dict[str, Any] | None = None) -> None:  # Any: as above
        super().__init__(data, initial=initial)
        for field in self.fields.values():
            if isinstance(field, LengthFormField):
                field.unit = Shop.objects.current().as_display().unit
