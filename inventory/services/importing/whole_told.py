"""Whether a file is a whole export of this program, told by its cover alone."""

from __future__ import annotations

import io
import re
import zipfile
from typing import Final

from inventory.services.exporting.writing import FORMAT

_COVER: Final = 4096
_MOST_BYTES: Final = 1024 * 1024
_SHEET: Final = re.compile(rb'<sheet [^>]*\bname="([^"]+)"')


def is_whole_export(content: bytes) -> bool:
    """Whether these are the zipped tables, the workbook or the document of an export; nothing is unpacked."""
    if not content.startswith(b"PK"):
        begin = content[:_COVER].lstrip()
        return begin.startswith(b"{") and FORMAT.encode() in begin
    try:
        with zipfile.ZipFile(io.BytesIO(content)) as archive:
            names = set(archive.namelist())
            if "about.json" in names:
                return FORMAT.encode() in _part(archive, "about.json")
            if "xl/workbook.xml" not in names:
                return False
            return {b"about", b"makers", b"audit"} <= set(_SHEET.findall(_part(archive, "xl/workbook.xml")))
    except Exception:  # noqa: BLE001  # zipfile raises a dozen kinds for damaged archives; the reader says which
        return False


def _part(archive: zipfile.ZipFile, name: str) -> bytes:
    with archive.open(name) as part:
        return part.read(_MOST_BYTES)
