"""The form of a job as a whole: name, place, soil, dates. Cleaning only, no saving."""

from __future__ import annotations

from datetime import date, timedelta
from itertools import groupby
from typing import TYPE_CHECKING, Any

from django import forms

from jobs.services.company.states import CHOICES, zones_with
from jobs.services.numbers.library import current_library
from jobs.services.pages.promising import UNSAID
from jobs.services.scope.yard import JobFacts
from jobs.services.sky.climate_choice import places_by_state

from .fields import PositionField, day_field, offer

if TYPE_CHECKING:
    from collections.abc import Mapping

    from jobs.models import Job

FARTHEST = timedelta(days=3 * 365)
TAKEN = "There is a job of this name already: name it apart."


class JobForm(forms.Form):
    """Name, place, soil and dates of a job."""

    name = forms.CharField(max_length=120)
    address = forms.CharField(max_length=200)
    us_state = forms.ChoiceField(label="State", choices=CHOICES)
    zone = forms.ChoiceField(label="Time zone")
    soil = forms.ChoiceField()
    starts_on = day_field(label="Start, not before")
    promised_on = day_field(
        label="Promised finish", required=False, help_text=f"may be empty; {UNSAID}"
    )
    access_notes = forms.CharField(
        max_length=255,
        required=False,
        label="Access",
        help_text="crews and calendars read it; a gate code has its own place on the Yard page",
    )
    position = PositionField(
        label="Place on the map",
        help_text="latitude, longitude from a map app: for forecast, odds, sunset and drives",
    )

    def __init__(self, *args: Any, today: date, zone: str = "", **kwargs: Any) -> None:
        super().__init__(*args, **{"label_suffix": "", **kwargs})
        self.today = today
        soils = current_library().soils.values()
        offer(self, "soil", [(soil.key, soil.name) for soil in soils])
        offer(self, "zone", zones_with(zone))

    def clean_name(self) -> str:
        """Refuse a name that is only blanks."""
        return " ".join(self.cleaned_data["name"].split())

    def clean(self) -> dict[str, Any]:
        """Refuse dates out of order or out of sight."""
        told = super().clean() or {}
        start, promise = told.get("starts_on"), told.get("promised_on")
        if start and not self._start_ok(start):
            self.add_error("starts_on", self._start_wrong(start))
        if start and promise and promise < start:
            self.add_error("promised_on", "This lies before the start: promise a later day.")
        if promise and promise > self.today + 2 * FARTHEST:
            self.add_error("promised_on", "This is more than six years away: look at the year.")
        return told

    def facts(self) -> JobFacts:
        """Return what was told, once it is clean."""
        told = {k: v for k, v in self.cleaned_data.items() if k in JobFacts.__dataclass_fields__}
        north, east = self.cleaned_data["position"] or (None, None)
        return JobFacts(**told, latitude=north, longitude=east)

    def _start_ok(self, start: date) -> bool:
        return self.today <= start <= self.today + FARTHEST

    def _start_wrong(self, start: date) -> str:
        if start < self.today:
            return "This day is over: give a day from today on."
        return "This is more than three years away: look at the year."


class NewJobForm(JobForm):
    """The same for a new job, with a place whose weather is like the yard's."""

    station = forms.ChoiceField(
        label="Weather like that of",
        required=False,
        help_text="the place most alike; the nearest, if you give its place on the map",
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        states = dict(CHOICES)
        by_state = groupby(places_by_state(), key=lambda place: place.state)
        places: list[Any] = [
            (states.get(state, state), [(p.station, p.name) for p in found])
            for state, found in by_state
        ]
        offer(self, "station", [("", "choose one"), *places])

    def clean(self) -> dict[str, Any]:
        """Somebody must say where the yard is: without it there are no odds and no seasons."""
        told = super().clean()
        if not told.get("station") and not told.get("position") and "position" not in self.errors:
            self.add_error(
                "station", "Odds and seasons go by it: choose a place, or give the map's."
            )
        return told

    def chosen_station(self) -> str:
        """Return the station chosen; none where the nearest to the place on the map holds."""
        if self.cleaned_data["position"] and "station" not in self.changed_data:
            return ""
        return str(self.cleaned_data["station"])


class YardForm(JobForm):
    """The same for a job there is, with its weight."""

    weight = forms.IntegerField(
        min_value=1, max_value=100, help_text="how dear a day late is against other jobs"
    )

    def __init__(
        self, job: Job, data: Mapping[str, Any] | None, *, today: date, promise: str = UNSAID
    ) -> None:
        initial = {name: getattr(job, name) for name in JobFacts.__dataclass_fields__}
        if job.latitude is not None and job.longitude is not None:
            initial["position"] = f"{job.latitude}, {job.longitude}"
        super().__init__(data, today=today, zone=job.zone, initial=initial)
        self.fields["promised_on"].help_text = promise
        self.job = job

    def _start_ok(self, start: date) -> bool:
        """A start that stands may lie in the past: the job is under way."""
        return start == self.job.starts_on or super()._start_ok(start)


class GateForm(forms.Form):
    """How the gate opens."""

    code = forms.CharField(
        label="Gate code",
        max_length=60,
        required=False,
        widget=forms.TextInput(attrs={"autocomplete": "off"}),
        help_text="empty: none is kept",
    )
