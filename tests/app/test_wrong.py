"""What a form says of what was typed wrongly: the house's words, whatever the field."""

from __future__ import annotations

from importlib import import_module
from inspect import isclass
from pkgutil import iter_modules
from typing import TYPE_CHECKING

import pytest
from django import forms
from django.utils.functional import Promise

import crews.forms
import jobs.forms
from jobs.forms.fields import day_field

if TYPE_CHECKING:
    from collections.abc import Iterator


def fields() -> Iterator[tuple[str, forms.Field]]:
    """Every field that a form of the house declares, and where."""
    for package in (jobs.forms, crews.forms):
        for found in iter_modules(package.__path__):
            module = import_module(f"{package.__name__}.{found.name}")
            for form in vars(module).values():
                if isclass(form) and issubclass(form, forms.BaseForm):
                    for name, field in form.base_fields.items():
                        yield f"{form.__name__}.{name}", field


def test_no_field_speaks_in_words_of_the_framework():
    """Its words are translated late, ours are plain text: that tells them apart."""
    seen = {
        where: (messages, [getattr(one, "message", "") for one in field.validators])
        for where, field in fields()
        for messages in [field.error_messages]
    }
    assert len(seen) > 100
    assert not {
        where
        for where, (messages, limits) in seen.items()
        if any(isinstance(text, Promise) for text in [*messages.values(), *limits])
    }


@pytest.mark.parametrize(
    ("field", "typed", "said"),
    [
        (day_field(), "soon", "A date such as 14 Mar 2026."),
        (forms.TimeField(), "early", "A time of day such as 06:30."),
        (forms.IntegerField(), "two", "A whole number such as 3."),
        (forms.IntegerField(min_value=1), "0", "At least 1."),
        (forms.IntegerField(max_value=99), "100", "At most 99."),
        (forms.DecimalField(), "half", "A number such as 2.5."),
        (
            forms.DecimalField(max_digits=4, decimal_places=2),
            "0.125",
            "At most 2 figures after the point.",
        ),
        (forms.CharField(max_length=3), "gate", "At most 3 characters; these are 4."),
        (forms.CharField(), "", "This is missing: fill it in or choose one."),
        (
            forms.ChoiceField(choices=[("a", "A")]),
            "b",
            "This is none of the choices: choose one of the list.",
        ),
        (
            forms.UUIDField(),
            "x",
            "This page has lost its number: open it again, then say it once more.",
        ),
        (forms.FileField(), None, "This is missing: fill it in or choose one."),
    ],
)
def test_what_is_wrong_is_said_with_what_is_expected(field, typed, said):
    """One sentence for each kind of slip."""
    with pytest.raises(forms.ValidationError) as wrong:
        field.clean(typed)
    assert wrong.value.messages == [said]


@pytest.mark.parametrize(
    ("field", "typed"),
    [
        (day_field(), "14 Mar 2026"),
        (forms.TimeField(), "06:30"),
        (forms.IntegerField(), "3"),
        (forms.DecimalField(), "2.5"),
        (forms.DateTimeField(), "2026-03-14 06:30"),
    ],
)
def test_what_it_proposes_to_write_is_taken(field, typed):
    """The example in the words is one the field understands."""
    example = field.error_messages["invalid"].rpartition("such as ")[2].rstrip(".")
    assert example == typed
    assert field.clean(example) is not None
