"""The line art of verdicts and dispositions, on a 16 × 16 grid, drawn in the colour of the text around it.

The outlines differ, not only what is inside them, so they can be told apart at 10 px, in greyscale, in
forced colours and on a black and white printer: a full disc, a hollow triangle, a full diamond.
"""

from __future__ import annotations

from typing import Final

_OUTLINE: Final = 'fill="none" stroke="currentColor" stroke-linejoin="round"'
_LINE: Final = f'{_OUTLINE} stroke-width="1.6" stroke-linecap="round"'

VERDICT_SHAPES: Final = {
    # A disc with a tick cut out.
    "in": (
        '<path fill="currentColor" fill-rule="evenodd" d="M8 1a7 7 0 1 1 0 14A7 7 0 1 1 8 1Z'
        'M4.1 8.3 7 11.2 12 6.2 10.7 4.9 7 8.6 5.4 7Z"/>'
    ),
    # A hollow triangle.
    "close": f'<path {_OUTLINE} stroke-width="2" d="M8 2 14.6 14H1.4Z"/>',
    # A diamond with a cross cut out.
    "out": (
        '<path fill="currentColor" fill-rule="evenodd" d="M8 0 16 8 8 16 0 8Z'
        'M5.2 6.4 6.8 8 5.2 9.6 6.4 10.8 8 9.2 9.6 10.8 10.8 9.6 9.2 8 10.8 6.4 9.6 5.2 8 6.8 6.4 5.2Z"/>'
    ),
    # A dashed ring: nothing said yet.
    "none": f'<circle cx="8" cy="8" r="6" {_OUTLINE} stroke-width="1.5" stroke-dasharray="2.5 2.2"/>',
}

MARK_SHAPES: Final = {
    # The same outlines without what is inside, for the small cells of a heat map.
    "in": '<circle fill="currentColor" cx="8" cy="8" r="4"/>',
    "close": f'<path {_OUTLINE} stroke-width="2.2" d="M8 2.5 14 13.5H2Z"/>',
    "out": '<path fill="currentColor" d="M8 0 16 8 8 16 0 8Z"/>',
    "none": "",
}

DISPOSITION_SHAPES: Final = {
    "hold": f'<path {_LINE} d="M2 2h12v12H2ZM6.2 5.5v5M9.8 5.5v5"/>',
    "release": '<path fill="currentColor" d="M1.5 5.5H8V1.5L15 8 8 14.5v-4H1.5Z"/>',
    "concession": f'<g {_LINE}><circle cx="5.8" cy="8" r="4.4"/><circle cx="10.2" cy="8" r="4.4"/></g>',
    "second": f'<path {_LINE} d="M2 2h12v12H2ZM5.8 6.4a2.2 2.2 0 1 1 3.8 1.5L5.8 11.5h4.6"/>',
    "relabel": f'<path {_LINE} d="M1.5 4h8.5l4.5 4L10 12H1.5ZM4.8 8h.01"/>',
    "rework": f'<path {_LINE} d="M13.3 8.5A5.4 5.4 0 1 1 11.5 4M12.2 1v3.4H8.8"/>',
    "return": f'<path {_LINE} d="M5.5 2 1.8 5.7l3.7 3.7M1.8 5.7h8.4a4 4 0 0 1 0 8H6.5"/>',
    "scrap": f'<path {_OUTLINE} stroke-width="2.6" d="M2.5 2.5l11 11M13.5 2.5l-11 11"/>',
}
