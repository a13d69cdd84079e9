"""What every table has: when it was made and changed; and a revision where people edit."""

from __future__ import annotations

from typing import Any

from django.db import models


class Stamped(models.Model):
    """Created and modified instants, set by the database layer."""

    created = models.DateTimeField(auto_now_add=True)
    modified = models.DateTimeField(auto_now=True)

    class Meta:
        abstract = True


class Revised(Stamped):
    """A row that people edit: two editors are told apart by the revision they started from."""

    revision = models.PositiveIntegerField(default=1, editable=False)

    class Meta:
        abstract = True

    def save(self, *args: Any, **kwargs: Any) -> None:
        """Count every save of an existing row as a new revision."""
        if not self._state.adding:
            self.revision += 1
            fields = kwargs.get("update_fields")
            if fields is not None:
                kwargs["update_fields"] = {*fields, "revision", "modified"}
        super().save(*args, **kwargs)
