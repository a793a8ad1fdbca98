"""The bytes of a request as JSON; what is nested too deep is refused, not tried.

Django refuses a body of more than `DATA_UPLOAD_MAX_MEMORY_SIZE` bytes before it comes here.
"""

from __future__ import annotations

from typing import IO, TYPE_CHECKING, Any

from rest_framework.exceptions import ParseError
from rest_framework.parsers import JSONParser

if TYPE_CHECKING:
    from collections.abc import Mapping


class ShallowJSONParser(JSONParser):
    """JSON no deeper than Python's own reader goes."""

    def parse(
        self,
        stream: IO[bytes],
        media_type: str | None = None,
        parser_context: Mapping[str, Any] | None = None,  # Any: the parser's own signature
    ) -> Any:  # Any: what JSON can hold
        try:
            return super().parse(stream, media_type, parser_context)
        except RecursionError:
            raise ParseError("The JSON is nested too deep. Send it as the schema shows it.") from None
