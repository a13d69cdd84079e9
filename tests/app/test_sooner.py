"""Why a job is not done sooner, on its sheet."""

from __future__ import annotations

from datetime import date

import pytest
from django.urls import reverse

from jobs.models import Activity
from tests.office import open_office, published_plan, signed_in, small_job

pytestmark = pytest.mark.django_db


def test_a_pin_that_holds_the_finish_is_named_with_what_it_costs():
    """The path not before 3 August: without the pin the yard is done weeks sooner, and then its first day is named."""
    open_office()
    job = small_job()
    path = Activity.objects.get(template="dg-path")
    Activity.objects.filter(pk=path.pk).update(not_before=date(2026, 8, 3))
    published_plan()
    headers = {"HX-Request": "true", "HX-Target": "finish"}
    part = signed_in().get(reverse("sooner", args=[job.slug]), headers=headers).content.decode()
    assert part.lstrip().startswith('<section class="box" id="finish"')
    assert f"{path.name} was fixed by hand to begin no earlier than Mon 3 Aug." in part
    assert "Without it: done Tue 7 Jul, 21 working days sooner." in part
    assert "If that were gone:" in part
    assert "the yard is ours from Mon 22 Jun." in part


def test_the_sheet_fetches_it():
    """Once it is there itself."""
    open_office()
    job = small_job()
    published_plan()
    assert (
        reverse("sooner", args=[job.slug])
        in signed_in().get(reverse("sheet", args=[job.slug])).content.decode()
    )


def test_what_cannot_be_told_is_said():
    """Nothing to plan, nothing to bring forward."""
    open_office()
    job = small_job()
    Activity.objects.all().delete()
    assert (
        "There is nothing to check"
        in signed_in().get(reverse("sooner", args=[job.slug])).content.decode()
    )
