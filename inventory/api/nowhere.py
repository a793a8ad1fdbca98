"""What is said of an address below /api/ that nothing answers."""

from __future__ import annotations

from typing import Any

from rest_framework.exceptions import NotFound
from rest_framework.permissions import AllowAny
from rest_framework.request import Request
from rest_framework.views import APIView


class Nowhere(APIView):
    """A problem instead of the page for people, whatever the method; never a redirect that loses a body."""

    authentication_classes = []
    permission_classes = [AllowAny]
    schema = None

    def initial(self, request: Request, *args: Any, **kwargs: Any) -> None:  # Any: the base's own signature
        """Comes before the method is looked at."""
        slash = "" if request.path.endswith("/") else f" Addresses end with a slash: {request.path}/."
        raise NotFound(
            f"There is nothing at {request.path}.{slash} All addresses are described at /api/v1/schema/."
        )
