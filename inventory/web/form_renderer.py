"""How `{{ form }}` and `{{ field.as_field_group }}` are drawn: our own templates around Django's widgets."""

from __future__ import annotations

from django.forms.renderers import DjangoTemplates


class WorkroomRenderer(DjangoTemplates):
    """Labels, help and errors tied to their control, and a summary of what is wrong at the top."""

    form_template_name = "inventory/parts/form.html"
    field_template_name = "inventory/parts/field.html"
