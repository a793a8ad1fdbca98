"""The OpenAPI description: what each address takes and shows, with every refusal it can give."""

from __future__ import annotations

import re
from typing import Any, Final

import uritemplate
from drf_spectacular.openapi import AutoSchema
from rest_framework import serializers

from inventory.api.frame.inputs import Input
from inventory.api.problems import MEDIA_TYPE

Described = dict[str, Any]  # Any: JSON

MEANINGS: Final = {
    400: "The request cannot be read: not what this description asks for.",
    401: "Nobody is signed in, or the token is not valid any more.",
    403: "The role of whoever is signed in does not reach.",
    404: "There is nothing at this address.",
    406: "Only JSON is given here.",
    409: "At odds with what is stored.",
    413: "More than is read at once.",
    415: "The body is of a type that is not read here.",
    422: "Well formed, but the shop's rules or records speak against it.",
    429: "Too many tries; wait as long as `Retry-After` says.",
    500: "Something unforeseen, written to the server's log.",
}


class ProblemEntry(serializers.Serializer[Any]):  # Any: describes, reads nothing
    pointer = serializers.CharField(required=False, help_text="JSON Pointer into the body.")
    parameter = serializers.CharField(required=False, help_text="Name of a parameter.")
    detail = serializers.CharField(help_text="What is wrong there, and what to send instead.")


class Problem(serializers.Serializer[Any]):  # Any: describes, reads nothing
    """Problem details (RFC 9457)."""

    type = serializers.CharField(help_text="Names the situation; about:blank when the status says it all.")
    title = serializers.CharField()
    status = serializers.IntegerField()
    detail = serializers.CharField(help_text="A sentence: the thing, the value and the cure.")
    errors = ProblemEntry(many=True, required=False)  # type: ignore[assignment]  # a name RFC 9457 gives


class ApiSchema(AutoSchema):
    """Adds the problems to every operation, and says that a body takes no other names than its own."""

    def get_summary(self) -> str:
        """What comes before the first stop, for the line that a closed operation shows."""
        return re.split(r"[.;:](?:\s|$)", self.get_description(), maxsplit=1)[0]

    def _get_response_bodies(self, direction: Any = "response") -> Described:  # Any: the base's own literal
        bodies: Described = super()._get_response_bodies(direction)
        for status in self._refusals():
            answer = self._get_response_for_code(  # type: ignore[no-untyped-call]  # the base is untyped
                Problem, str(status), [MEDIA_TYPE], direction
            )
            bodies.setdefault(str(status), {**answer, "description": MEANINGS[status]})
        return bodies

    def _refusals(self) -> list[int]:
        statuses = {406, 500}
        if self.get_auth() != [{}]:
            statuses |= {401, 403}
        if uritemplate.variables(self.path) or self._get_parameters():
            statuses.add(404)
        if self._get_parameters():
            statuses.add(400)
        if self.method in {"POST", "PUT", "PATCH"}:
            statuses |= {400, 409, 413, 415, 422}
        statuses.update(getattr(self.view, "also_refuses", ()))
        return sorted(statuses)

    def _map_basic_serializer(self, serializer: Any, direction: Any) -> Described:  # Any: the base's own
        described: Described = super()._map_basic_serializer(  # type: ignore[no-untyped-call]  # as above
            serializer, direction
        )
        kind = serializer if isinstance(serializer, type) else type(serializer)
        if issubclass(kind, Input):
            described["additionalProperties"] = False
        return described
