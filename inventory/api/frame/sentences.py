"""What is said where the framework would say too little: the thing, the value and the cure."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any, Final

from rest_framework import exceptions

if TYPE_CHECKING:
    from rest_framework.request import Request

SIGN_IN: Final = (
    "Send the header 'Authorization: Token …' with the token that POST /api/v1/token/ gives for a name and "
    "password."
)
_OF_FIELDS: Final = {
    "This field is required.": "{name!r} is missing. Send it as well.",
    "This field may not be null.": "{name!r} is null. Send a value, or leave it out if it may be left out.",
    "This field may not be blank.": "{name!r} is empty. Send a text with something in it.",
}


def of_request(error: exceptions.APIException, context: Mapping[str, Any]) -> str:  # Any: DRF's own context
    """The sentence about a request as a whole: how to sign in, which type of body is read."""
    request = context.get("request")
    if isinstance(error, exceptions.NotAuthenticated):
        return f"Nobody is signed in. {_header_seen(request)}{SIGN_IN}"
    if isinstance(error, exceptions.AuthenticationFailed) and str(error.detail) == "Invalid token.":
        return f"The token is not valid: mistyped, handed back, or ended by a new password. {SIGN_IN}"
    if isinstance(error, exceptions.UnsupportedMediaType):
        return f"{error.detail} {_types_read(context.get('view'))}"
    return str(error.detail)


def of_field(said: str, name: str) -> str:
    """The sentence about one place of a body, or one parameter.

    >>> of_field("This field is required.", "maker"), of_field("Check the year.", "arrived_at")
    ("'maker' is missing. Send it as well.", 'Check the year.')
    """
    return _OF_FIELDS[said].format(name=name) if said in _OF_FIELDS and name else said


def _header_seen(request: Request | None) -> str:
    """What is wrong with a header that was sent; the token itself is never said again."""
    words = request.headers.get("Authorization", "").split() if request is not None else []
    if not words or words[0].lower() == "token":
        return ""
    if len(words) == 1:
        return "The header Authorization lacks the word Token before the token. "
    return f"The header Authorization begins with {words[0][:20]!r}, not with Token. "


def _types_read(view: Any) -> str:  # Any: whatever view answers
    read = [parser.media_type for parser in getattr(view, "parser_classes", ())]
    if "application/json" in read:
        return "Send JSON, with the header 'Content-Type: application/json'."
    return f"Send {' or '.join(read)}." if read else ""
