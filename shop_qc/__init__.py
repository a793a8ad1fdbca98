"""Project glue: settings, addresses, servers. No business rule lives here."""

import os

__version__ = "0.1.0"

# Celery costs a tenth of a second to import, so it is loaded only where a broker is configured.
# Then it must be loaded with the project, or a task sent from a request would miss the settings.
if os.environ.get("REDIS_URL", "").strip():
    from shop_qc.celery import app as celery_app

    __all__ = ["celery_app"]
