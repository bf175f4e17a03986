"""How every form of the site is drawn, and answered when something in it cannot be."""

from collections.abc import Iterable
from typing import Any, cast

from django import forms
from django.db.models import QuerySet
from django.forms.renderers import TemplatesSetting
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render


class PageRenderer(TemplatesSetting):
    """Forms and fields as our own templates draw them: summary first, message beside the field."""

    form_template_name = "forms/form.html"
    formset_template_name = "forms/formset.html"
    field_template_name = "forms/field.html"


def offer(form: forms.BaseForm, name: str, choices: Iterable[Any]) -> None:
    """Let a choice field offer these."""
    cast(forms.ChoiceField, form.fields[name]).choices = list(choices)


def choose_among(form: forms.BaseForm, name: str, rows: QuerySet[Any]) -> None:
    """Let a field for a row offer these rows."""
    cast("forms.ModelChoiceField[Any]", form.fields[name]).queryset = rows


def render_form(
    request: HttpRequest, template: str, form: forms.BaseForm, context: dict[str, Any] | None = None
) -> HttpResponse:
    """The page with its form: 422 where something typed cannot be, with all of it still there."""
    status = 422 if form.is_bound and form.errors else 200
    return render(request, template, {"form": form, **(context or {})}, status=status)
