"""What a crew says from its phone."""

from __future__ import annotations

from django import forms

from jobs import models

from .storm import SAYABLE

Kind = models.DayLog.Kind
BUTTONS = (Kind.STARTED, Kind.DONE, Kind.PART, Kind.NOT_TODAY, Kind.NOTE)


class TapForm(forms.Form):
    """A button pressed for one work; ``at`` is when, by the phone's clock, where it was kept for later."""

    client = forms.UUIDField()
    kind = forms.ChoiceField(choices=[(kind.value, kind.label) for kind in BUTTONS])
    share = forms.IntegerField(required=False, min_value=1, max_value=99)
    cause = forms.ChoiceField(choices=[("", "no reason given"), *SAYABLE], required=False)
    note = forms.CharField(required=False, max_length=400)
    at = forms.DateTimeField(required=False)


class PhotoForm(forms.Form):
    """A photo of a yard, and what it shows."""

    client = forms.UUIDField()
    file = forms.FileField(max_length=200)
    note = forms.CharField(required=False, max_length=400)


class RainedForm(forms.Form):
    """Everything left today is rained out."""

    client = forms.UUIDField()
    at = forms.DateTimeField(required=False)
