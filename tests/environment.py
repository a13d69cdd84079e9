"""A pytest plugin, loaded before settings are read: tests have a data folder of their own.

Named in pyproject.toml by ``-p tests.environment``; run tests from the top by ``python -m pytest``.
"""

from __future__ import annotations

import os
import tempfile
from pathlib import Path

DATA = Path(tempfile.mkdtemp(prefix="yardwright-tests-"))
os.environ["YARDWRIGHT_DATA"] = str(DATA)
for name in ("SECRET_KEY", "HOSTS", "BASE_URL", "TODAY", "PROXY", "DEBUG"):
    os.environ.pop(name, None)
os.environ.setdefault("DJANGO_ALLOW_ASYNC_UNSAFE", "true")
