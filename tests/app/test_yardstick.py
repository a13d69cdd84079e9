"""US and metric units: the same yard told in both. 1 ft is 304.8 mm, 1 ft2 is 0.09290304 m2, both exact."""

from __future__ import annotations

from decimal import Decimal

import pytest
from django.urls import reverse

from crews.models import CalendarEvent, Machine
from jobs.models import Activity, Company, Passage
from jobs.services.telling.yardstick import Yardstick
from jobs.trade.amounts import parse_length
from tests.office import open_office, published_plan, signed_in, small_job

pytestmark = pytest.mark.django_db
US, METRIC = Yardstick(), Yardstick(metric=True)


@pytest.mark.parametrize(
    ("amount", "unit", "us", "metric"),
    [
        ("420", "ft2", "420 ft²", "39.0 m²"),
        ("27", "yd3", "27 yd³", "20.6 m³"),
        ("10", "tons", "10 tons", "9.1 tonnes"),
        ("100", "ft", "100 ft", "30.5 m"),
        ("7", "risers", "7 risers", "7 risers"),
        ("3", "days", "", ""),
    ],
)
def test_amounts(amount, unit, us, metric):
    """Worked: 420 x 0.09290304 = 39.02; 27 yd3 are 729 ft3 of 0.0283168 m3; a ton is 907.185 kg."""
    said = Decimal(amount)
    assert (US.quantity(said, unit), METRIC.quantity(said, unit)) == (us, metric)


@pytest.mark.parametrize("told", ["36 in", "4 ft 6 in", "914 mm", "1.372 m", "7.5 in"])
def test_what_stands_in_a_field_reads_back_as_it_was(told):
    """To the tenth of a millimetre where it is told in metric units."""
    tenths = parse_length(told)
    assert parse_length(METRIC.typed(tenths)) == tenths


class TestPages:
    """The switch of the company's settings."""

    @pytest.fixture(autouse=True)
    def metric(self):
        """The small yard in a company that works in metres: its gate is 4 ft, its machines in inches."""
        open_office()
        self.job = small_job()
        Company.objects.update(units="metric")

    def test_the_yard(self):
        """Ways and zones."""
        page = signed_in().get(reverse("job", args=[self.job.slug])).content.decode()
        way = Passage.objects.first()
        assert METRIC.length(way.width) in page
        assert "m²" in page
        assert "ft²" not in page

    def test_activities_and_their_story(self):
        """Amounts in square metres."""
        client = signed_in()
        page = client.get(reverse("activities", args=[self.job.slug])).content.decode()
        assert "m²" in page
        assert "ft²" not in page
        work = Activity.objects.filter(unit="ft2").first()
        story = client.get(reverse("activity", args=[self.job.slug, work.uid])).content.decode()
        assert METRIC.quantity(work.quantity, "ft2") in story

    def test_phones(self):
        """What crews read."""
        published_plan()
        notes = "\n".join(CalendarEvent.objects.values_list("notes", flat=True))
        assert "m²" in notes
        assert "ft²" not in notes

    def test_forms(self):
        """Widths stand in millimetres, and saving changes none."""
        machine = Machine.objects.get(slug="stand-on-loader-narrow")
        client = signed_in()
        page = client.get(reverse("edit-machine", args=[machine.slug])).content.decode()
        assert 'value="914.4 mm"' in page
        yard = client.get(reverse("yard", args=[self.job.slug])).content.decode()
        assert f'value="{METRIC.typed(Passage.objects.first().width)}"' in yard
