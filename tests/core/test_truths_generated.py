"""The truths of the trade on yards that hypothesis makes, by the checker that shares no code with the rules."""

from __future__ import annotations

from typing import TYPE_CHECKING

from hypothesis import HealthCheck, given, settings

from jobs.services.telling.words import say
from jobs.trade.expand import expand_scope
from tests.generated import NOTICE_DAYS, yards
from tests.truths import Checker
from tests.yards import library

if TYPE_CHECKING:
    from jobs.trade.scope import Yard


@given(yards())
@settings(suppress_health_check=[HealthCheck.too_slow])
def test_no_yard_may_be_built_against_a_truth(yard: Yard) -> None:
    """Whatever is built, wherever, however it was answered."""
    expansion = expand_scope(yard=yard, library=library())
    broken = Checker(expansion).broken(NOTICE_DAYS[yard.state])
    assert [(truth.number, left.name, right.name) for truth, left, right in broken] == []


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
