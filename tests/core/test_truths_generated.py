"""The truths of the trade on yards that hypothesis makes, by the checker that shares no code with the rules."""

from __future__ import annotations

from typing import TYPE_CHECKING

import networkx as nx
from hypothesis import HealthCheck, given, settings

from jobs.services.telling.words import say
from jobs.trade.expand import expand_scope
from tests.generated import NOTICE_DAYS, yards
from tests.truths import Checker
from tests.yards import library

if TYPE_CHECKING:
    from jobs.trade.scope import Yard
    from jobs.trade.work import Activity


@given(yards())
@settings(suppress_health_check=[HealthCheck.too_slow])
def test_no_yard_may_be_built_against_a_truth(yard: Yard) -> None:
    """Whatever is built, wherever, however it was answered."""
    expansion = expand_scope(yard=yard, library=library())
    broken = Checker(expansion).broken(NOTICE_DAYS[yard.state])
    assert [(truth.number, left.name, right.name) for truth, left, right in broken] == []


BEFORE_SET_UP = (
    "start-walk lay-out private-locate wake-turf water-turf scalp-turf spray-turf-1 spray-turf-2 "
    "spray-turf-3 retire-old-lines set-up-site protect-site protect-trees"
)
"""What is done in a yard without its bin, its toilet and its mats: marks, sprays, and setting up itself."""


@given(yards())
@settings(suppress_health_check=[HealthCheck.too_slow])
def test_nothing_is_built_in_a_yard_that_is_not_set_up(yard: Yard) -> None:
    """Set up and protected before the first load, whatever is built (29 CFR 1926 D: from the first day)."""
    made = expand_scope(yard=yard, library=library())
    graph = nx.DiGraph((link.before, link.after) for link in made.links)
    building = {
        activity.key
        for activity in made.activities
        if activity.key.template not in BEFORE_SET_UP.split() and not _by_others(activity)
    }
    for ready in ("set-up-site", "protect-site"):
        [key] = [a.key for a in made.activities if a.key.template == ready]
        assert building - nx.descendants(graph, key) == set()


def _by_others(activity: Activity) -> bool:
    template = library().templates[activity.key.template]
    return library().crews[template.crew].outside


@given(yards())
@settings(suppress_health_check=[HealthCheck.too_slow])
def test_every_link_says_why(yard: Yard) -> None:
    """No rule is left unsaid: each link names its rule and has its sentence, in both languages."""
    links = expand_scope(yard=yard, library=library()).links
    unsaid = [
        (link.rule, str(link.before), str(link.after))
        for link in links
        if not link.rule or not say(link.why) or not say(link.why, "es")
    ]
    assert unsaid == []
