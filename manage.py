#!/usr/bin/env python3
"""Entry for commands: ``python manage.py demo``."""

import os
import sys

from django.core.management import execute_from_command_line

if __name__ == "__main__":
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "jobs.settings")
    execute_from_command_line(sys.argv)
