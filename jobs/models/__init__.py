"""Tables of jobs: the company, yards, what is built, plans, the record."""

from .cause import Answer, Cause, Change, FinishChange, LostTime
from .change_order import ChangeLine, ChangeOrder
from .company import Company, LibraryVersion
from .day import DayLog, Photo
from .history import HistoryEntry
from .job import Job, NoWorkDay
from .message import Message
from .place import GateCode, Passage, Zone
from .plan import JobPlan, Plan, PlanRow
from .release import Release
from .scope import Activity, Decision, Delivery, Link, Notice, Override, ScopeItem
from .solve import Solve, Worker
from .term import Term
from .weather import ClimatePlace, ForecastReading, Outlook

__all__ = [
    "Activity",
    "Answer",
    "Cause",
    "Change",
    "ChangeLine",
    "ChangeOrder",
    "ClimatePlace",
    "Company",
    "DayLog",
    "Decision",
    "Delivery",
    "FinishChange",
    "ForecastReading",
    "GateCode",
    "HistoryEntry",
    "Job",
    "JobPlan",
    "LibraryVersion",
    "Link",
    "LostTime",
    "Message",
    "NoWorkDay",
    "Notice",
    "Outlook",
    "Override",
    "Passage",
    "Photo",
    "Plan",
    "PlanRow",
    "Release",
    "ScopeItem",
    "Solve",
    "Term",
    "Worker",
    "Zone",
]
