"""The measuring room itself: makers, specs, deliveries, pieces, readings, verdicts."""

from django.apps import AppConfig
from django.db.models.signals import post_migrate
from django.utils.module_loading import autodiscover_modules


class InventoryConfig(AppConfig):
    name = "inventory"
    verbose_name = "Measuring room"

    def ready(self) -> None:
        """Load each app's `tasks`, so every kind of job has its handler; lay first rows after `migrate`."""
        from inventory.services.first_rows import lay_first_rows  # noqa: PLC0415  # models exist only now

        post_migrate.connect(lay_first_rows, sender=self, dispatch_uid="inventory.first_rows")
        autodiscover_modules("tasks")
