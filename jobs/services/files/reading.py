"""Reads amounts, lengths and ids as a job file tells them; what is wrong is gathered with its line."""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from typing import TYPE_CHECKING
from uuid import NAMESPACE_URL, uuid5

from jobs.models.job import new_uid
from jobs.trade.amounts import parse_length, parse_quantity
from jobs.trade.errors import TradeError

from .job_file import Fault, JobFile, JobFileError

if TYPE_CHECKING:
    from decimal import Decimal

    from jobs import models

ID = re.compile(r"[0-9a-f]{32}")


@dataclass(slots=True)
class Reading:
    """What one file tells, read value by value, with faults on the way.

    Attributes
    ----------
    demo
        True for a yard of the demo, whose ids are always the same.
    """

    file: JobFile
    demo: bool
    faults: list[Fault] = field(default_factory=list, init=False)
    minted: int = field(default=0, init=False)

    def fault(self, line: int, key: str, reason: str, remedy: str) -> None:
        """Note what is wrong, at its line or where its key stands."""
        self.faults.append(Fault(line or self.file.lines.get(key, 0), key, reason, remedy))

    def stop_on_faults(self) -> None:
        """Raise all that is wrong so far, if anything is."""
        if self.faults:
            raise JobFileError(tuple(sorted(self.faults)))

    def _fresh(self) -> str:
        """Mint a uid: always the same ones for the demo, so that its plan is the same wherever it is made."""
        if not self.demo:
            return new_uid()
        self.minted += 1
        return uuid5(NAMESPACE_URL, f"demo/{self.file.job['name']}/{self.minted}").hex

    def id_of(
        self, kind: type[models.Job | models.Zone | models.Passage | models.ScopeItem],
        line: int, key: str, told: str | None,
    ) -> str:  # fmt: skip
        """Return the id a file gives, a fresh one where it gives none or another job has it."""
        if told is None:
            return self._fresh()
        if not ID.fullmatch(told):
            self.fault(line, key, f"{told!r} is not an id", "take the line out")
            return new_uid()
        return new_uid() if kind._default_manager.filter(uid=told).exists() else told

    def amount(self, line: int, key: str, told: object, unit: str) -> Decimal | None:
        """Read an amount in a unit; None where none is told or it is none."""
        if told is None:
            return None
        try:
            return parse_quantity(str(told), unit).amount
        except TradeError as error:
            self.fault(line, key, error.reason, error.remedy)
            return None

    def whole(self, line: int, key: str, told: object, unit: str) -> int | None:
        """Read an amount and drop what is less than one."""
        amount = self.amount(line, key, told, unit)
        return None if amount is None else int(amount)

    def length(self, line: int, key: str, told: object) -> int | None:
        """Read a length, in tenths of a millimetre."""
        if told is None:
            return None
        try:
            return parse_length(str(told))
        except TradeError as error:
            self.fault(line, key, error.reason, error.remedy)
            return None
