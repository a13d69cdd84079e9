"""Who signs in, for owners; and everybody's own password."""

from __future__ import annotations

from typing import TYPE_CHECKING

from django.contrib import messages
from django.contrib.auth.views import PasswordChangeView
from django.shortcuts import get_object_or_404, redirect
from django.urls import reverse_lazy
from django.views.decorators.http import require_POST

from crews.access import owner_only
from crews.models import Person
from crews.services.people import BadPersonError
from jobs.forms.sign_ins import NewSignInForm, SignInForm
from jobs.services.company.sign_ins import add_sign_in, keep_sign_in

from .asked import shown_or_sent, who
from .fragments import answer

if TYPE_CHECKING:
    from django.http import HttpResponse

    from crews.access import OfficeRequest


class OwnPassword(PasswordChangeView):
    """The old password, and a new one twice; other browsers of the same person are signed out."""

    template_name = "password.html"
    success_url = reverse_lazy("tomorrow")

    def get_success_url(self) -> str:
        """Say that it is kept."""
        messages.success(self.request, "Your new password holds from now on.")
        return super().get_success_url()


@shown_or_sent
@owner_only
def sign_ins(request: OfficeRequest) -> HttpResponse:
    """Everybody who signs in; let somebody else."""
    form = NewSignInForm(request.POST if request.method == "POST" else None)
    if form.is_valid():
        try:
            person = add_sign_in(form.new(), who(request))
        except BadPersonError as bad:
            form.add_error(None, str(bad))
        else:
            messages.success(request, f"{person} may sign in as {person.email}.")
            return redirect("sign-ins")
    people = Person.objects.order_by("-is_active", "name", "pk")
    rows = [(one, SignInForm(initial={"role": one.role, "active": one.is_active}, auto_id=f"{one.pk}_%s")) for one in people]  # fmt: skip
    page = {"rows": rows, "form": form, "section": "settings"}
    return answer(request, "jobs/sign_ins.html", page, status=422 if form.errors else 200)


@require_POST
@owner_only
def keep(request: OfficeRequest, pk: int) -> HttpResponse:
    """Give somebody another role, or turn the sign-in off or on."""
    person, form = get_object_or_404(Person, pk=pk), SignInForm(request.POST)
    if not form.is_valid():
        messages.error(request, "There is no such role: nothing was changed.")
        return redirect("sign-ins")
    told = form.cleaned_data
    try:
        keep_sign_in(person, told["role"], active=told["active"], who=who(request))
    except BadPersonError as bad:
        messages.error(request, str(bad))
    else:
        messages.success(request, f"Kept for {person}.")
    return redirect("sign-ins")
