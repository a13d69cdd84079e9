"""Tables of people, crews, machines, their hours, and what is published to phones."""

from .crew import Crew, CrewMember, CrewSkill, Loan
from .event import CalendarEvent, FeedLink
from .guess import Guesses
from .machine import Machine
from .person import Person, Role
from .phone import CrewPhone, PhoneSetup
from .week import DayHours, TimeOff, WorkingWeek

__all__ = [
    "CalendarEvent",
    "Crew",
    "CrewMember",
    "CrewPhone",
    "CrewSkill",
    "DayHours",
    "FeedLink",
    "Guesses",
    "Loan",
    "Machine",
    "Person",
    "PhoneSetup",
    "Role",
    "TimeOff",
    "WorkingWeek",
]
