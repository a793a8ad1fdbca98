"""The records of the measuring room; import them from here: `from inventory.models import Piece`.

Modules import one another downwards only:
people, shop > audit, jobs > makers, points > styles > specs > deliveries > pieces > instruments > inspections
> verdicts > dispositions, defects > imports.
"""

from inventory.models.audit import AuditRow
from inventory.models.defects import Defect, Photo
from inventory.models.deliveries import Batch, Delivery
from inventory.models.dispositions import Disposition
from inventory.models.imports import ImportRun
from inventory.models.inspections import Inspection, Reading, SlipQuestion, UnreadSide
from inventory.models.instruments import Instrument
from inventory.models.jobs import Job
from inventory.models.makers import Maker
from inventory.models.people import User
from inventory.models.pieces import Piece
from inventory.models.points import CataloguePoint
from inventory.models.rules import DecisionRule
from inventory.models.shop import Shop
from inventory.models.specs import Spec, SpecCell, SpecPoint, SpecSize
from inventory.models.styles import MeasurePoint, Style
from inventory.models.verdicts import JudgementBasis, PieceVerdict

__all__ = [
    "AuditRow",
    "Batch",
    "CataloguePoint",
    "DecisionRule",
    "Defect",
    "Delivery",
    "Disposition",
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
    "Reading",
    "Shop",
    "SlipQuestion",
    "Spec",
    "SpecCell",
    "SpecPoint",
    "SpecSize",
    "Style",
    "UnreadSide",
    "User",
]
