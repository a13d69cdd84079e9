"""Where a job stands, and what follows from each state."""

from __future__ import annotations

from typing import TYPE_CHECKING

from django.contrib import messages
from django.shortcuts import get_object_or_404, redirect

from crews.access import may_edit
from crews.services.setup import ChangedMeanwhileError
from jobs import clock
from jobs.forms.stage import StageForm
from jobs.models import Job
from jobs.services.company.stage import set_stage, standing_of, what_follows
from jobs.services.pages.frame import job_head, shown_plan
from jobs.services.telling.errors import say_error
from jobs.trade.errors import TradeError

from .asked import revision_of, shown_or_sent, who
from .errors import seen_again, typed_below
from .fragments import answer

if TYPE_CHECKING:
    from django.http import HttpResponse

    from crews.access import OfficeRequest


@shown_or_sent
@may_edit
def stage(request: OfficeRequest, slug: str) -> HttpResponse:
    """Show what each state means for this job, and let it stand elsewhere."""
    job, now = get_object_or_404(Job, slug=slug), clock.now()
    data = request.POST if request.method == "POST" else None
    form = StageForm(job, data, today=now.date())
    if form.is_valid():
        try:
            gone = set_stage(job, form.stage(), who(request), revision=revision_of(request))
        except TradeError as error:
            form.add_error("state", say_error(error))
        except ChangedMeanwhileError:
            typed_below(form)
        else:
            messages.success(request, _done(gone))
            return redirect("job", slug=slug)
    page = {
        "head": job_head(job, "stage", shown_plan()), "form": form, "section": "jobs",
        "revision": seen_again(request, "revision", job.revision, form),
        "rows": form.rows(what_follows(job, standing_of(job, now))),
    }  # fmt: skip
    return answer(request, "jobs/stage.html", page, status=422 if form.errors else 200)


def _done(cancelled: int) -> str:
    left = f" {cancelled} calendar entries are cancelled on phones." if cancelled else ""
    return f"That is where it stands now.{left} Plan again to see what moves."
