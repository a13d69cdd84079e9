"""Bare tables for support: look, do not plan here."""

from __future__ import annotations

from django.contrib import admin

from jobs import models

for _model in (
    models.Company,
    models.Job,
    models.Zone,
    models.Passage,
    models.ScopeItem,
    models.Activity,
    models.Link,
    models.Plan,
    models.HistoryEntry,
):
    admin.site.register(_model)
