"""How sound the plan is: page, part and command; works named where they are mended."""

from __future__ import annotations

import json
from datetime import timedelta

import pytest
from django.core.management import CommandError, call_command
from django.urls import reverse

from jobs.models import Activity, Job, Link
from jobs.services.pages.frame import shown_plan
from jobs.services.planning.health import Checkup
from tests.office import NOW, open_office, published_plan, published_yard, signed_in

pytestmark = pytest.mark.django_db
DAY = 24 * 60


@pytest.fixture
def job() -> Job:
    """A small yard, planned and published."""
    return published_yard()


def verdicts(now=NOW) -> dict[str, str]:
    """How every check of all jobs comes out."""
    return {check.key: check.verdict.value for check in Checkup(shown_plan(), now).of().checks}


def test_a_fresh_plan_is_sound(job):
    """What the rules tie and the builder dates passes; nothing was due yet."""
    fresh = verdicts()
    assert {key for key, verdict in fresh.items() if verdict == "fails"} == set()
    assert (fresh["missed"], fresh["pace"]) == ("nothing to measure", "nothing to measure")


def test_what_was_published_for_last_week_and_not_done_is_told(job):
    """A week after its start, nobody has logged a thing: late, and planned for yesterday."""
    late = verdicts(NOW + timedelta(days=14))
    assert (late["missed"], late["pace"], late["invalid-dates"]) == ("fails", "fails", "fails")


def test_done_works_are_counted_against_the_plan_they_were_first_published_in(job):
    """Publishing a later plan does not make a late work punctual."""
    first = published_rows(job)[0]
    row = Activity.objects.get(pk=first.activity_id)
    row.started_at, row.finished_at = first.start, first.finish + timedelta(days=2)
    row.save()
    published_plan()
    checks = {c.key: c for c in Checkup(shown_plan(), NOW + timedelta(days=9)).of().checks}
    assert row.uid in {finding.work for finding in checks["missed"].findings}


def published_rows(job):
    """The rows of the plan that is shown, by start."""
    return list(shown_plan().rows.filter(activity__job=job).order_by("start", "pk"))


def test_a_lead_by_hand_fails_and_links_to_its_work(job):
    """The work that waits is the one to mend."""
    link = Link.objects.filter(job=job, relation="finish-to-start", lag=0).first()
    Link.objects.filter(pk=link.pk).update(lag=-60)
    page = signed_in().get(reverse("job-health", args=[job.slug])).content.decode()
    story = reverse("activity", args=[job.slug, link.after.uid])
    assert f'<a href="{story}">{link.after.name} may begin before its tie' in page


def test_the_part_is_the_page_without_its_frame(job):
    """Fetched by the plan page and the job page once they are there."""
    headers = {"HX-Request": "true", "HX-Target": "health"}
    part = signed_in().get(reverse("health"), headers=headers).content.decode()
    assert part.lstrip().startswith('<section class="box" id="health"')
    for address in (reverse("plan"), reverse("job", args=[job.slug])):
        assert 'hx-target="#health"' in signed_in().get(address).content.decode()


def test_nothing_to_check_is_told_with_what_to_do():
    """On the page in words; the command says no with exit code 2."""
    open_office()
    assert (
        "There is nothing to check; add a job"
        in signed_in().get(reverse("health")).content.decode()
    )
    with pytest.raises(CommandError, match="nothing to check") as refused:
        call_command("health")
    assert refused.value.returncode == 2


def test_the_command_prints_a_line_for_each_check(job, capsys):
    """Fourteen of them."""
    call_command("health")
    lines = capsys.readouterr().out.splitlines()
    assert len(lines) == 14
    assert lines[0].endswith("Everything is tied to something: 0 of 21, 0.0 %; at most 5 %")


def test_the_command_prints_json(job, capsys):
    """All jobs together, and each by itself, with the activity to mend."""
    Link.objects.filter(pk=Link.objects.filter(job=job).first().pk).update(lag=-DAY)
    call_command("health", "--json")
    told = json.loads(capsys.readouterr().out)
    lead = next(check for check in told["checks"] if check["key"] == "leads")
    assert (lead["verdict"], lead["value"], lead["limit"], lead["unit"]) == ("fails", 1, 0, "count")
    assert lead["source"] == "DCMA-EA PAM 200.1, check 2"
    assert lead["findings"][0]["job"] == job.slug
    assert [row["slug"] for row in told["jobs"]] == [job.slug]
    assert len(told["jobs"][0]["checks"]) == 14
