"""Background work: how far it is, and why it failed."""

from __future__ import annotations

from rest_framework import serializers

from inventory.api.frame.shapes import Shape
from inventory.models.jobs import JobState


class JobShape(Shape):
    """Work that goes on behind the request; ask again until its state is done or failed."""

    state = serializers.ChoiceField(choices=JobState.choices)
    percent = serializers.IntegerField(allow_null=True, help_text="Null while its extent is not known.")
    words = serializers.CharField(help_text="What it is busy with.")
    error = serializers.CharField(help_text="Why it failed; empty otherwise.")
