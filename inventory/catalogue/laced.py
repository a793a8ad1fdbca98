"""The points of laced, boned waist garments, in the order of the tape."""

from inventory.catalogue.laced_details import DETAILS
from inventory.catalogue.laced_girths import GIRTHS
from inventory.catalogue.laced_lengths import LENGTHS
from inventory.catalogue.points import CataloguePoint

LACED_POINTS: tuple[CataloguePoint, ...] = (*GIRTHS, *LENGTHS, *DETAILS)
