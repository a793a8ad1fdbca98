"""What the log says of a request: a refusal is a line, for nothing broke."""

from __future__ import annotations

import logging

_REFUSED = 403


def refusals_in_one_line(record: logging.LogRecord) -> bool:
    """Take the traceback off the record of a refused request; every record passes."""
    if getattr(record, "status_code", None) == _REFUSED:
        record.exc_info = None
        record.exc_text = None
    return True
