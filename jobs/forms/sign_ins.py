"""Forms of who signs in. Cleaning only, no saving."""

from __future__ import annotations

from typing import Any

from django import forms

from crews.models import Role
from jobs.services.company.sign_ins import NewSignIn


class NewSignInForm(forms.Form):
    """Somebody who shall sign in, with a first password that the two agree on."""

    name = forms.CharField(max_length=120)
    email = forms.EmailField(label="E-mail address", max_length=150)
    role = forms.ChoiceField(choices=Role.choices, initial=Role.SCHEDULER, label="Signs in as")
    password = forms.CharField(
        label="First password",
        help_text="at least 8 characters; to be changed at the first sign-in",
        max_length=200,
        strip=False,
        widget=forms.PasswordInput(attrs={"autocomplete": "new-password"}),
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **{"label_suffix": "", **kwargs})

    def new(self) -> NewSignIn:
        """Return what was told, once it is clean."""
        return NewSignIn(**self.cleaned_data)


class SignInForm(forms.Form):
    """The role of somebody, and whether the sign-in still opens."""

    role = forms.ChoiceField(choices=Role.choices, label="Signs in as")
    active = forms.BooleanField(required=False, label="May sign in")

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **{"label_suffix": "", **kwargs})
