"""Tables of jobs: the company, yards, what is built, plans, the record."""

from .company import Company, LibraryVersion
from .history import HistoryEntry
from .job import Job, NoWorkDay
from .place import Passage, Zone
from .plan import JobPlan, Plan, PlanRow
from .scope import Activity, Decision, Delivery, Link, Notice, Override, ScopeItem
from .weather import ClimatePlace, ForecastReading, Outlook

__all__ = [
    "Activity",
    "ClimatePlace",
    "Company",
    "Decision",
    "Delivery",
    "ForecastReading",
    "HistoryEntry",
    "Job",
    "JobPlan",
    "LibraryVersion",
    "Link",
    "NoWorkDay",
    "Notice",
    "Outlook",
    "Override",
    "Passage",
    "Plan",
    "PlanRow",
    "ScopeItem",
    "Zone",
]
