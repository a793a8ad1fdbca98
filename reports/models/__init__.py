"""What leaves the shop; import from here: `from reports.models import Document`."""

from reports.models.documents import Document

__all__ = ["Document"]
