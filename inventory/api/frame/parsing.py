"""The bytes of a request, within limits: what is too large or nested too deep is refused, not tried."""

from __future__ import annotations

from typing import IO, TYPE_CHECKING, Any

from django.conf import settings
from rest_framework.exceptions import ParseError
from rest_framework.parsers import JSONParser

from inventory.api.problems import TooLarge

if TYPE_CHECKING:
    from collections.abc import Mapping


class BoundedJSONParser(JSONParser):
    """JSON of at most `DATA_UPLOAD_MAX_MEMORY_SIZE` bytes; Django's own limit does not reach this reader."""

    def parse(
        self,
        stream: IO[bytes],
        media_type: str | None = None,
        parser_context: Mapping[str, Any] | None = None,  # Any: the parser's own signature
    ) -> Any:  # Any: what JSON can hold
        most = settings.DATA_UPLOAD_MAX_MEMORY_SIZE
        length = int(parser_context["request"].META.get("CONTENT_LENGTH") or 0) if parser_context else 0
        if length > most:
            raise TooLarge(f"The body has {length} bytes; at most {most} are read. Send it in parts.")
        try:
            return super().parse(stream, media_type, parser_context)
        except RecursionError:
            raise ParseError("The JSON is nested too deep. Send it as the schema shows it.") from None
