"""The kinds of refusal DRF has no exception for; `inventory.api.problems` makes the answers of them."""

from __future__ import annotations

from http import HTTPStatus

from rest_framework import exceptions


class Conflict(exceptions.APIException):
    """At odds with what is stored."""

    status_code = HTTPStatus.CONFLICT
    default_detail = "This is at odds with what is stored."
    default_code = "conflict"


class TooLarge(exceptions.APIException):
    """More than is read at once."""

    status_code = HTTPStatus.REQUEST_ENTITY_TOO_LARGE
    default_detail = "The request is larger than what is read at once."
    default_code = "too_large"


class Against(exceptions.ValidationError):
    """Well formed, and the shop's rules or records speak against it."""

    status_code = HTTPStatus.UNPROCESSABLE_ENTITY


class WrongParameters(exceptions.ValidationError):
    """What stands behind the question mark cannot be read."""
