"""A job taken out as a file and read in again is the same job."""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from pathlib import Path

import pytest
from django.urls import reverse
from hypothesis import given
from hypothesis import strategies as st

from crews.models import Crew
from jobs.models import Job, Link, Release
from jobs.services.by_hand.split import split
from jobs.services.by_hand.ties import HandLink, lift, tie
from jobs.services.by_hand.works import HandWork, Pins, add_work, pin
from jobs.services.files import load_job as loading
from jobs.services.files.export_job import export_job, length
from jobs.services.files.job_file import JobFileError
from jobs.services.files.load_job import load_job
from jobs.services.history import Who
from jobs.services.scope.takeoff import expand_job
from jobs.trade.amounts import parse_length
from tests.office import NOW, SMALL_YARD, open_office, signed_in, small_job

FIXTURES = Path(loading.__file__).resolve().parents[3] / "fixtures" / "demo"
DEMO = ("12-alder-bend", "31-millrace-lane", "7-sparrow-hill-road")
NOT_TOLD = {"id", "created", "modified", "revision", "job_id", "demo"}


def told(job: Job) -> dict[str, list[object]]:
    """Everything there is of a job, without the numbers rows happen to have."""

    def rows(found, *names):
        return [{name: str(getattr(row, name)) for name in names} for row in found]

    def fields(model):
        return [f.attname for f in model._meta.concrete_fields if f.attname not in NOT_TOLD]

    links = job.links.select_related("before", "after").order_by(
        "before__order", "after__order", "relation"
    )
    return {
        "job": rows([job], *fields(Job)),
        "zones": rows(job.zones.all(), "uid", "slug", "name", "area_ft2", "whole", "order"),
        "ways": rows(
            job.passages.all(), "uid", "slug", "name", "start", "end", "width", "headroom",
            "load_lb", "floor", "slope_percent", "length_ft",
        ),
        "items": rows(job.items.all(), "uid", "assembly", "zone", "name", "answers", "order"),
        "activities": rows(
            job.activities.all(), "uid", "key", "name", "template", "quantity", "days", "people",
            "retired", "done_share", "started_at", "finished_at", "done_crew", "detail", "order",
            "share", "not_before", "not_after", "only_crew", "hired",
        ),
        "links": [
            [link.lifted, link.reason, link.by, link.before.key, link.after.key, link.relation, link.lag, link.clock, link.at_most, link.rule, link.why]
            for link in links
        ],
        "deliveries": rows(job.deliveries.all(), "name", "activity", "earliest", "arrived_on"),
        "decisions": rows(job.decisions.all(), "name", "activity", "expected_on", "decided_on", "answer"),
        "releases": rows(
            Release.objects.filter(activity__job=job).order_by("activity__order", "allows"),
            "allows", "hours", "engineer", "licence", "signed_on", "note", "by",
        ),
        "days": rows(job.no_work_days.all(), "first", "last", "why"),
    }  # fmt: skip


@pytest.mark.django_db
@pytest.mark.parametrize("name", DEMO)
def test_out_and_in_again_is_the_same_job(name):
    """Every zone, answer, activity under its own id, link, delivery, day: nothing lost, nothing new."""
    open_office()
    job = load_job((FIXTURES / f"{name}.toml").read_text("utf-8"), by="test", now=NOW)
    before, text = told(job), export_job(job)
    again = load_job(text, by="test", now=NOW)
    assert again.pk != job.pk
    assert told(again) == before
    assert export_job(again) == text
    expand_job(again, now=NOW)
    assert told(again) == before


@pytest.mark.django_db
def test_beside_the_original_it_is_another_job():
    """Ids that are taken are minted anew, so that neither is touched."""
    open_office()
    job = small_job()
    before = told(job)
    text = export_job(job).replace("3 Finch Street", "5 Finch Street").replace("3-finch", "5-finch")
    other = load_job(text, by="test", now=NOW)
    assert told(job) == before
    assert other.uid != job.uid
    assert not set(other.activities.values_list("uid")) & set(job.activities.values_list("uid"))


@pytest.mark.django_db
def test_works_of_one_kind_in_one_zone_are_told_apart():
    """A second path in the same zone: the link by hand still finds the one it is of."""
    open_office()
    job = small_job()
    item = job.items.get(assembly="stone-path")
    job.items.create(assembly=item.assembly, zone=item.zone, answers={"area": "40"}, order=9)
    expand_job(job, now=NOW)
    first, second = job.activities.filter(template="dg-path").order_by("order", "pk")
    Link.objects.create(job=job, before=second, after=first, why=["by-hand", {"why": "stone"}])
    again = load_job(export_job(job), by="test", now=NOW)
    link = again.links.get(rule="")
    assert (link.before.key, link.after.key) == (second.key, first.key)


@pytest.mark.django_db
def test_what_was_done_by_hand_comes_along():
    """A work of one's own, parts, a pin, a link against a rule, a lifted rule: each as it was."""
    open_office()
    job, who = small_job(), Who("test", NOW)
    path, shrubs = (job.activities.get(template=name) for name in ("dg-path", "plant-shrubs"))
    item = job.items.get(assembly="stone-path")
    item.answers = {"area": "1800"}
    item.save()
    expand_job(job, now=NOW)
    bed = job.zones.get(slug="bed")
    gate = add_work(job, HandWork("Hang the gate", bed, "labour", Decimal("0.5"), 2), who)
    path.refresh_from_db()
    split(path, 25, who, revision=path.revision)
    path.refresh_from_db()
    stone = Crew.objects.get(slug="stone-crew")
    pin(path, Pins(date(2026, 7, 6), date(2026, 8, 14), stone), who, revision=path.revision)
    shrubs.refresh_from_db()
    pin(shrubs, Pins(hired=True), who, revision=shrubs.revision)
    tie(HandLink(gate, shrubs, "finish-to-start", 1, "business", why="the crane comes once"), who)
    waits = (
        job.links.exclude(wait="")
        .filter(clock="elapsed", lag__gt=60)
        .select_related("before", "after")
    )
    short = waits[0]
    tie(HandLink(short.before, short.after, short.relation, 60), who, reason="as told")
    lift(path.links_in.exclude(rule="")[0], "there is no base", who)
    before, text = told(job), export_job(job)
    again = load_job(text, by="test", now=NOW)
    assert told(again) == before
    assert export_job(again) == text


@pytest.mark.django_db
def test_an_engineers_releases_come_along():
    """Two of one pour, with name, licence, day and note."""
    open_office()
    job = load_job((FIXTURES / f"{DEMO[1]}.toml").read_text("utf-8"), by="test", now=NOW)
    pour = job.activities.filter(template="pour-slab").first()
    for allows, hours, note in (("strip", 18, "12 cylinders"), ("build", 96, "")):
        Release.objects.create(
            activity=pour, allows=allows, hours=hours, engineer="J. Moss", licence="NC 20417",
            signed_on=NOW.date(), note=note, by="Owner",
        )  # fmt: skip
    before, text = told(job), export_job(job)
    assert "after = { hours = 18 }" in text or "[release.after]\nhours = 18" in text
    again = load_job(text, by="test", now=NOW)
    assert told(again) == before


@pytest.mark.django_db
@pytest.mark.parametrize(
    ("changes", "told_of"),
    [
        ({"activity": '"dg-path"'}, "release.activity"),
        ({"allows": '"fly"'}, "release.allows"),
        ({"after": "{ weeks = 1 }"}, "release.after"),
        ({"after": "{ days = 29 }"}, "release.after"),
        ({"after": "{ hours = 0 }"}, "release.after"),
        ({"after": "{ hours = 1, days = 1 }"}, "release.after"),
        ({"engineer": '" "'}, "release.engineer"),
        ({"licence": '""'}, "release.licence"),
        ({"signed": '"today"'}, "release.signed"),
    ],
)
def test_a_release_in_a_file_is_checked(changes, told_of):
    """Never without a name, never of anything but a pour."""
    keys = {
        "activity": '"pour-slab"', "allows": '"strip"', "after": "{ hours = 18 }",
        "engineer": '"J. Moss"', "licence": '"NC 20417"', "signed": "2026-06-15",
    } | changes  # fmt: skip
    table = "[[release]]\n" + "\n".join(f"{key} = {value}" for key, value in keys.items())
    slab = '[[build]]\nwhat = "concrete-slab"\nwhere = "Bed"\narea = "120 ft2"\n'
    open_office()
    with pytest.raises(JobFileError) as refused:
        load_job(f"{SMALL_YARD}\n{slab}\n{table}\n", by="test", now=NOW)
    assert [fault.key for fault in refused.value.faults] == [told_of]


@pytest.mark.django_db
@pytest.mark.parametrize(
    ("table", "told_of"),
    [
        ('[[work]]\nname = "x"\nwhere = "Bed"\nskill = "magic"\ndays = 1\npeople = 1', "work.skill"),
        ('[[work]]\nname = "x"\nwhere = "Roof"\nskill = "labour"\ndays = 1\npeople = 1', "work.where"),
        ('[[split]]\nactivity = "dg-path"\nshares = [60, 60]', "split.shares"),
        ('[[split]]\nactivity = "locate-notice"\nshares = [50, 50]', "split.activity"),
        ('[[pin]]\nactivity = "dg-path"\nnot_before = 2026-08-01\nnot_after = 2026-07-01', "pin.not_after"),
        ('[[pin]]\nactivity = "dg-path"\ncrew = "moon-crew"', "pin.crew"),
        ('[[lift]]\nactivity = "design-sign-off"\nafter = "clean-up"\nreason = "x"', "lift.after"),
    ],
)  # fmt: skip
def test_what_was_done_by_hand_is_checked(table, told_of):
    """The key is named, and nothing is stored."""
    open_office()
    with pytest.raises(JobFileError) as refused:
        load_job(f"{SMALL_YARD}\n{table}\n", by="test", now=NOW)
    assert [fault.key for fault in refused.value.faults] == [told_of]
    assert Job.objects.count() == 0


@pytest.mark.django_db
def test_the_page_hands_it_out_as_a_file():
    """With a name of its own, as text."""
    open_office()
    job = small_job()
    answer = signed_in().get(reverse("export-job", args=[job.slug]))
    assert answer["Content-Disposition"] == 'attachment; filename="3-finch-street.toml"'
    assert answer.content.decode() == export_job(job)


@given(st.integers(1, 2_000_000))
def test_a_length_reads_back_as_it_was(tenths):
    """To the tenth of a millimetre, whatever it is written in."""
    assert parse_length(length(tenths)) == tenths
