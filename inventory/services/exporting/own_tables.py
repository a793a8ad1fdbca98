"""The tables of our own measuring: tape checks, check garments, studies, and what is known of each point."""

from __future__ import annotations

from typing import Final

from inventory.models import (
    CheckGarment,
    CheckReading,
    CheckSitting,
    PointError,
    Study,
    StudyPerson,
    StudyPiece,
    StudyReading,
    StudyTurn,
    TapeCheck,
    TapeCheckReading,
)
from inventory.services.exporting.columns import table_of as _table
from inventory.services.exporting.references import PIECE, instrument, person, point, style

_STUDY: Final = ("study", "studies", (("study", "study__number"),))
_PERSON: Final = ("person", "people", (("person", "person__username"),))

OWN_TABLES: Final = (
    _table(
        "tape_checks",
        TapeCheck,
        key=("tape_check",),
        own_key="tape_check",
        refs=[instrument(), instrument("against"), person("checked_by")],
    ),
    _table(
        "tape_check_readings",
        TapeCheckReading,
        key=("tape_check", "rule_length_mm", "repeat"),
        own_key="id",
        refs=[("check_made", "tape_checks", (("tape_check", "check_made"),))],
    ),
    _table("check_garments", CheckGarment, key=("code",), own_key="id", refs=[style()]),
    _table(
        "check_garment_points",
        CheckGarment.points.through,
        key=("garment", "style", "point"),
        refs=[
            ("checkgarment", "check_garments", (("garment", "checkgarment__code"),)),
            point("measurepoint"),
        ],
    ),
    _table(
        "check_sittings",
        CheckSitting,
        key=("sitting",),
        own_key="sitting",
        refs=[
            ("garment", "check_garments", (("garment", "garment__code"),)),
            instrument(),
            person("opened_by"),
        ],
    ),
    _table(
        "check_readings",
        CheckReading,
        key=("check_reading",),
        own_key="check_reading",
        refs=[
            ("sitting", "check_sittings", (("sitting", "sitting"),)),
            point(),
            instrument(),
            person("taken_by"),
            ("corrects", "check_readings", (("corrects", "corrects"),)),
        ],
    ),
    _table(
        "studies",
        Study,
        key=("study",),
        own_key="id",
        refs=[style(), person("planned_by")],
        names={"number": "study"},
    ),
    _table(
        "study_points",
        Study.points.through,
        key=("study", "style", "point"),
        refs=[_STUDY, point("measurepoint")],
    ),
    _table("study_pieces", StudyPiece, key=("study", "piece"), own_key="id", refs=[_STUDY, PIECE]),
    _table("study_people", StudyPerson, key=("study", "person"), own_key="id", refs=[_STUDY, _PERSON]),
    _table(
        "study_turns",
        StudyTurn,
        key=("turn",),
        own_key="turn",
        refs=[
            _STUDY,
            (
                "study_person",
                "study_people",
                (("study", "study__number"), ("person", "study_person__person__username")),
            ),
            (
                "study_piece",
                "study_pieces",
                (("study", "study__number"), ("piece", "study_piece__piece__number")),
            ),
        ],
    ),
    _table(
        "study_readings",
        StudyReading,
        key=("study_reading",),
        own_key="study_reading",
        refs=[
            ("turn", "study_turns", (("turn", "turn"),)),
            point(),
            instrument(),
            person("taken_by"),
            ("corrects", "study_readings", (("corrects", "corrects"),)),
        ],
    ),
    _table(
        "point_errors",
        PointError,
        key=("point_error",),
        own_key="point_error",
        refs=[point(), _STUDY, person("set_by")],
    ),
)
