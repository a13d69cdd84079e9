"""Further calls for utility marks: that one was made, and what its ticket allows."""

from __future__ import annotations

from typing import TYPE_CHECKING

from django.contrib import messages
from django.shortcuts import get_object_or_404, redirect

from crews.access import may_edit
from jobs import clock
from jobs.forms.marks import MarksForm
from jobs.models import Notice
from jobs.services.planning import tickets
from jobs.services.telling.errors import SaidBefore

from .asked import shown_or_sent, who
from .fragments import answer

if TYPE_CHECKING:
    from django.http import HttpResponse

    from crews.access import OfficeRequest

KEPT = "The call is kept. The ticket overrules every date here: read it, and wait for every operator's answer."


@shown_or_sent
@may_edit
def call_again(request: OfficeRequest, slug: str, pk: int) -> HttpResponse:
    """Show one call that the plan needs; sent, keep that it was made."""
    call = get_object_or_404(Notice.objects.select_related("job"), job__slug=slug, pk=pk)
    today = clock.now().date()
    told = request.POST if request.method == "POST" else None
    said = {"sent_on": call.sent_on or today, "reference": call.reference}
    form = MarksForm(told, today=today, initial=said)
    if form.is_valid():
        try:
            tickets.made(call, **form.cleaned_data, who=who(request))
        except SaidBefore as before:
            messages.info(request, f"{before}: it counts once.")
        else:
            messages.success(request, KEPT)
        return redirect("call-again", slug=slug, pk=pk)
    page = {"call": call, "job": call.job, "form": form, "section": "jobs"}
    return answer(request, "jobs/marks.html", page, status=422 if form.errors else 200)
