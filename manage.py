#!/usr/bin/env python
"""Django's command line for this project."""

import os
import sys


def main() -> None:
    """Run one management command; a setting that cannot be read ends it with a sentence, not a traceback."""
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "shop_qc.settings")
    from django.core.management import execute_from_command_line  # noqa: PLC0415 - after the settings are named

    from shop_qc.env import SettingNotUnderstood  # noqa: PLC0415

    try:
        execute_from_command_line(sys.argv)
    except SettingNotUnderstood as problem:
        sys.exit(f"Settings: {problem}")


if __name__ == "__main__":
    main()
