"""How many pieces stand how: by verdict of both rules, and by what is done with them."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from drf_spectacular.utils import extend_schema_field
from rest_framework import serializers

from inventory.models.pieces import Standing
from inventory.models.verdicts import VerdictCode
from inventory.queries.batches import AGAIN

if TYPE_CHECKING:
    from collections.abc import Mapping

    from inventory.queries.batches import PieceCounts

NOT_JUDGED = "none"
AGAIN_SAID = f"`{AGAIN}`: to be measured again, because the label was changed since"


def _numbers(names: list[str]) -> dict[str, Any]:  # Any: JSON
    return {
        "type": "object",
        "properties": {name: {"type": "integer"} for name in names},
        "required": names,
    }


_BY_VERDICT = _numbers([*VerdictCode.values, NOT_JUDGED, AGAIN])
COUNTS_SCHEMA = {
    "type": "object",
    "description": (
        f"Pieces by current verdict (`{NOT_JUDGED}`: not judged yet, {AGAIN_SAID}) and by standing."
    ),
    "properties": {
        "pieces": {"type": "integer"},
        "shelf": _BY_VERDICT,
        "claim": _BY_VERDICT,
        "standing": _numbers(list(Standing.values)),
    },
    "required": ["pieces", "shelf", "claim", "standing"],
}


class CountsField(serializers.Field["PieceCounts", Any, dict[str, Any], Any]):  # Any: read only
    """The counts of a batch or a delivery."""

    def __init__(self, **kwargs: Any) -> None:  # Any: passed on
        super().__init__(**{"read_only": True} | kwargs)

    def to_representation(self, value: PieceCounts) -> dict[str, Any]:  # Any: JSON
        return {
            "pieces": value.pieces,
            "shelf": _by_verdict(value.shelf),
            "claim": _by_verdict(value.claim),
            "standing": {name: value.standing[name] for name in Standing.values},
        }


extend_schema_field(COUNTS_SCHEMA)(CountsField)


def _by_verdict(counted: Mapping[str, int]) -> dict[str, int]:
    by_code = {code: counted[code] for code in VerdictCode.values}
    return {**by_code, NOT_JUDGED: counted[""], AGAIN: counted[AGAIN]}
