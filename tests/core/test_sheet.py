"""The sequence sheet: places that can be counted, and nothing drawn over anything else."""

from __future__ import annotations

import itertools
from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from jobs.drawing.layout import BLOCK, LEFT, ROW, WIDTH
from jobs.drawing.marks import MATERIALS, Line, OddsLine, StageLine
from jobs.drawing.rows import as_table, by_day
from jobs.drawing.scale import DayScale
from jobs.drawing.sheet import draw_sheet
from jobs.drawing.text import shortened, text_width

ZONE = ZoneInfo("America/New_York")
MONDAY = date(2026, 6, 8)


def at(day: int, hour: int = 7, minute: int = 0) -> datetime:
    """A moment of June 2026."""
    return datetime(2026, 6, day, hour, minute, tzinfo=ZONE)


def line(name: str, start: datetime, finish: datetime, **changes: object) -> Line:
    """A line of the upper patio."""
    given_: dict[str, object] = {
        "note": "Stone crew", "group": "Upper patio", "material": "slate", "address": f"/{name}"
    }  # fmt: skip
    return Line(id=name, title=name, start=start, finish=finish, **(given_ | changes))


PATIO = (
    line("Dig out", at(8), at(9, 15, 30), group="Whole yard", material="clay", critical=True),
    line("Pour", at(10), at(10, 13, 30), material="lime", critical=True,
         wait_until=at(17, 13, 30), wait_text="cure: set stone from Wed 17 Jun"),
    line("Dry-fit", at(12), at(12, 15, 30), slip_text="can slip to Tue 16"),
    line("Set stone", at(17, 13, 30), at(19, 15, 30), critical=True, milestone="Stone set"),
)  # fmt: skip
CHAIN = ("Dig out", "Pour", "Set stone")


def weekends(first: date, last: date) -> frozenset[date]:
    """The Saturdays and Sundays between two days, both included."""
    days = (first + timedelta(days=n) for n in range((last - first).days + 1))
    return frozenset(day for day in days if day.isoweekday() > 5)


CLOSED = weekends(MONDAY, date(2026, 6, 21))


def drawn(*lines: Line, **asked: object):
    """Draw some lines with weekends folded, on Wednesday 10 June."""
    return draw_sheet(lines or PATIO, closed=CLOSED, chain=CHAIN, **{"today": at(10), **asked})


def rows_of(sheet):
    """Every row drawn, by id."""
    return {row.id: row for part in sheet.parts for row in part.rows}


class TestScale:
    """Working days are columns, weekends folds."""

    SCALE = DayScale(MONDAY, date(2026, 6, 21), 100, 300, CLOSED)

    def test_working_days_are_equal_and_folds_narrow(self):
        """Ten working days share what four folds of 6 leave: (300 - 24) / 10 = 27."""
        widths = [column.width for column in self.SCALE.columns]
        assert widths == [27] * 5 + [6] * 2 + [27] * 5 + [6] * 2

    def test_a_moment_stands_by_the_hours_worked(self):
        """Seven is the left edge, half past three the right one, before and after the same."""
        left = self.SCALE.columns[1].x
        assert [self.SCALE.x(at(9, *clock)) for clock in [(5,), (7,), (15, 30), (22,)]] == [
            left,
            left,
            left + 27,
            left + 27,
        ]

    def test_a_weekend_is_one_fold(self):
        """Saturday and Sunday join."""
        assert self.SCALE.folds() == [(235, 12), (382, 12)]

    def test_what_lies_outside_is_held_at_the_edges(self):
        """Nothing is drawn off the sheet."""
        assert self.SCALE.x(at(1)) == 100
        assert self.SCALE.x(at(30)) == self.SCALE.right


class TestSheet:
    """The patio of four lines."""

    def test_a_month_is_named_where_there_is_room_for_its_name(self):
        """The last day of November has none before December; the first of January has, with its year, told in June."""
        days = datetime(2026, 11, 30, 7, tzinfo=ZONE), datetime(2027, 1, 1, 7, tzinfo=ZONE)
        assert [label.text for label in drawn(line("Walk", *days)).months] == [
            "December",
            "Jan 2027",
        ]
        days = datetime(2026, 5, 4, 7, tzinfo=ZONE), datetime(2026, 6, 26, 7, tzinfo=ZONE)
        assert [label.text for label in drawn(line("Walk", *days)).months] == ["May", "June"]

    def test_lines_of_a_group_stand_under_one_heading(self):
        """Two headings for four rows."""
        assert [h.text for part in drawn().parts for h in part.headings] == [
            "Whole yard",
            "Upper patio",
        ]

    def test_the_keel_runs_through_the_wait_to_the_next_block(self):
        """Heavy from the pour to where the stone begins, then thin down to it."""
        sheet = drawn()
        pour, stone = rows_of(sheet)["Pour"].block, rows_of(sheet)["Set stone"].block
        heavy = [k for k in sheet.keel if k.heavy and k.x1 == pour.x]
        assert [(k.x2, k.y1 == k.y2) for k in heavy] == [(stone.x, True)]
        turn = next(k for k in sheet.keel if not k.heavy and k.x1 == stone.x)
        assert turn.y2 > turn.y1

    def test_the_wait_is_a_tail_up_to_its_end(self):
        """From the end of the pour to Wednesday half past one."""
        row = rows_of(drawn())["Pour"]
        assert row.tail.x == row.block.x + row.block.width
        assert row.tail.end == rows_of(drawn())["Set stone"].block.x
        assert row.beside.text == "cure: set stone from Wed 17 Jun"

    def test_the_buffer_of_a_stage_stands_in_a_row_of_its_own(self):
        """From the planned end to the safe one, ticks within, words behind, under all other rows."""
        stage = StageLine(
            "After concrete", at(10, 13, 30), at(15, 15, 30), at(18, 15, 30), "6 days"
        )
        sheet = drawn(odds=OddsLine(at(24), at(26), (stage,)))
        [row] = sheet.stages
        pour = rows_of(sheet)["Pour"].block
        assert row.frame.x == pour.x + pour.width
        assert row.frame.x < row.frame.likely < row.frame.safe == row.frame.x + row.frame.width
        assert row.beside.x > row.frame.safe
        assert row.told == "After concrete: planned Wed 10 Jun, safe Thu 18 Jun; 6 days"
        last = max(it.band.y for part in sheet.parts for it in part.rows)
        assert last + ROW < row.frame.y < sheet.bottom
        assert sheet.stages_heading.text == "What the weather may take"
        assert drawn().stages == ()

    def test_words_of_a_buffer_stay_on_the_sheet(self):
        """Behind the frame, before it, or up against the edge."""
        for day in (9, 26):
            stage = StageLine("At the end", at(day), at(day + 1), at(28), "w" * 60)
            beside = drawn(odds=OddsLine(at(24), at(28), (stage,))).stages[0].beside
            wide = text_width(beside.text, 11)
            left = beside.x - wide if beside.anchor == "end" else beside.x
            assert left >= LEFT
            assert left + wide <= WIDTH

    def test_each_group_is_a_strip_so_that_paper_breaks_between_groups(self):
        """They join without a gap, and hold every row once; heads and foot stand once."""
        parts = drawn().parts
        assert [len(part.headings) for part in parts] == [1] * (len(parts) - 1) + [0]
        assert [part.y + part.height for part in parts[:-1]] == [part.y for part in parts[1:]]
        assert [row.id for part in parts for row in part.rows] == list(rows_of(drawn()))
        assert [part.head for part in parts] == [True] + [False] * (len(parts) - 1)
        assert [part.foot for part in parts] == [False] * (len(parts) - 1) + [True]

    def test_an_open_story_cuts_the_sheet_under_its_row(self):
        """The strip that ends with the open row says so, and no other does."""
        parts = drawn(opened="Pour").parts
        assert [part.rows[-1].id for part in parts if part.opened] == ["Pour"]
        assert [part.opened for part in drawn().parts] == [False] * len(drawn().parts)
        cut = next(index for index, part in enumerate(parts) if part.opened)
        assert [row.id for row in parts[cut + 1].rows] == ["Dry-fit", "Set stone"]

    def test_done_is_drawn_over_the_share_that_is_done(self):
        """Half done is half the block; ended is all of it, and says no more of slipping."""
        half, whole = (
            line("half", at(8), at(12, 15, 30), done=50, slip_text="can slip to Mon 15"),
            line("whole", at(8), at(12, 15, 30), ended=True, slip_text="can slip to Mon 15"),
        )
        rows = rows_of(drawn(half, whole))
        assert rows["half"].done.width == rows["half"].block.width // 2
        assert rows["whole"].done.width == rows["whole"].block.width
        assert rows["whole"].beside is None

    def test_today_is_left_out_when_it_is_not_on_the_sheet(self):
        """A plumb line only where there is a day for it."""
        assert drawn(today=at(10, 18)).today is not None
        assert drawn(today=datetime(2027, 1, 1, tzinfo=ZONE)).today is None

    def test_picture_and_table_tell_the_same(self):
        """Every row drawn is a row of the table, and the other way round."""
        assert set(rows_of(drawn())) == {row.id for row in as_table(PATIO)}
        listed = [row.id for day in by_day(PATIO) for row in day.rows]
        assert listed == ["Dig out", "Pour", "Dry-fit", "Set stone"]

    def test_a_row_tells_everything_to_those_who_do_not_see_it(self):
        """Name, days, crew, wait and room in one sentence."""
        assert rows_of(drawn())["Pour"].told == (
            "Pour: Wed 10 Jun to Wed 10 Jun; Stone crew; cure: set stone from Wed 17 Jun; "
            "no room to slip"
        )


moments = st.integers(0, 60 * 24 * 80).map(lambda m: at(8, 0) + timedelta(minutes=m))


@st.composite
def some_lines(draw: st.DrawFn) -> list[Line]:
    """Up to twelve lines of three groups, milestones among them."""
    made = []
    for n in range(draw(st.integers(1, 12))):
        start = draw(moments)
        finish = start + timedelta(hours=draw(st.integers(1, 300)))
        wait = finish + timedelta(hours=draw(st.integers(1, 400)))
        made.append(
            line(
                f"line {n}",
                start,
                finish,
                group=draw(st.sampled_from(["a", "b", "c"])),
                material=draw(st.sampled_from(sorted(MATERIALS))),
                wait_until=draw(st.sampled_from([None, wait])),
                wait_text="cure: stone from then on",
                milestone=draw(st.sampled_from(["", "Stone set", f"Milestone {n}"])),
            )
        )
    return sorted(made, key=lambda it: it.group)


@given(some_lines())
def test_nothing_is_drawn_over_anything_else(lines):
    """Rows stand under each other, words inside the sheet, milestone words apart."""
    closed = weekends(MONDAY, MONDAY + timedelta(days=200))
    sheet = draw_sheet(lines, closed=closed)
    tops = sorted(row.band.y for part in sheet.parts for row in part.rows)
    assert all(b - a >= ROW for a, b in itertools.pairwise(tops))
    for part in sheet.parts:
        for row in part.rows:
            assert LEFT <= row.block.x <= row.block.x + row.block.width <= WIDTH
            assert row.block.height == BLOCK
    spans: dict[int, list[tuple[int, int]]] = {}
    for flag in sheet.flags:
        if flag.label.text:
            half = text_width(flag.label.text, 11) // 2
            spans.setdefault(flag.label.y, []).append((flag.label.x - half, flag.label.x + half))
    for found in spans.values():
        found.sort()
        assert all(a[1] <= b[0] for a, b in itertools.pairwise(found))


@pytest.mark.parametrize("room", [40, 80, 160])
def test_shortened_text_fits_its_room(room):
    """Cut at a word, with an ellipsis, never wider than there is room."""
    cut = shortened("Set stone, upper patio and lower terrace", 13, room)
    assert text_width(cut, 13) <= room
    assert cut.endswith("…")
