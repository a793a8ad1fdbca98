"""The settings of a shop with one address more: the trivial view that saving is held against."""

from shop_qc.settings import *  # noqa: F403  # every setting, whatever it is called

ROOT_URLCONF = "deploy.benchmarks.addresses"
