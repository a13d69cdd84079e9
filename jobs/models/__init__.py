"""Tables of jobs: the company, yards, what is built, plans, the record."""

from .company import Company, LibraryVersion
from .history import HistoryEntry
from .job import Job, NoWorkDay
from .place import Passage, Zone
from .plan import JobPlan, Plan, PlanRow
from .scope import Activity, Decision, Delivery, Link, Notice, Override, ScopeItem

__all__ = [
    "Activity",
    "Company",
    "Decision",
    "Delivery",
    "HistoryEntry",
    "Job",
    "JobPlan",
    "LibraryVersion",
    "Link",
    "NoWorkDay",
    "Notice",
    "Override",
    "Passage",
    "Plan",
    "PlanRow",
    "ScopeItem",
    "Zone",
]
