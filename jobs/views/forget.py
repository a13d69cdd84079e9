"""A job deleted that never began; the owner of one that is over forgotten."""

from __future__ import annotations

from typing import TYPE_CHECKING

from django.contrib import messages
from django.shortcuts import get_object_or_404, redirect

from crews.access import owner_only
from crews.services.setup import ChangedMeanwhileError
from jobs.forms.forget import ForgetForm
from jobs.models import Job
from jobs.services.company.forget import DELETE, delete_job, forget_owner, way_of
from jobs.services.pages.forget import read_forget

from .asked import revision_of, shown_or_sent, who
from .errors import seen_again, typed_below
from .fragments import answer

if TYPE_CHECKING:
    from django.http import HttpResponse

    from crews.access import OfficeRequest


@shown_or_sent
@owner_only
def forget(request: OfficeRequest, slug: str) -> HttpResponse:
    """Say what goes and what stays; sent, let it go."""
    job = get_object_or_404(Job, slug=slug)
    form = ForgetForm(request.POST if request.method == "POST" else None, name=job.name)
    if form.is_valid():
        gone = way_of(job) == DELETE
        do = delete_job if gone else forget_owner
        try:
            do(job, who(request), revision=revision_of(request))
        except ChangedMeanwhileError:
            typed_below(form)
        else:
            words = "The job is deleted." if gone else "The owner is forgotten; the figures stay."
            messages.success(request, words)
            return redirect("jobs")
    page = {
        "page": read_forget(job), "form": form, "section": "jobs",
        "revision": seen_again(request, "revision", job.revision, form),
    }  # fmt: skip
    return answer(request, "jobs/forget.html", page, status=422 if form.errors else 200)
