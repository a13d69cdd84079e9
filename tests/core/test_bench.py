"""Measurements: small ones run through, both sides agree, and the invented yards can be planned."""

from __future__ import annotations

import pytest

from jobs.services.bench import measure
from jobs.services.bench.invented import invented_network, invented_portfolio
from jobs.services.bench.measure import bench_cpm, bench_quick
from jobs.services.bench.replan import bench_replan, replan_text


@pytest.fixture(autouse=True)
def _once(monkeypatch):
    """Each side runs once: what is told is looked at here, not how long it took."""
    monkeypatch.setattr(measure, "TIMES", 1)


def test_the_critical_path_is_timed_beside_its_reference():
    """Keys of the JSON; the reference must find the same finish or nothing is told."""
    found = bench_cpm(sizes=(50, 100), jobs=1)
    assert found["bench"] == "cpm"
    assert [row["activities"] for row in found["sizes"]] == [50, 100]
    for row in found["sizes"]:
        assert set(row) == {"activities", "links", "ours_ms", "reference_ms", "times_faster"}
        assert row["ours_ms"] > 0


def test_the_builder_is_timed_on_a_sound_plan():
    """Two invented yards, forty-two works each."""
    found = bench_quick(jobs=2)["quick"]
    assert (found["jobs"], found["activities"], found["sound"]) == (2, 84, True)


def test_inventions_are_the_same_for_a_seed():
    """And others for another."""
    assert invented_network(30, 1) == invented_network(30, 1)
    assert invented_network(30, 1) != invented_network(30, 2)
    assert invented_portfolio(2, 1) == invented_portfolio(2, 1)


def test_replanning_is_timed_beside_pushing_right():
    """Three invented yards rained out for two days: every way with its figures, in words too."""
    found = bench_replan(sizes={3: 1}, seconds=0.05)
    (run,) = found["runs"]
    assert (run["jobs"], run["activities"]) == (3, 126)
    for way in ("push_right", "old_order", "steady", "on_promise"):
        least = {"least"} if way == "steady" else set()
        assert set(run[way]) == {"seconds", "crew_days", "late", "finish"} | least
    share = run["steady"]["crew_days"] / run["push_right"]["crew_days"]
    assert run["changed_share"] == round(share, 3)
    least = run["steady"]["least"]
    assert 0 < least <= run["steady"]["crew_days"]
    assert f"crew-days changed (at least {least} could not be helped)" in replan_text(found)
    assert run["reached"] is None, "the bar is for ten yards and more"
    assert "first answer" in replan_text(found)
