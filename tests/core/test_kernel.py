"""Early and late dates of plain networks: published and hand-made cases, and an independent check."""

from __future__ import annotations

import json
from pathlib import Path

import networkx as nx
import pytest
from hypothesis import given
from hypothesis import strategies as st

from jobs.scheduling.errors import BadWorld, NoPlan
from jobs.scheduling.kernel import Bond, find_dates, prepare
from jobs.trade.work import Relation

SAMPLES = json.loads(
    (Path(__file__).parents[1] / "samples" / "cpm" / "cases.json").read_text("utf-8")
)
FS, SS = Relation.FINISH_START, Relation.START_START


def named(cases):
    """Cases with their names for the report."""
    return [pytest.param(case, id=case["id"]) for case in cases]


def read(case):
    """Names, durations and bonds of a case."""
    names = [activity["id"] for activity in case["activities"]]
    number = {name: i for i, name in enumerate(names)}
    bonds = [
        Bond(number[x["from"]], number[x["to"]], Relation(x["relation"]), x["lag"])
        for x in case["links"]
    ]
    return names, [activity["duration"] for activity in case["activities"]], bonds


def figures(names, durations, dates):
    """The six figures of each activity, by name."""
    return {
        name: {
            "early_start": dates.early[i],
            "early_finish": dates.early[i] + durations[i],
            "late_start": dates.late[i],
            "late_finish": dates.late[i] + durations[i],
            "total_float": dates.total[i],
            "free_float": dates.free[i],
        }
        for i, name in enumerate(names)
    }


class TestPublished:
    """All figures of ``tests/samples/cpm/cases.json``; each case there names its source."""

    def test_all_cases_are_there(self):
        """Fifty-two with dates and two rings."""
        assert (len(SAMPLES["cases"]), len(SAMPLES["rings"])) == (52, 2)

    @pytest.mark.parametrize("case", named(SAMPLES["cases"]))
    def test_dates_and_floats(self, case):
        """Six figures per activity, the finish, and which are critical."""
        names, durations, bonds = read(case)
        dates = find_dates(prepare(durations, bonds))
        expected = case["expected"]
        assert figures(names, durations, dates) == {
            name: pytest.approx(row) for name, row in expected["activities"].items()
        }
        assert dates.finish == pytest.approx(expected["duration"])
        critical = {name for i, name in enumerate(names) if dates.total[i] == pytest.approx(0)}
        assert critical == set(expected["critical"])

    @pytest.mark.parametrize("case", named(SAMPLES["rings"]))
    def test_rings_are_named(self, case):
        """What cannot be kept is refused, with just its members."""
        names, durations, bonds = read(case)
        with pytest.raises(NoPlan) as refusal:
            find_dates(prepare(durations, bonds), names)
        assert refusal.value.culprits == tuple(case["ring"])

    def test_a_small_network_by_hand(self):
        """Six works A to F with waits; worked out by hand."""
        bonds = [
            Bond(0, 1, FS),
            Bond(0, 2, FS),
            Bond(2, 3, FS),
            Bond(3, 5, FS),
            Bond(4, 5, FS),
            Bond(1, 3, FS, 1),
            Bond(3, 4, SS, 2),
        ]
        dates = find_dates(prepare([3, 4, 2, 5, 1, 2], bonds))
        assert dates.early == [0, 3, 3, 8, 10, 13]
        assert dates.finish == 15
        assert dates.total == [0, 0, 3, 0, 2, 0]
        assert dates.free == [0, 0, 3, 0, 2, 0]

    def test_work_of_less_than_no_time_is_refused(self):
        """Minus one."""
        with pytest.raises(BadWorld):
            prepare([-1], [])

    def test_nothing_to_do_is_done_at_once(self):
        """An empty network."""
        assert find_dates(prepare([], [])).finish == 0


@st.composite
def networks(draw):
    """Durations and links of all relations from earlier to later activities, some with at-mosts."""
    durations = draw(st.lists(st.integers(0, 9), min_size=1, max_size=9))
    pairs = [(a, b) for b in range(len(durations)) for a in range(b)]
    chosen = draw(st.lists(st.sampled_from(pairs), unique=True, max_size=14)) if pairs else []
    relations, lags = st.sampled_from(Relation), st.integers(-4, 6)
    rooms = st.none() | st.integers(0, 12)
    return durations, [
        Bond(a, b, draw(relations), lag := draw(lags), _most(lag, draw(rooms))) for a, b in chosen
    ]


def _most(lag, room):
    return None if room is None else lag + room


def events(durations, bonds):
    """A graph of starts and finishes with least distances negated, as networkx wants them."""
    graph = nx.DiGraph()

    def least(u, v, distance):
        if not graph.has_edge(u, v) or graph[u][v]["weight"] > -distance:
            graph.add_edge(u, v, weight=-distance)

    for i, duration in enumerate(durations):
        least("begin", (i, "start"), 0)
        least((i, "start"), (i, "finish"), duration)
        least((i, "finish"), (i, "start"), -duration)
        least((i, "finish"), "end", 0)
    for bond in bonds:
        before = (bond.before, "finish" if bond.relation.from_finish else "start")
        after = (bond.after, "finish" if bond.relation.to_finish else "start")
        least(before, after, bond.lag)
        if bond.at_most is not None:
            least(after, before, -bond.at_most)
    return graph


def length_round(network, ring):
    """Least time from the start of the first work of a ring, once round, to its own start."""
    works = [int(name) for name in ring]
    steps = zip(works, [*works[1:], works[0]], strict=True)
    return sum(max(least for v, least in network.after[a] if v == b) for a, b in steps)


class TestIndependent:
    """networkx finds the same dates as longest paths in a graph of events."""

    @given(networks())
    def test_longest_paths_are_the_same(self, network):
        """Early starts from the begin, late ones from the end; and both refuse the same rings."""
        durations, bonds = network
        graph = events(durations, bonds)
        try:
            early = nx.single_source_bellman_ford_path_length(graph, "begin")
        except nx.NetworkXUnbounded:
            with pytest.raises(NoPlan) as refusal:
                find_dates(prepare(durations, bonds))
            assert length_round(prepare(durations, bonds), refusal.value.culprits) > 0
            return
        tail = nx.single_source_bellman_ford_path_length(graph.reverse(), "end")
        dates = find_dates(prepare(durations, bonds))
        works = range(len(durations))
        assert dates.finish == -early["end"]
        assert dates.early == [-early[i, "start"] for i in works]
        assert dates.late == [dates.finish + tail[i, "start"] for i in works]
        assert all(0 <= free <= total for free, total in zip(dates.free, dates.total, strict=True))

    @given(networks())
    def test_without_at_most_the_longest_path_is_that_of_a_plain_graph(self, network):
        """Finish-to-start alone: networkx's own critical path length."""
        durations, bonds = network
        plain = [Bond(bond.before, bond.after, FS, max(0, bond.lag)) for bond in bonds]
        graph = nx.DiGraph()
        for i, duration in enumerate(durations):
            graph.add_edge(i, "end", weight=duration)
        for bond in plain:
            graph.add_edge(bond.before, bond.after, weight=durations[bond.before] + bond.lag)
        assert find_dates(prepare(durations, plain)).finish == nx.dag_longest_path_length(graph)
