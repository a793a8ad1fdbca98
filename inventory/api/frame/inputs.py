"""What is sent, read strictly: JSON of another type is refused, and so is a name nobody asked for.

Converting `"12"` to 12 or dropping a misspelt `client-key` would store something other than what was meant.
"""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Mapping
from typing import TYPE_CHECKING, Any, Final, NoReturn

from rest_framework import serializers

from inventory.api.frame.errors import WrongParameters

if TYPE_CHECKING:
    import uuid
    from collections.abc import Iterable

    from rest_framework.request import Request

    from inventory.converters import LabelConverter

    Sent = dict[str, Any]  # Any: values of every type

EARLIEST: Final = dt.datetime(1990, 1, 1, tzinfo=dt.UTC)
BEYOND_SCHEMA: Final = frozenset(
    {
        "against",
        "blank",
        "early",
        "overflow",
        "null_characters_not_allowed",
        "surrogate_characters_not_allowed",
    }
)
"""Codes of what no schema can forbid: spaces only, a moment before any record, signs no database keeps."""

LARGEST_ID: Final = 2**63 - 1
_SOME_KEY: Final = "1b4e28ba-2fa1-41d2-883f-0016d3cca427"
_DAY: Final = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}")
_MOMENT: Final = re.compile(
    r"[0-9]{4}-[0-9]{2}-[0-9]{2}[Tt ][0-9]{2}:[0-9]{2}(:[0-9]{2}(\.[0-9]{1,6})?)?([Zz]|[+-][0-9]{2}:[0-9]{2})"
)


class Input(serializers.Serializer[Any]):  # Any: it makes no object, it only reads
    """Base of every body; the names that are not its own are refused, naming those that are."""

    def to_internal_value(self, data: Any) -> Any:  # Any: what JSON can hold, then what was read
        if isinstance(data, Mapping):
            self._refuse_unknown(data)
        return super().to_internal_value(data)

    def _refuse_unknown(self, data: Mapping[str, Any]) -> None:  # Any: as above
        known = ", ".join(self.fields)
        unknown = [str(name) for name in data if name not in self.fields]
        if unknown:
            raise serializers.ValidationError(
                {name: [f"There is no {name!r} here. Send one of: {known}."] for name in unknown}
            )


class Filters(serializers.Serializer[Any]):  # Any: it makes no object, it only reads
    """Base of what can be asked for behind the question mark; text, so nothing is taken by its JSON type."""


def read_parameters(
    reads: type[Filters], request: Request, *, besides: Iterable[str] | None = None
) -> dict[str, Any]:  # Any: values of every type
    """What stands behind the question mark, as read; with `besides`, any name that is in neither is refused.

    A misspelt filter left out in silence would show, or decide, everything.
    """
    # As a plain dict: in a form's own dict an empty text counts as not sent.
    sent = request.query_params.dict()
    asked = reads(data=sent)
    asked.is_valid()
    wrong = dict(asked.errors)
    if besides is not None:
        known = [*asked.fields, *besides]
        for name in sent:
            if name not in known:
                wrong[name] = [f"There is no {name!r} here. Ask by one of: {', '.join(known)}."]
    if wrong:
        raise WrongParameters(wrong)
    return dict(asked.validated_data)


class LabelFilter(serializers.RegexField):
    """A label as printed, whole: DRF's own pattern is also content with a label somewhere in the text."""

    def __init__(self, converter: type[LabelConverter], **kwargs: Any) -> None:  # Any: passed on
        label = converter.label_of(12)
        options: dict[str, Any] = {
            "required": False,
            "help_text": f"Such as {label}.",
            "error_messages": {"invalid": f"This is no label. Ask by one such as {label}."},
        }
        super().__init__(f"^{converter.regex}$", **options | kwargs)


class OneOf(serializers.ChoiceField):
    """One of a few codes; a refusal names them all."""

    default_error_messages = {"invalid_choice": "{input!r} is none of those there are. Send one of: {codes}."}

    def fail(self, key: str, **kwargs: Any) -> NoReturn:  # Any: what JSON can hold
        if "input" in kwargs:
            kwargs["input"] = str(kwargs["input"])[:40]
        codes = ", ".join(str(code) for code in self.choices)
        super().fail(key, codes=codes, **kwargs)


class Text(serializers.CharField):
    """A JSON text, nothing that could be made into one: 34.30 as a number has lost its nought."""

    default_error_messages = {"invalid": "Send this as text, in quotation marks."}

    def to_internal_value(self, data: Any) -> str:  # Any: what JSON can hold
        if not isinstance(data, str):
            self.fail("invalid")
        return super().to_internal_value(data)


class Code(Text):
    """The short code of a maker or style; a name sent in its place is told where the codes are."""

    def __init__(self, what: str, *, most: int, **kwargs: Any) -> None:  # Any: passed on
        said = f"Send the {what}'s code, not its name: at most {most} characters. See /api/v1/{what}s/."
        options: dict[str, Any] = {"help_text": f"The {what}'s code."}
        super().__init__(max_length=most, error_messages={"max_length": said}, **options | kwargs)


class Whole(serializers.IntegerField):
    """A JSON whole number."""

    default_error_messages = {"invalid": "Send a whole number, without quotation marks."}

    def to_internal_value(self, data: Any) -> int:  # Any: what JSON can hold
        # 3.0 is a whole number by the definition of JSON Schema; True is none, though Python says so.
        if isinstance(data, float) and data.is_integer():
            data = int(data)
        if isinstance(data, bool) or not isinstance(data, int):
            self.fail("invalid")
        return data


class Truth(serializers.BooleanField):
    """JSON true or false."""

    default_error_messages = {"invalid": "Send true or false, without quotation marks."}

    def to_internal_value(self, data: Any) -> bool:  # Any: what JSON can hold
        if not isinstance(data, bool):
            self.fail("invalid")
        return data


class Moment(serializers.DateTimeField):
    """A moment with its offset, from 1990 on: without one an hour could be any of two dozen."""

    default_error_messages = {
        "offset": "{typed!r} is no moment with its offset from UTC. Send such as 2026-03-02T09:30:00+01:00 "
        "or 2026-03-02T08:30:00Z.",
        "early": "{typed!r} lies before 1990. Check the year.",
    }

    def to_internal_value(self, value: Any) -> dt.datetime:  # Any: what JSON can hold
        if not isinstance(value, str) or not _MOMENT.fullmatch(value):
            self.fail("offset", typed=value)
        moment = super().to_internal_value(value.upper())
        assert isinstance(moment, dt.datetime)
        if moment < EARLIEST:
            self.fail("early", typed=value)
        return moment


class Day(serializers.DateField):
    """A day as year, month, day."""

    default_error_messages = {"invalid": "Send a day such as 2026-03-02."}

    def to_internal_value(self, value: Any) -> dt.date:  # Any: what JSON can hold
        if not isinstance(value, str) or not _DAY.fullmatch(value):
            self.fail("invalid", format="YYYY-MM-DD")
        return super().to_internal_value(value)


class Key(serializers.UUIDField):
    """A key of the sender's own, a UUID as text."""

    default_error_messages = {
        "invalid": f"Send a UUID such as {_SOME_KEY}, a new one for each reading.",
        "null": f"null is no key. Send a UUID such as {_SOME_KEY}, a new one for each reading.",
    }

    def to_internal_value(self, data: Any) -> uuid.UUID:  # Any: what JSON can hold
        if not isinstance(data, str):
            self.fail("invalid")
        key: uuid.UUID = super().to_internal_value(data)
        return key
