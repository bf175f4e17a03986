"""What all forms of the site share: their templates, their choices, and the answer to an invalid form."""

from collections.abc import Iterable
from typing import TYPE_CHECKING, Any, cast

from django import forms
from django.core.exceptions import ValidationError
from django.db.models import QuerySet
from django.forms.renderers import TemplatesSetting
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

LONGEST_KEY = 18  # digits; a row number of 64 bits has no more that are sure to fit


class FormRenderer(TemplatesSetting):
    """Renders forms and fields with our own templates: a summary of errors first, each message beside its field."""

    form_template_name = "forms/form.html"
    formset_template_name = "forms/formset.html"
    field_template_name = "forms/field.html"


LONGEST_TEXT = 4000  # letters, where no row of the database sets a shorter length


class LongTextField(forms.CharField):
    """A text of some lines. One that is too long is refused and stays on the page; a browser would cut it off."""

    widget = forms.Textarea

    def __init__(self, *, max_length: int | None = None, **kwargs: Any) -> None:
        super().__init__(max_length=max_length or LONGEST_TEXT, **kwargs)

    def widget_attrs(self, widget: forms.Widget) -> dict[str, Any]:
        """No `maxlength`."""
        return {name: value for name, value in super().widget_attrs(widget).items() if name != "maxlength"}


if TYPE_CHECKING:  # Django's fields take no type at run time
    ModelMultipleChoiceField = forms.ModelMultipleChoiceField[Any]
else:
    ModelMultipleChoiceField = forms.ModelMultipleChoiceField


class RowsField(ModelMultipleChoiceField):
    """A choice of several rows; a number that is too great for a database is no choice."""

    def clean(self, value: Any) -> Any:
        """The rows that were chosen."""
        for key in value or ():
            if len(str(key)) > LONGEST_KEY:
                raise ValidationError(self.error_messages["invalid_choice"], "invalid_choice", {"value": key})
        return super().clean(value)


def set_choices(form: forms.BaseForm, name: str, choices: Iterable[Any]) -> None:
    """Set the choices of a field."""
    cast(forms.ChoiceField, form.fields[name]).choices = list(choices)


def set_queryset(form: forms.BaseForm, name: str, rows: QuerySet[Any]) -> None:
    """Set the rows from which a field for a row offers a choice."""
    cast("forms.ModelChoiceField[Any]", form.fields[name]).queryset = rows


def render_form(
    request: HttpRequest, template: str, form: forms.BaseForm, context: dict[str, Any] | None = None
) -> HttpResponse:
    """The page with its form: status 422 where the form is invalid, with everything typed still in it."""
    status = 422 if form.is_bound and form.errors else 200
    return render(request, template, {"form": form, **(context or {})}, status=status)
