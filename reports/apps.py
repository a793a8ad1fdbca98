"""What leaves the shop: sheets, chart editions, claims."""

from django.apps import AppConfig


class ReportsConfig(AppConfig):
    name = "reports"
    verbose_name = "Papers"
