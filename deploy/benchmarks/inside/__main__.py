"""Set Django up, then run the program of that name: its models can be imported only afterwards."""

from __future__ import annotations

import importlib
import sys

import django

if __name__ == "__main__":
    django.setup()
    importlib.import_module(f"deploy.benchmarks.inside.{sys.argv[1]}").main(sys.argv[2:])
