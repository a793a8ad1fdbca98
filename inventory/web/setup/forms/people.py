"""The boxes of a person and of a password."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, ClassVar

from django import forms
from django.contrib.auth.validators import UnicodeUsernameValidator

from inventory.models import User
from inventory.web.setup.forms.fields_of_model import FieldsOfModel


def _password_box(label: str, help_text: str = "", autocomplete: str = "new-password") -> forms.CharField:
    widget = forms.PasswordInput(attrs={"autocomplete": autocomplete})
    return forms.CharField(label=label, strip=False, widget=widget, help_text=help_text)


class PersonForm(FieldsOfModel):
    model = User
    names: ClassVar[tuple[str, ...]] = ("username", "first_name", "last_name", "email", "role", "is_active")
    widgets = {"username": forms.TextInput(attrs={"autocapitalize": "none", "autocomplete": "off"})}
    labels = {
        "username": "Signs in as",
        "email": "E-mail",
        "is_active": "May sign in",
    }
    help_texts = {
        "username": "Letters, digits and @ . + - _ only.",
        "role": "Owner: everything. Inspector: receives, measures, brings files in. Viewer: only looks.",
        "is_active": "Off for somebody who has left: what they recorded stays under their name.",
    }

    def __init__(
        self,
        data: Mapping[str, Any] | None = None,  # Any: what a request carries
        *,
        row: User | None = None,
    ) -> None:
        super().__init__(data, row=row)
        username = self.fields["username"]
        # The service says which sign is wrong; the model's own check only that one is.
        username.validators = [
            check for check in username.validators if not isinstance(check, UnicodeUsernameValidator)
        ]


class NewPersonForm(PersonForm):
    """A person with a first password, which they change themselves."""

    names = ("username", "first_name", "last_name", "email", "role")
    password = _password_box(
        "First password", "At least 8 signs, not only digits or a common word. They can change it themselves."
    )


class NewPasswordForm(forms.Form):
    """A new password for somebody who lost theirs, typed twice."""

    password = _password_box("New password", "At least 8 signs, not only digits or a common word.")
    again = _password_box("The same again")

    def clean_again(self) -> str:
        """Refuse two different ones."""
        again: str = self.cleaned_data["again"]
        if again != self.cleaned_data.get("password", again):
            raise forms.ValidationError("The two passwords differ. Type the same one twice.")
        return again


class OwnPasswordForm(NewPasswordForm):
    """One's own new password, with the old one."""

    old_password = _password_box("Old password", autocomplete="current-password")
    field_order = ("old_password", "password", "again")
