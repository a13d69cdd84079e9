"""The plan page: plan again, see what would change, publish."""

from __future__ import annotations

from typing import TYPE_CHECKING

from django.contrib import messages
from django.shortcuts import get_object_or_404, redirect
from django.views.decorators.http import require_POST, require_safe

from crews.access import may_edit, signed_in
from jobs import clock
from jobs.models import Job, Plan
from jobs.services.pages.odds import read_odds
from jobs.services.pages.plan import read_plan_page, read_promises
from jobs.services.pages.safe import read_safe
from jobs.services.planning.accept_plan import accept_plan
from jobs.services.planning.conflicts import CannotAllBeKept
from jobs.services.planning.plan_jobs import plan_jobs
from jobs.services.planning.promising import promise_by
from jobs.services.telling.errors import SaidBefore
from jobs.services.telling.speech import say_day

from .asked import who
from .fragments import answer

if TYPE_CHECKING:
    from django.http import HttpResponse

    from crews.access import OfficeRequest


@require_safe
@signed_in
def plan(request: OfficeRequest) -> HttpResponse:
    """The published plan, the proposal, and what would change."""
    return answer(
        request, "jobs/plan.html", {"page": read_plan_page(clock.now()), "section": "plan"}
    )


@require_safe
@signed_in
def odds(request: OfficeRequest) -> HttpResponse:
    """Every finish we said of a job that is done, and what happened."""
    return answer(request, "jobs/odds.html", {"page": read_odds(), "section": "plan"})


@require_safe
@signed_in
def promises(request: OfficeRequest) -> HttpResponse:
    """Which promises cannot all be kept, with what was wished by hand."""
    page = {"against": read_promises(clock.now()), "section": "plan"}
    return answer(request, "jobs/promises.html", page, parts=("promises",))


@require_safe
@signed_in
def safe(request: OfficeRequest) -> HttpResponse:
    """What is safe to promise by the plan in hand."""
    page = {"page": read_safe(clock.now()), "section": "plan"}
    return answer(request, "jobs/safe.html", page, parts=("safe",))


@require_POST
@may_edit
def promise(request: OfficeRequest, slug: str) -> HttpResponse:
    """Promise a job's owner the day that is safe."""
    job = get_object_or_404(Job, slug=slug)
    page = read_safe(clock.now())
    row = next((row for row in page.rows if row.slug == slug), None)
    if page.plan is None or row is None or row.promised is not None:
        nothing = "Something is promised already, or nothing is planned: nothing was changed."
        messages.error(request, page.reason or nothing)
    else:
        fits = promise_by(page.plan, job, row.safe, who(request))
        then = f"Plan {page.plan.number} keeps it." if fits else "Plan again to plan by it."
        messages.success(request, f"{job.name} is promised for {say_day(row.safe)}. {then}")
    return redirect("plan")


@require_POST
@may_edit
def make_plan(request: OfficeRequest) -> HttpResponse:
    """Plan all open jobs together; nothing is sent to phones yet."""
    seen = request.POST.get("seen", "")
    try:
        made = plan_jobs(
            now=clock.now(), by=str(request.user), after=int(seen) if seen.isdecimal() else None
        )
    except SaidBefore as before:
        messages.info(request, f"{before.reason}: look at it before you plan again.")
        return redirect("plan")
    except CannotAllBeKept as error:
        page = {"page": read_plan_page(clock.now(), error.conflict), "section": "plan"}
        return answer(request, "jobs/plan.html", page, status=409)
    number = made.plan.number if made.plan else ""
    messages.success(request, f"Plan {number} was made in {made.seconds:.1f} seconds.")
    return redirect("plan")


@require_POST
@may_edit
def publish(request: OfficeRequest, number: int) -> HttpResponse:
    """Accept a proposal: phones learn of it."""
    proposal = get_object_or_404(Plan, number=number)
    if proposal.state == Plan.State.PUBLISHED:
        messages.info(request, f"Plan {number} is published already.")
        return redirect("plan")
    accept_plan(proposal, by=str(request.user), now=clock.now())
    messages.success(request, f"Plan {number} is published. Phones show it at their next look.")
    return redirect("plan")
