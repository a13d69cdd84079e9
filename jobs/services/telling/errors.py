"""Sentences of an error or a problem made for people: what is wrong, and the way out if there is one."""

from __future__ import annotations

from typing import TYPE_CHECKING, Protocol

from .words import say

if TYPE_CHECKING:
    from jobs.trade.scope import Problem

from jobs.trade.errors import TradeError


class SaidBefore(TradeError):
    """What is said stands already: said twice it is one thing, and told so."""


class Sayable(Protocol):
    """Any error of the core, and of the use cases, that is told to people."""

    reason: str
    remedy: str


def say_error(error: Sayable) -> str:
    """Return reason and remedy as one sentence."""
    return f"{error.reason}: {error.remedy}." if error.remedy else f"{error.reason}."


def say_problem(problem: Problem) -> str:
    """Return what stands in the way of building, obstacle by obstacle; the last full stop is left out."""
    return ". ".join((problem.reason, *(say(it).removesuffix(".") for it in problem.obstacles)))
