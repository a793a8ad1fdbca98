"""The records of the measuring room; import them from here: `from inventory.models import Piece`.

Modules import one another downwards only:
people, shop > audit, jobs > makers, points > styles > specs > deliveries > pieces > instruments > inspections
> tape_checks > own_readings > studies > verdicts > dispositions, defects, sampling > imports.
"""

from inventory.models.audit import AuditRow
from inventory.models.defects import Defect, DefectKind, Photo
from inventory.models.deliveries import Batch, Delivery
from inventory.models.dispositions import Disposition
from inventory.models.imports import ImportRun
from inventory.models.inspections import Inspection, Reading, SlipQuestion, UnreadSide
from inventory.models.instruments import Instrument
from inventory.models.jobs import Job
from inventory.models.makers import Maker
from inventory.models.own_readings import CheckGarment, CheckReading, CheckSitting
from inventory.models.people import User
from inventory.models.pieces import Piece
from inventory.models.points import CataloguePoint
from inventory.models.rules import DecisionRule
from inventory.models.sampling import (
    BatchDecision,
    BatchSampling,
    DrawnPiece,
    SamplingScheme,
    SwitchingNote,
)
from inventory.models.shop import Shop
from inventory.models.specs import Spec, SpecCell, SpecPoint, SpecSize
from inventory.models.studies import (
    PointError,
    Study,
    StudyPerson,
    StudyPiece,
    StudyReading,
    StudyTurn,
)
from inventory.models.styles import MeasurePoint, Style
from inventory.models.tape_checks import TapeCheck, TapeCheckReading
from inventory.models.verdicts import JudgementBasis, PieceVerdict

__all__ = [
    "AuditRow",
    "Batch",
    "BatchDecision",
    "BatchSampling",
    "CataloguePoint",
    "CheckGarment",
    "CheckReading",
    "CheckSitting",
    "DecisionRule",
    "Defect",
    "DefectKind",
    "Delivery",
    "Disposition",
    "DrawnPiece",
    "ImportRun",
    "Inspection",
    "Instrument",
    "Job",
    "JudgementBasis",
    "Maker",
    "MeasurePoint",
    "Photo",
    "Piece",
    "PieceVerdict",
    "PointError",
    "Reading",
    "SamplingScheme",
    "Shop",
    "SlipQuestion",
    "Spec",
    "SpecCell",
    "SpecPoint",
    "SpecSize",
    "Study",
    "StudyPerson",
    "StudyPiece",
    "StudyReading",
    "StudyTurn",
    "Style",
    "SwitchingNote",
    "TapeCheck",
    "TapeCheckReading",
    "UnreadSide",
    "User",
]
