"""What forms say of what was typed wrongly: in the house's words, in one place, for every field and limit."""

from __future__ import annotations

from typing import TYPE_CHECKING

from django import forms
from django.core import validators

if TYPE_CHECKING:
    from collections.abc import Mapping

NONE_OF_THEM = "This is none of the choices: choose one of the list."
NO_NUMBER, NO_FILE = "A number such as 2.5.", "No file came along: choose it once more."
LATE_PAGE = "This page has lost its number: open it again, then say it once more."

FIELDS: Mapping[type[forms.Field], Mapping[str, str]] = {
    forms.Field: {"required": "This is missing: fill it in or choose one."},
    forms.DateField: {"invalid": "A date such as 14 Mar 2026."},
    forms.TimeField: {"invalid": "A time of day such as 06:30."},
    forms.DateTimeField: {"invalid": "A date and a time such as 2026-03-14 06:30."},
    forms.IntegerField: {"invalid": "A whole number such as 3."},
    forms.FloatField: {"invalid": NO_NUMBER},
    forms.DecimalField: {"invalid": NO_NUMBER},
    forms.ChoiceField: {"invalid_choice": NONE_OF_THEM},
    forms.ModelChoiceField: {"invalid_choice": NONE_OF_THEM},
    forms.MultipleChoiceField: {"invalid_choice": NONE_OF_THEM, "invalid_list": NONE_OF_THEM},
    forms.UUIDField: {"invalid": LATE_PAGE},
    forms.FileField: {
        "invalid": NO_FILE,
        "missing": NO_FILE,
        "empty": "This file is empty: choose another one.",
        "max_length": "The name of this file is %(length)d characters long: shorten it to %(max)d.",
        "contradiction": "Choose a file or take the old one away, not both.",
    },
}  # fmt: skip
"""By kind of field; a kind not named here says what the kind it comes from says."""

LIMITS: Mapping[type[validators.BaseValidator], str] = {
    validators.MinValueValidator: "At least %(limit_value)s.",
    validators.MaxValueValidator: "At most %(limit_value)s.",
    validators.MinLengthValidator: "At least %(limit_value)d characters; these are %(show_value)d.",
    validators.MaxLengthValidator: "At most %(limit_value)d characters; these are %(show_value)d.",
}
DIGITS = {
    "invalid": NO_NUMBER,
    "max_digits": "At most %(max)s figures.",
    "max_decimal_places": "At most %(max)s figures after the point.",
    "max_whole_digits": "At most %(max)s figures before the point.",
}
NO_MAIL = "An e-mail address such as office@example.com."
UNSEEN = "Something in here cannot be seen: type it anew."


def word_errors() -> None:
    """Let every form made from now on say what is wrong in these words."""
    for field, words in FIELDS.items():
        field.default_error_messages = {**vars(field).get("default_error_messages", {}), **words}
    for limit, text in LIMITS.items():
        limit.message = text
    validators.DecimalValidator.messages = dict(DIGITS)
    validators.EmailValidator.message = NO_MAIL
    validators.ProhibitNullCharactersValidator.message = UNSEEN
