"""Where a yard's climate comes from: shown, chosen, a station's record loaded, faults told by line."""

from __future__ import annotations

import json
from datetime import date, timedelta
from math import cos, pi

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse

from crews.models import Role
from jobs.forms.climate import LARGEST, RecordForm
from jobs.models import ClimatePlace, ForecastReading, HistoryEntry, Job
from jobs.services.pages.climate import say_spells
from jobs.services.pages.sky import read_sky_of
from jobs.services.sky.climate import climate_of, climates
from jobs.services.sky.climate_choice import seen_of
from jobs.services.sky.forecast import keep_answer
from jobs.weather.chain import Chain
from jobs.weather.climate import by_name
from tests.office import NOW, open_office, signed_in, small_job

pytestmark = pytest.mark.django_db


@pytest.fixture
def job() -> Job:
    """One small yard near Asheville."""
    open_office()
    made = small_job()
    made.latitude, made.longitude = "35.57000", "-82.55000"
    made.save()
    return made


def days(count: int = 6 * 365, *, air: bool = False) -> list[str]:
    """Lines of a record from 1 January 2015 on: 5 mm every third day of a month, warm summers."""
    lines = []
    for n in range(count):
        day = date(2015, 1, 1) + timedelta(days=n)
        warm = 15 - 10 * cos(2 * pi * (day.timetuple().tm_yday - 15) / 365) + (n % 2)
        told = f"{day},{5 if day.day % 3 == 0 else 0}"
        lines.append(f"{told},{warm:.1f},{warm - 8:.1f}" if air else told)
    return lines


def csv(lines: list[str], head: str = "date,precip_mm") -> SimpleUploadedFile:
    """Return lines as a file somebody hands in."""
    return SimpleUploadedFile("station.csv", "\n".join([head, *lines]).encode())


def load(client, job, file, **told):
    """Post a record, as seen now."""
    told = {"seen": seen_of(ClimatePlace.objects.filter(job=job).first()), "file": file} | told
    return client.post(reverse("set-climate-record", args=[job.slug]), told)


def page_of(job, client=None) -> str:
    """The page as a signed-in owner sees it."""
    return (client or signed_in()).get(reverse("climate", args=[job.slug])).content.decode()


class TestLooking:
    """Place, distance, months, forecast, credits."""

    def test_the_place_and_its_distance_are_told_with_their_credit(self, job):
        """Asheville's own figures: July afternoons of 84 F (NOAA normals 2006-2020: 28.9 C)."""
        page = page_of(job)
        assert "<strong>Asheville, NC</strong>, 10 miles away, the nearest place." in page
        assert "Climate normals: NOAA NCEI" in page
        assert "No forecast has come yet." in page
        assert "That is far" not in page

    def test_far_from_every_station_is_told(self, job):
        """The middle of the Pacific."""
        Job.objects.filter(pk=job.pk).update(latitude=10, longitude=-150)
        assert (
            "That is far: how often it rains there may differ, so the odds are widened."
            in page_of(job)
        )

    def test_without_a_position_the_way_out_is_told(self, job):
        """All places are there to choose; the chosen one is then gone by."""
        Job.objects.filter(pk=job.pk).update(latitude=None, longitude=None)
        client = signed_in()
        page = page_of(job, client)
        assert "has no position" in page
        assert page.count("<option") == 149
        station = climate_station("Asheville")
        client.post(reverse("set-climate-place", args=[job.slug]), {"station": station, "seen": ""})
        assert "chosen by hand" in page_of(job, client)

    def test_when_the_service_was_asked_last_is_told(self, job):
        """Beside when it made its forecast; and when it gave nothing since."""
        keep_answer(job, answer(NOW - timedelta(hours=2)), NOW)
        assert "Made Tue 16 Jun, 4:00 pm. " in page_of(job)
        ForecastReading.objects.update(tried_at=NOW)
        told = "Made Tue 16 Jun, 4:00 pm; asked for last Tue 16 Jun, 6:00 pm. "
        assert told in page_of(job)
        ForecastReading.objects.update(failure="it answered 503")
        assert "The last try since, Tue 16 Jun, 6:00 pm, gave nothing: it answered 503." in page_of(
            job
        )

    @pytest.mark.parametrize(
        ("hours", "words"),
        [(30, "the last one is 30 hours old"), (-3, "(3 h from now), so a clock is wrong")],
    )
    def test_an_old_forecast_and_a_wrong_clock_are_told(self, job, hours, words):
        """Here and in what the day is told: never silently no rain."""
        keep_answer(job, answer(NOW - timedelta(hours=hours)), NOW)
        ForecastReading.objects.update(failure="the forecast service answered 503")
        assert words in page_of(job)
        sky = read_sky_of(job, NOW.date(), NOW)
        assert words in sky.air
        assert sky.air.endswith("The last try: the forecast service answered 503.")
        ForecastReading.objects.update(tried_at=NOW)
        air = read_sky_of(job, NOW.date(), NOW).air
        assert "The last try, Tue 16 Jun, 6:00 pm: the forecast service answered 503." in air
        day = signed_in().get(reverse("day", args=[job.slug])).content.decode()
        assert words in day


def test_spells_of_the_month_are_told(job):
    """P01 0.250, P11 0.662 in 30 days (Gabriel and Neumann 1962): 2.96 and 4 days, 0.438, 0.353, 0.237, 0.190,
    12.755 give or take 4.126; nothing of a place where it never rains."""
    assert say_spells(Chain(0.250, 0.662), 6) == (
        "In Jun a wet spell lasts 3.0 days on average, a dry one 4.0. Of ten wet spells 4.4 last three days or "
        "more. After a dry day the day after tomorrow is wet 3.5 times in 10, and five dry days follow 2.4 "
        "times in 10; after a wet day three dry ones do 1.9 times in 10. The month has 12.8 wet days, give or "
        "take 4.1."
    )
    assert say_spells(Chain(0.0, 0.0), 6) == ""
    assert "In Jun a wet spell lasts" in page_of(job)


def climate_station(name: str) -> str:
    """The station of a place by name."""
    return by_name(climates(), name).station


def answer(made) -> str:
    """An answer of the service made at a moment, of one warm dry day."""
    whole = f"{NOW.isoformat()}/P2D"
    layer = {"uom": "wmoUnit:degC", "values": [{"validTime": whole, "value": 20.0}]}
    found = {"updateTime": made.isoformat(), "validTimes": whole, "temperature": layer}
    return json.dumps({"properties": found})


class TestChoosing:
    """A place by hand."""

    def test_a_place_is_kept_and_recorded(self, job):
        """And the nearest again."""
        client, address = signed_in(), reverse("set-climate-place", args=[job.slug])
        station = climate_station("Greenville")
        client.post(address, {"station": station, "seen": ""})
        assert climate_of(job).near.climate.station == station
        assert HistoryEntry.objects.latest("pk").what == "climate place chosen"
        seen = seen_of(ClimatePlace.objects.get())
        client.post(address, {"station": "", "seen": seen})
        assert climate_of(job).chosen is False

    def test_nonsense_and_a_second_editor_change_nothing(self, job):
        """Told; nothing is overwritten."""
        client, address = signed_in(), reverse("set-climate-place", args=[job.slug])
        assert client.post(address, {"station": "the moon", "seen": ""}).status_code == 422
        client.post(address, {"station": climate_station("Greenville"), "seen": ""})
        second = client.post(address, {"station": "", "seen": ""}, follow=True)
        assert "nothing was overwritten" in second.content.decode()
        assert climate_of(job).chosen is True

    @pytest.mark.parametrize("role", [Role.LEAD, Role.VIEWER])
    def test_who_may_not_change_may_look(self, job, role):
        """Without the forms."""
        client = signed_in(role)
        assert "Go by this place" not in page_of(job, client)
        for name in ("set-climate-place", "set-climate-record"):
            assert client.post(reverse(name, args=[job.slug]), {}).status_code == 403


class TestRecord:
    """A station's own days."""

    def test_its_rain_and_its_temperatures_are_gone_by(self, job):
        """Ten wet days a month; July at 25 C; the record and the page say so."""
        usual = climate_of(job)
        load(signed_in(), job, csv(days(air=True), "date,precip_mm,tmax_c,tmin_c"))
        own = climate_of(job)
        assert own.record == "station.csv, 2015-2020, 0 days missing"
        assert own.rain.chains[3].wet_share * 30 == pytest.approx(10, abs=1)
        assert own.warmth.highs[6] == pytest.approx(25.4, abs=0.3)
        assert own.warmth.winds == usual.warmth.winds
        assert "counted from station.csv, 2015-2020" in page_of(job)
        assert HistoryEntry.objects.latest("pk").what == "climate record loaded"

    def test_without_temperatures_the_place_speaks_of_them(self, job):
        """Rain alone."""
        usual = climate_of(job)
        load(signed_in(), job, csv(days()))
        assert climate_of(job).warmth == usual.warmth

    def test_wrong_lines_are_told_by_number(self, job):
        """Seven of them: five, and how many more; nothing is kept."""
        lines = days()
        for n in range(7):
            lines[10 * n] = f"{n} Jan,0"
        told = load(signed_in(), job, csv(lines))
        page = told.content.decode()
        assert told.status_code == 422
        assert "line 2 has no date: &#x27;0 Jan&#x27;; line 12 has no date" in page
        assert "and 2 lines more: write dates as 2015-06-30." in page
        assert ClimatePlace.objects.count() == 0

    def test_odd_figures_are_left_out_and_told(self, job):
        """Rain below nothing and words for figures, by their lines."""
        lines = days()
        lines[4], lines[8] = lines[4][:11] + "-4", lines[8][:11] + "a lot"
        client = signed_in()
        load(client, job, csv(lines))
        page = page_of(job, client)
        assert "2 figures cannot be and count as missing (line 6, 10)." in page
        assert "2 days missing" in page

    @pytest.mark.parametrize(
        ("file", "words"),
        [
            (csv(days(400)), "load five years or more"),
            (csv(days(), "day,rain"), "needs the columns date and precip_mm"),
            (SimpleUploadedFile("x.csv", b"\xff\xfe\x00\x01"), "not a table of text"),
            (SimpleUploadedFile("x.csv", b"date,precip_mm\n"), "holds no days"),
            (SimpleUploadedFile("x.csv", b""), "empty"),
        ],
    )
    def test_what_is_no_record_is_told(self, job, file, words):
        """With what to do, beside the field."""
        told = load(signed_in(), job, file)
        assert told.status_code == 422
        assert words in told.content.decode()

    def test_an_enormous_file_is_refused_unread(self):
        """Six megabytes are a hundred and fifty years three times over."""
        file = SimpleUploadedFile("x.csv", b"0")
        file.size = LARGEST + 1
        form = RecordForm({}, {"file": file})
        assert "more than 6 MB" in str(form.errors)

    def test_it_can_be_taken_out(self, job):
        """The tables hold again; a second editor is told."""
        client = signed_in()
        load(client, job, csv(days()))
        stale = client.post(
            reverse("set-climate-record", args=[job.slug]),
            {"does": "drop", "seen": ""},
            follow=True,
        )
        assert "nothing was overwritten" in stale.content.decode()
        load(client, job, "", does="drop")
        assert climate_of(job).record == ""
        assert "Take the record out" not in page_of(job, client)
