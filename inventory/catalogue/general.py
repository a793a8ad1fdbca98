"""The points of closed garments (bodices, waistcoats, jackets), in the order of the tape."""

from inventory.catalogue.general_girths import GIRTHS
from inventory.catalogue.general_lengths import LENGTHS
from inventory.catalogue.points import CataloguePoint

GENERAL_POINTS: tuple[CataloguePoint, ...] = (*GIRTHS, *LENGTHS)
