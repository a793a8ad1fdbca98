"""Project glue: settings, addresses, servers. No business rule lives here."""

import os

__version__ = "0.1.0"

# Read when numpy is first imported. The matrices of a page are small: threads that wait for one another on a
# machine with few cores cost several times what they gain.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

# Celery costs a tenth of a second to import, so it is loaded only where a broker is configured.
# Then it must be loaded with the project, or a task sent from a request would miss the settings.
if os.environ.get("REDIS_URL", "").strip():
    from shop_qc.celery import app as celery_app

    __all__ = ["celery_app"]
