"""The entrance for web servers."""

import os

from django.core.wsgi import get_wsgi_application
from django.urls import get_resolver

from inventory.calc import length

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "shop_qc.settings")

application = get_wsgi_application()

# What is loaded on first use is loaded here, before the first request: the unit library and the views take
# about a second each, and whoever types the first figure of the day would wait for both. Here and not in an
# app's `ready`, since most commands of manage.py need neither.
length.nm_per_unit()
_ = get_resolver().url_patterns
