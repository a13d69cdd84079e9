"""What goes before what, where and why, and how long one waits in between: rules and waits as they are known."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from .work import Clock, Relation, Tread

if TYPE_CHECKING:
    from decimal import Decimal


@dataclass(frozen=True, slots=True)
class WaitKind:
    """A wait: least, usual, high in its own clock, and what it keeps out meanwhile.

    Figures are in ``unit`` (``h``, ``d`` or ``bd``). ``keeps_out`` is None when the wait holds
    only the next activity.
    """

    key: str
    name: str
    least: Decimal
    usual: Decimal
    high: Decimal
    unit: str
    clock: Clock
    why: str
    source: str
    keeps_out: Tread | None = None
    exempt: frozenset[str] = frozenset()
    after: tuple[str, ...] = ()
    """Templates whose finish starts the hold; links name the wait through their rule."""
    instead_of: str = ""
    """A wait this one replaces when somebody says so (another cement, a colder season)."""
    passages: bool = False
    """What leads through the zone is held as well, not only the zone."""


@dataclass(frozen=True, slots=True)
class Rule:
    """What goes before what, where, how, and why.

    Attributes
    ----------
    where
        ``zone`` (same zone, or one that encloses or is enclosed; the whole yard encloses all),
        ``item`` (same scope item), ``way-in`` (the follower's zone lies on the forerunner's way
        in from the street, its own zone not included), ``job`` (anywhere in the job).
    wait
        Key of a wait; ``hours`` (elapsed) or ``slots`` (quarter days of work) say a lag
        without one. At most one of the three.
    at_most_hours
        Elapsed hours between the two events that may not be exceeded.
    before_nth, after_nth
        Only the activity of that ordinal within its scope item takes part (first is 0); None
        takes all. Scalping after the first spray is not scalping after the second.
    expires
        Key of a wait after which the forerunner is stale: a follower that starts later needs
        it done anew (a locate ticket's life). Not a limit on the plan.
    unless
        A word that lifts the rule where the job says so: ``pump`` (hose reaches), ``crane``.
    gives_way
        It only puts something off: it stands where nothing that follows must wait longer for it.
    """

    id: str
    before: tuple[str, ...]
    after: tuple[str, ...]
    where: str
    why: str
    source: str
    relation: Relation = Relation.FINISH_START
    wait: str = ""
    hours: Decimal | None = None
    slots: int | None = None
    at_most_hours: Decimal | None = None
    truth: int | None = None
    """Number of the truth it proves (1-62), for the truth checker."""
    also_truths: tuple[int, ...] = ()
    before_nth: int | None = None
    after_nth: int | None = None
    expires: str = ""
    unless: str = ""
    gives_way: bool = False

    @property
    def truths(self) -> tuple[int, ...]:
        """Every truth it proves."""
        return (*(() if self.truth is None else (self.truth,)), *self.also_truths)
