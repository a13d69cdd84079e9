"""The truths of the trade as a table of their own, and a checker that shares no code with the rules.

A pair of works is proved by the longest chain of links from the end of the left one to the start of the
right one: it must exist and last at least as long as the wait asks. The table is written from the trade
(common practice unless a test of its own names a source), not from the library's rules.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

import networkx as nx

from jobs.trade.work import Clock, Tread

if TYPE_CHECKING:
    from jobs.trade.scope import Expansion
    from jobs.trade.work import Activity, ActivityKey, Link

HOUR, DAY = 60, 24 * 60
NOTICE = 6
DIGS = "strip-sod rough-grade dig-out trench dig-footings set-posts plant-box-24 plant-box-36 plant-box-48"
TREES = "plant-box-24 plant-box-36 plant-box-48"
MACHINES = "rough-grade dig-out haul-soil build-berm trench dig-footings set-boulders plant-box-36"


class Truth(NamedTuple):
    """Every left work ends, and its wait, before every right one starts, where they meet."""

    number: int
    left: str
    right: str
    where: str = "zone"
    minutes: int = 0


TRUTHS = (
    Truth(1, "design-sign-off", "order-long-lead", "job"),
    Truth(2, "owner-choices", "order-long-lead", "job"),
    Truth(3, "hoa-approval", "permit-submit", "job", 14 * DAY),
    Truth(4, "permit-submit", "dig-footings gas-line frame-shade", "job", 5 * DAY),
    Truth(5, "lay-out", "locate-notice", "job"),
    Truth(6, "locate-notice", DIGS, "job", 3 * DAY),
    Truth(8, "private-locate", "trench", "job"),
    Truth(9, "wake-turf", "spray-turf-1", "zone", 7 * DAY),
    Truth(10, "spray-turf-1", "spray-turf-2", "zone", 28 * DAY),
    Truth(11, "spray-turf-2", "strip-sod rough-grade", "zone", 14 * DAY),
    Truth(11, "spray-turf-3", "strip-sod rough-grade", "zone", 7 * DAY),
    Truth(12, "spray-turf-1 spray-turf-2 spray-turf-3", "lay-sod sow-seed plant-shrubs"),
    Truth(13, "rough-grade trench backfill-trench amend-soil", "cover-solarise"),
    Truth(14, "protect-trees", MACHINES, "job"),
    Truth(15, "protect-site", "break-haul-slab rough-grade", "job"),
    Truth(16, "saw-old-slab", "break-haul-slab"),
    Truth(17, "rough-grade", "trench"),
    Truth(18, "rough-grade", "spread-base"),
    Truth(19, "haul-soil build-berm", "pour-slab lay-pavers fine-grade lay-sod", "way-in"),
    Truth(20, "build-berm", "set-boulders"),
    Truth(21, "set-boulders", f"{TREES} plant-shrubs"),
    Truth(22, "lay-drain", "pour-slab lay-pavers spread-base"),
    Truth(23, "set-sleeves", "spread-base pour-slab lay-pavers dg-path"),
    Truth(24, "set-sleeves", "build-berm"),
    Truth(25, "trench", "lay-drain irrigation-main lay-conduit gas-line"),
    Truth(26, "test-main", "backfill-trench"),
    Truth(27, "inspect-underground", "backfill-trench"),
    Truth(28, "dig-out backfill-trench", "compact-ground"),
    Truth(28, "compact-ground", "spread-base"),
    Truth(29, "gas-line lay-conduit", "pour-slab build-fire"),
    Truth(30, "dig-footings", "set-forms-rebar"),
    Truth(30, "set-forms-rebar", "inspect-forms"),
    Truth(30, "inspect-forms", "pour-footings"),
    Truth(31, "inspect-forms", "pour-slab"),
    Truth(32, "inspect-bonding", "pour-slab"),
    Truth(33, "pour-slab", "pour-slab", "way-in"),
    Truth(34, MACHINES, "pour-slab lay-pavers", "way-in"),
    Truth(35, "pour-slab", "saw-joints", "item", 1 * HOUR),
    Truth(36, "pour-slab", "set-stone", "zone", 7 * DAY),
    Truth(37, "pour-footings", "lay-block-wall", "zone", 1 * DAY),
    Truth(38, "lay-block-wall", "grout-cells", "zone", 1 * DAY),
    Truth(38, "grout-cells", "drain-backfill-wall", "zone", 7 * DAY),
    Truth(39, "drain-backfill-wall", "dry-fit-stone lay-pavers"),
    Truth(40, "lay-conduit", "cap-seat-wall set-steps"),
    Truth(41, "dry-fit-stone", "set-stone"),
    Truth(42, "set-stone", "point-joints", "zone", 24 * HOUR),
    Truth(43, "point-joints", "seal-stone", "zone", 28 * DAY),
    Truth(44, "set-stone", "plant-shrubs spread-mulch"),
    Truth(45, "set-posts", "frame-shade", "zone", 3 * DAY),
    Truth(46, "frame-shade", "set-stone lay-pavers plant-groundcover"),
    Truth(47, "irrigation-main", TREES, "job"),
    Truth(48, TREES, "plant-shrubs"),
    Truth(48, "plant-shrubs", "plant-groundcover"),
    Truth(49, "plant-box-36", "pour-slab stack-wall frame-shade", "way-in"),
    Truth(50, "amend-soil", "lay-drip"),
    Truth(51, "plant-shrubs", "lay-drip"),
    Truth(51, "lay-drip", "spread-mulch"),
    Truth(52, "lay-light-cable", "spread-mulch lay-sod"),
    Truth(53, f"set-lights {TREES}", "aim-lights", "job"),
    Truth(54, "irrigation-laterals", "fine-grade"),
    Truth(54, "fine-grade", "lay-sod sow-seed"),
    Truth(55, "irrigation-laterals", "lay-sod"),
    Truth(56, f"{MACHINES} spread-base lay-pavers dg-path spread-mulch", "lay-sod", "way-in"),
    Truth(57, "build-fire", "test-fire", "zone", 1 * DAY),
    Truth(58, "inspect-electrical inspect-bonding", "start-water", "job"),
    Truth(59, "clean-up", "punch-list", "job"),
    Truth(59, "punch-list", "walk-through", "job"),
    Truth(60, "final-inspection", "walk-through", "job"),
    Truth(61, "controller-handover", "walk-through", "job"),
    Truth(62, "walk-through", "check-30-day", "job", 30 * DAY),
)
"""Numbers as in the trade's own list of 62. The seventh, the life of a ticket, is no link: marks that run
out ask for new ones, which ``notices`` reckons."""


def events(expansion: Expansion) -> nx.DiGraph:
    """Return starts and ends of a yard's works, joined by the least minutes between them."""
    graph = nx.DiGraph()
    for activity in expansion.activities:
        graph.add_edge((activity.key, "start"), (activity.key, "end"), minutes=0)
    for link in expansion.links:
        one = (link.before, "end" if link.relation.from_finish else "start")
        two = (link.after, "end" if link.relation.to_finish else "start")
        held = graph.get_edge_data(one, two, {"minutes": 0})["minutes"]
        graph.add_edge(one, two, minutes=max(held, least(link)))
    return graph


def least(link: Link) -> int:
    """Least minutes on the wall of a link: a business day is a day at least, working time none."""
    worth = {Clock.ELAPSED: 1, Clock.BUSINESS: DAY, Clock.WORK: 0}
    return link.lag.amount * worth[link.lag.clock]


class Checker:
    """Proves pairs of works of one expansion by the longest chain of links between them."""

    def __init__(self, expansion: Expansion) -> None:
        self.works = expansion.activities
        self.graph = events(expansion)
        self.order = list(nx.topological_sort(self.graph))
        self.known: dict[ActivityKey, dict[ActivityKey, int]] = {}

    def apart(self, left: ActivityKey) -> dict[ActivityKey, int]:
        """Return, for every work that must start after a work ends, the least minutes between."""
        if left not in self.known:
            longest = {(left, "end"): 0}
            for node in self.order:
                if node in longest:
                    for after, edge in self.graph[node].items():
                        longest[after] = max(longest.get(after, 0), longest[node] + edge["minutes"])
            self.known[left] = {
                key: minutes for (key, event), minutes in longest.items() if event == "start"
            }
        return self.known[left]

    def pairs(self, truth: Truth) -> list[tuple[Activity, Activity]]:
        """Return every pair of works in a yard that a truth speaks of."""
        return [
            (left, right)
            for left in self.works
            for right in self.works
            if left.key.template in truth.left.split()
            and right.key.template in truth.right.split()
            and meet(truth, left, right)
        ]

    def broken(self, notice_days: int = 3) -> list[tuple[Truth, Activity, Activity]]:
        """Return every pair that may be planned against a truth, or sooner than its wait.

        The wait of the sixth, notice before digging, is the state's own.
        """
        return [
            (truth, left, right)
            for truth in TRUTHS
            for left, right in self.pairs(truth)
            if self.apart(left.key).get(right.key, -1)
            < (notice_days * DAY if truth.number == NOTICE else truth.minutes)
        ]


def meet(truth: Truth, left: Activity, right: Activity) -> bool:
    """Return True if a truth speaks of these two works."""
    one, two = left.key, right.key
    if one == two:
        return False
    if truth.where == "job":
        return True
    if truth.where == "item":
        return one.item == two.item and one.ordinal == two.ordinal
    if truth.where == "way-in":
        rolls = max(left.treads.values()) >= Tread.BARROW
        return rolls and two.zone in left.treads and two.zone != one.zone
    return one.zone == two.zone or {one.zone, two.zone} & {"whole", "whole yard"} != set()
