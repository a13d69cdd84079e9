"""People who sign in, and what they may do."""

from __future__ import annotations

from django.contrib.auth.models import AbstractUser
from django.db import models


class Role(models.TextChoices):
    """Four roles; everybody may read the office pages, the first two may change them."""

    OWNER = "owner", "Owner"
    SCHEDULER = "scheduler", "Scheduler"
    LEAD = "lead", "Crew lead"
    VIEWER = "viewer", "Viewer"


class Person(AbstractUser):
    """A person of the company with a sign-in. The e-mail address is the user name."""

    name = models.CharField(max_length=120)
    role = models.CharField(max_length=12, choices=Role.choices, default=Role.VIEWER)

    def __str__(self) -> str:
        """Return the name people call them by."""
        return self.name or self.username

    @property
    def may_edit(self) -> bool:
        """True for those who may change jobs, crews and plans."""
        return self.role in (Role.OWNER, Role.SCHEDULER)
