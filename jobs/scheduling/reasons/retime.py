"""Bring a plan forward as far as its own order allows: every crew, machine and place keeps its turns."""

from __future__ import annotations

from collections import deque
from typing import TYPE_CHECKING

from jobs.scheduling.fits import first_fit
from jobs.scheduling.paths.late import Slack
from jobs.scheduling.paths.web import link_steps, sharing_steps
from jobs.scheduling.ready import Ready
from jobs.scheduling.result import Plan

if TYPE_CHECKING:
    from jobs.scheduling.world import World


def bring_forward(world: World, plan: Plan) -> Plan:
    """Return the soonest plan with the crews, machines and turns of another one.

    Parameters
    ----------
    plan
        A sound plan; nothing comes out later than it stands there.
    """
    ready = Ready(world)
    placed = [plan[work.id] for work in ready.works]
    steps = (*link_steps(ready, [at.crew for at in placed]), *sharing_steps(ready, placed))
    return _Forward(Slack(ready, placed, steps)).plan()


class _Forward:
    def __init__(self, slack: Slack) -> None:
        self.slack, self.ready = slack, slack.ready
        self.start = [0] * len(slack.placed)
        self.end = [0] * len(slack.placed)

    def plan(self) -> Plan:
        """Raise dates from nothing until every step is kept."""
        slack, ready = self.slack, self.ready
        queue, waiting = deque(ready.order), [True] * len(self.start)
        while queue:
            i = queue.popleft()
            waiting[i] = False
            found = self._soonest(i)
            if found == (self.start[i], self.end[i]):
                continue
            self.start[i], self.end[i] = found
            for step in slack.out[i]:
                if not waiting[step.after]:
                    waiting[step.after] = True
                    queue.append(step.after)
        return Plan(
            {
                work.id: slack.placed[i]._replace(start=self.start[i], end=self.end[i])
                for i, work in enumerate(ready.works)
            }
        )

    def _soonest(self, i: int) -> tuple[int, int]:
        """Soonest place after all steps into a work; where it stands at the latest."""
        slack, ready, at = self.slack, self.ready, self.slack.placed[i]
        if i in ready.fixed:
            return at.start, at.end
        start, end = ready.floor[i], 0
        for step in slack.into[i]:
            bound = step.forward[(self.end if step.from_finish else self.start)[step.before]]
            if step.to_finish:
                end = max(end, bound)
            else:
                start = max(start, bound)
        work = ready.works[i]
        slots = work.crews.get(at.crew, work.slots)
        day = ready.per_day if work.one_go else 0
        first, last = first_fit(slack.calendars[i], slots, start, end, day)
        return min(first, at.start), min(last, at.end)
