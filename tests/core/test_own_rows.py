"""One's own figures of limits, machines, carrying, rules, notices and drying: read, refused, put in."""

from __future__ import annotations

from decimal import Decimal

import pytest

from jobs.trade.errors import LibraryError, TradeError
from jobs.trade.overrides import Own, check_own, with_overrides
from jobs.trade.own_kinds import Kind
from jobs.trade.own_rows import SECTIONS, check_row, figure_of, figures_for, ours_now, row_of
from jobs.trade.own_values import say_value, stored
from jobs.trade.units import INCH
from jobs.trade.ways_in import machine_load
from tests.yards import library

LIBRARY = library()
KEYS = [
    (section, key)
    for section in SECTIONS
    for key in (
        [rule.id for rule in LIBRARY.rules] if section == "rule" else getattr(LIBRARY, SECTIONS[section])
    )
]  # fmt: skip


def put(*told: tuple[str, object]):
    """Return the library with figures of one's own in it."""
    return with_overrides(LIBRARY, [Own(path, value) for path, value in told])


@pytest.mark.parametrize("section", SECTIONS)
def test_ours_written_as_ones_own_changes_nothing_and_needs_nobody(section: str) -> None:
    """Every figure of every row of the library: read back, it is what it was."""
    figures = 0
    for key in [key for where, key in KEYS if where == section]:
        for figure in figures_for(LIBRARY, section, key):
            ours = ours_now(LIBRARY, section, key, figure)
            if ours is None:
                continue
            typed = (
                " ".join(map(str, ours))
                if isinstance(ours, tuple)
                else f"{ours / INCH} in"
                if figure.kind is Kind.LENGTH
                else str(ours)
            )
            value = stored(figure, typed)
            assert check_row(LIBRARY, section, key, figure.name, value) is False
            made = put((f"{section} {key} {figure.name}", value))
            assert ours_now(made, section, key, figure) == ours
            figures += 1
    assert figures > 0


@pytest.mark.parametrize(
    ("path", "value", "needs"),
    [
        ("weather W3 wind_mph", "8", False),
        ("weather W3 wind_mph", "12", True),
        ("weather W3 dry_after_h", "4", True),
        ("weather W3 dry_after_h", "8", False),
        ("weather W6 dry_before_h", "6", False),
        ("weather W2 air_min_f", "30", True),
        ("weather-of set-stone wind_mph", "15", False),
        ("weather-of set-stone wind_mph", "30", True),
        ("rule saw-in-time at_most_hours", "18", False),
        ("rule saw-in-time at_most_hours", "30", True),
        ("rule saw-in-time hours", "2", True),
        ("notice SC least", "4", False),
        ("machine loader-stand-on passage", "34 in", False),
        ("carrier wheelbarrow load_ft3", "4", False),
        ("dryout clay 0.5", ["1", "3", "4"], False),
    ],
)
def test_only_what_is_less_careful_needs_somebody(path: str, value: object, needs: bool) -> None:  # noqa: FBT001
    """Less wind or a longer dry time is anybody's to choose."""
    section, key, name = path.split()
    assert check_row(LIBRARY, section, key, name, value) is needs


@pytest.mark.parametrize(
    ("path", "value", "reason"),
    [
        ("weather W4 air_min_f", "35", "published limit of concrete"),
        ("weather W4 dry_after_h", "6", "published limit of concrete"),
        ("weather W4 evaporation_max", "0.3", "published limit of concrete"),
        ("weather-of pour-slab air_min_f", "30", "published limit of concrete"),
        ("notice SC least", "2", "the state's law"),
        ("notice CA life", "60", "the state's law"),
        ("wait W-cure figures", ["5", "7", "9"], "less than the published least"),
        ("wait W-strip figures", ["12", "24", "48"], "less than the published least"),
        ("wait W-locate figures", ["1", "1", "1"], "set by the state"),
        ("weather W3 wind_mph", "36", "cannot be"),
        ("weather W3 wind_mph", "-1", "cannot be"),
        ("weather W3 wind_mph", "nan", "not a number"),
        ("weather W3 wind_mph", "1e400", "cannot be"),
        ("weather W3 wind_mph", "a gale", "not a number"),
        ("weather W3 air_min_f", "85", "cannot be"),
        ("weather W3 air_max_f", "60", "never be done"),
        ("weather W3 soul", "1", "has no weather W3 soul"),
        ("weather W99 wind_mph", "8", "has no weather W99"),
        ("machine loader-stand-on passage", "as wide as it is", "as wide as it is"),
        ("machine loader-stand-on weight_lb", "2000.5", "not whole"),
        ("dryout clay 0.5", "1 2", "not three figures"),
        ("dryout clay 0.5", "3 2 1", "do not rise"),
        ("dryout clay 7", "1 2 3", "has no dryout"),
        ("rule saw-in-time at_most_hours", "3", "follow within"),
        ("notice SC earliest", "2", "both earlier and later"),
    ],
)
def test_what_cannot_stand_is_refused_with_the_reason(
    path: str, value: object, reason: str
) -> None:
    """By law, by what is published, or because it makes no sense."""
    with pytest.raises(TradeError, match=reason):
        check_own(LIBRARY, Own(path, value))
    with pytest.raises(LibraryError):
        put((path, value))


def test_a_narrower_machine_passes_a_narrower_gate() -> None:
    """Ours needs 40 in; one of 34 in with its clearance goes through a gate of 36 in."""
    mine = put(("machine loader-stand-on passage", "34 in")).machines["loader-stand-on"]
    ours = LIBRARY.machines["loader-stand-on"]
    gate = 36 * INCH
    assert [machine_load(kind).needs <= gate for kind in (ours, mine)] == [False, True]
    assert mine.width is not None
    assert mine.width[0] <= mine.passage


def test_limits_of_one_work_leave_its_class_alone() -> None:
    """Setting stone stops at 15 mph; pointing joints, of the same class, goes on to 25."""
    made = put(("weather-of set-stone wind_mph", "15"))
    assert dict(made.templates["set-stone"].own_weather) == {"wind_mph": Decimal(15)}
    assert made.templates["point-joints"].own_weather == ()
    assert made.weather == LIBRARY.weather


def test_two_figures_of_one_row_stand_together() -> None:
    """The second does not take the first away."""
    made = put(("weather W3 wind_mph", "8"), ("weather W3 air_min_f", "65"))
    row = row_of(made, "weather", "W3")
    assert (row.wind_mph, row.air_min_f) == (8, 65)


def test_more_rain_never_dries_sooner_than_less() -> None:
    """Five days after half an inch: an inch takes no less; an inch at one day: half an inch no more."""
    slow = put(("dryout loam 0.5", ["5", "5", "5"])).dryout["loam"].bands
    assert [band.usual for band in slow if band.rain_in >= Decimal("0.5")] == [5, 5]
    quick = put(("dryout loam 1", ["0", "0.5", "1"])).dryout["loam"].bands
    assert max(band.usual for band in quick) == Decimal("0.5")


def test_figures_are_said_with_their_unit() -> None:
    """As on a job site."""
    told = [
        ("weather", "W3", "wind_mph"),
        ("machine", "loader-stand-on", "passage"),
        ("dryout", "loam", "0.5"),
        ("notice", "SC", "least"),
        ("weather", "W6", "dry_before_h"),
    ]
    said = []
    for section, key, name in told:
        figure = figure_of(LIBRARY, section, key, name)
        said.append(say_value(figure, ours_now(LIBRARY, section, key, figure)))
    assert said == ["10 mph", "40 in", "1, 1.5, 2 days", "3 business days", "no limit"]
