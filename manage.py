#!/usr/bin/env python3
"""Entry for commands: ``python manage.py demo``."""

import os
import sys

if __name__ == "__main__":  # what a process of the solver does not do: it needs no Django
    from django.core.management import execute_from_command_line

    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "jobs.settings")
    execute_from_command_line(sys.argv)
