"""Signing in; who guesses passwords has to wait."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from django.contrib.auth.views import LoginView

from crews.access import had_too_many_misses, too_many_misses

if TYPE_CHECKING:
    from django.contrib.auth.forms import AuthenticationForm
    from django.http import HttpRequest, HttpResponse

PASSWORDS = "password"
TOO_MANY = 429


class SignIn(LoginView):
    """E-mail address and password; after too many wrong ones not even the right one, for a while."""

    template_name = "sign_in.html"

    def post(self, request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponse:
        """Check nothing at all for who guessed too often."""
        if had_too_many_misses(request, PASSWORDS):
            return self.render_to_response({"waits": True}, status=TOO_MANY)
        return super().post(request, *args, **kwargs)

    def form_invalid(self, form: AuthenticationForm) -> HttpResponse:
        """Count a wrong password."""
        too_many_misses(self.request, PASSWORDS)
        return super().form_invalid(form)
