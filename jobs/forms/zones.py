"""Rows of zones and ways in: of a new yard, and of a yard there is. Cleaning only, no saving."""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING, Any, TypeVar, cast

from django import forms

from jobs.services.scope.new_job import STREET, WHOLE_YARD, NewZone
from jobs.services.scope.yard import PassageFacts, ZoneFacts
from jobs.services.telling.yardstick import Yardstick, yardstick

from .fields import AmountField, LengthField, offer

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from jobs.models import Job

    FormRows = forms.BaseFormSet[Any]
else:
    FormRows = forms.BaseFormSet

Base = TypeVar("Base", bound="FormRows")
ROWS, MORE_ROWS, MOST_ROWS = 6, 3, 60
AREA, LENGTH, LOAD = 100_000, 2_000, 200_000
RESERVED = frozenset({STREET, WHOLE_YARD.casefold()})


class NewZoneForm(forms.Form):
    """One zone of a new yard, with the way into it."""

    name = forms.CharField(max_length=60, label="Zone")
    area = AmountField(unit="ft2", most=AREA, help_text="ft²")
    reached_from = forms.CharField(
        max_length=60, required=False, label="Reached from", help_text="empty: the street"
    )
    way = forms.CharField(max_length=60, required=False, label="Through", help_text="its name")
    width = LengthField(label="Clear width", help_text="like 3 ft 6 in")
    length = AmountField(unit="ft", most=LENGTH, help_text="ft")

    def clean_name(self) -> str:
        """Refuse the names of what is always there."""
        return _zone_name(self.cleaned_data["name"])

    def facts(self) -> NewZone:
        """Return what was told, once it is clean."""
        told = self.cleaned_data
        return NewZone(
            told["name"],
            told["area"],
            told["reached_from"].strip(),
            told["way"].strip(),
            told["width"],
            int(told["length"] or 0),
        )


class BaseNewZones(FormRows):
    """Zones of a new yard: each named once, each reached from one that is there."""

    def clean(self) -> None:
        """Tell names that stand twice, and ways from nowhere or round in a ring."""
        told = [form for form in self.forms if form.has_changed() and form.cleaned_data]
        names = Counter(str(form.cleaned_data.get("name", "")).casefold() for form in told)
        start = {}
        for form in told:
            name = str(form.cleaned_data.get("name", "")).casefold()
            comes = str(form.cleaned_data.get("reached_from", "")).strip().casefold() or STREET
            start[name] = comes
            if names[name] > 1:
                form.add_error("name", "This name stands twice: name it apart.")
            if comes != STREET and (comes not in names or comes == name):
                form.add_error("reached_from", "No other zone here has this name.")
        for form in told:
            name = str(form.cleaned_data.get("name", "")).casefold()
            if not form.errors and _in_a_ring(name, start):
                form.add_error("reached_from", "These zones are reached from each other only.")

    def facts(self) -> list[NewZone]:
        """Return what was told, once it is clean."""
        return [form.facts() for form in self.forms if form.has_changed()]


def _in_a_ring(name: str, start: Mapping[str, str]) -> bool:
    seen = {name}
    while (name := start.get(name, STREET)) != STREET:
        if name in seen:
            return True
        seen.add(name)
    return False


class ZoneForm(forms.Form):
    """One zone of a yard there is, or a new one."""

    uid = forms.CharField(widget=forms.HiddenInput, required=False, max_length=32)
    name = forms.CharField(max_length=60, label="Zone")
    area = AmountField(unit="ft2", most=AREA, help_text="ft²")
    gone = forms.BooleanField(required=False, label="Take it out")

    def clean_name(self) -> str:
        """Refuse the names of what is always there."""
        return _zone_name(self.cleaned_data["name"])

    def facts(self) -> ZoneFacts:
        """Return what was told, once it is clean."""
        return ZoneFacts(**self.cleaned_data)


class BaseZones(FormRows):
    """Zones of a yard, each named once."""

    def clean(self) -> None:
        """Tell names that stand twice."""
        told = [f for f in self.forms if f.has_changed() or f.initial]
        names = Counter(
            str(f.cleaned_data.get("name", "")).casefold()
            for f in told
            if not f.cleaned_data.get("gone")
        )
        for form in told:
            if names[str(form.cleaned_data.get("name", "")).casefold()] > 1:
                form.add_error("name", "This name stands twice: name it apart.")

    def facts(self) -> list[ZoneFacts]:
        """Return what was told, once it is clean."""
        return [f.facts() for f in self.forms if f.initial or f.has_changed()]


class PassageForm(forms.Form):
    """One way in of a yard there is, or a new one."""

    uid = forms.CharField(widget=forms.HiddenInput, required=False, max_length=32)
    name = forms.CharField(max_length=60, label="Way in")
    start = forms.ChoiceField(label="From")
    end = forms.ChoiceField(label="To")
    width = LengthField(label="Clear width", help_text="at the narrowest; empty: not measured")
    headroom = LengthField(help_text="empty: none")
    length = AmountField(unit="ft", most=LENGTH, help_text="ft")
    slope = AmountField(unit="percent", most=100, help_text="percent")
    load = AmountField(unit="lb", most=LOAD, label="Bears", help_text="lb; empty: anything")
    floor = forms.CharField(max_length=40, required=False, help_text="lawn, gravel, steps ...")
    gone = forms.BooleanField(required=False, label="Take it out")

    def __init__(self, *args: Any, zones: Iterable[tuple[str, str]] = (), **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        places = list(zones)
        for name, choices in (("start", [(STREET, "the street"), *places]), ("end", places)):
            offer(self, name, choices)
            self.fields[name].initial = next((key for key, _ in choices), None)
            # a browser sends the first of a list that nobody touched: no new way in is meant by it

    def clean(self) -> dict[str, Any]:
        """Refuse a way that leads back to where it starts."""
        told = super().clean() or {}
        if told.get("start") and told.get("start") == told.get("end"):
            self.add_error("end", "It leads back to where it starts: choose another zone.")
        return told

    def facts(self) -> PassageFacts:
        """Return what was told, once it is clean."""
        told = self.cleaned_data
        return PassageFacts(
            uid=told["uid"],
            name=told["name"],
            start="" if told["start"] == STREET else told["start"],
            end=told["end"],
            width=told["width"],
            length_ft=int(told["length"] or 0),
            headroom=told["headroom"],
            load_lb=None if told["load"] is None else int(told["load"]),
            floor=told["floor"],
            slope_percent=int(told["slope"] or 0),
            gone=told["gone"],
        )


class BasePassages(FormRows):
    """Ways in of a yard."""

    def facts(self) -> list[PassageFacts]:
        """Return what was told, once it is clean."""
        return [f.facts() for f in self.forms if f.initial.get("uid") or f.has_changed()]


def new_zones(data: Mapping[str, Any] | None, like: Job | None = None) -> BaseNewZones:
    """Return the rows of zones of a new yard, filled in like an earlier one if asked."""
    told = _zones_of(like) if like else []
    kind = _rows(NewZoneForm, BaseNewZones, max(ROWS - len(told), 1))
    return kind(data, initial=told, prefix="zone", form_kwargs={"label_suffix": ""})


def zones_of(job: Job, data: Mapping[str, Any] | None) -> BaseZones:
    """Return the rows of the zones of a yard, and room for new ones."""
    told = [
        {"uid": zone.uid, "name": zone.name, "area": _bare(zone.area_ft2)}
        for zone in job.zones.all()
        if not zone.whole
    ]
    kind = _rows(ZoneForm, BaseZones, MORE_ROWS)
    return kind(data, initial=told, prefix="zone", form_kwargs={"label_suffix": ""})


def passages_of(job: Job, data: Mapping[str, Any] | None) -> BasePassages:
    """Return the rows of the ways in of a yard, and room for new ones."""
    typed = yardstick().typed
    told = [
        {
            "uid": way.uid,
            "name": way.name,
            "start": way.start.uid if way.start else STREET,
            "end": way.end.uid,
            "width": typed(way.width) if way.width else "",
            "headroom": typed(way.headroom) if way.headroom else "",
            "length": way.length_ft or "",
            "slope": way.slope_percent or "",
            "load": "" if way.load_lb is None else way.load_lb,
            "floor": way.floor,
        }
        for way in job.passages.select_related("start", "end")
    ]
    places = [(zone.uid, zone.name) for zone in job.zones.all()]
    kind = _rows(PassageForm, BasePassages, MORE_ROWS)
    extra = {"label_suffix": "", "zones": places}
    return kind(data, initial=told, prefix="way", form_kwargs=extra)


def _rows(form: type[forms.Form], base: type[Base], extra: int) -> type[Base]:
    """Return a kind of rows; the factory makes a child of its base, which its stubs do not say."""
    made = forms.formset_factory(
        form,
        formset=base,
        extra=extra,
        max_num=MOST_ROWS,
        absolute_max=MOST_ROWS + 10,
        validate_max=True,
    )
    return cast("type[Base]", made)


def _zones_of(job: Job) -> list[dict[str, Any]]:
    ways = {way.end_id: way for way in reversed(list(job.passages.select_related("start")))}
    stick = yardstick()
    return [
        _zone_told(zone.name, zone.area_ft2, ways.get(zone.pk), stick)
        for zone in job.zones.all()
        if not zone.whole
    ]


def _zone_told(name: str, area: Any, way: Any, stick: Yardstick) -> dict[str, Any]:
    told = {"name": name, "area": _bare(area)}
    if way is not None:
        told |= {
            "reached_from": way.start.name if way.start else "",
            "way": way.name,
            "width": stick.typed(way.width) if way.width else "",
            "length": way.length_ft or "",
        }
    return told


def _bare(amount: Any) -> str:
    return f"{amount.normalize():f}" if amount is not None else ""


def _zone_name(told: str) -> str:
    name = " ".join(told.split())
    if name.casefold() in RESERVED:
        raise forms.ValidationError(f"{name} is there by itself: choose another name.")
    return name
