"""Asks at the terminal what a form needs and no option gave; a value that the form refuses is asked for again."""

import sys
from collections.abc import Callable, Mapping
from typing import Any

from django.core.management.base import CommandError
from django.forms import BaseForm, ChoiceField

FormClass = Callable[[dict[str, Any]], BaseForm]


def fill_form(form_class: FormClass, given: Mapping[str, str | None], *, ask: bool) -> Any:
    """A valid form, of the options that were given, its own defaults and, with `ask`, what somebody types.

    Raises CommandError with a line for each value that is missing or refused.
    """
    values = {name: value for name, value in given.items() if value is not None}
    for name, field in form_class({}).fields.items():
        if name not in values and name in given:
            asked = ask and field.required
            values[name] = ask_for(form_class, name, values) if asked else str(field.initial or "")
    form = form_class(values)
    if not form.is_valid():
        raise CommandError("\n".join(problems(form, given)))
    return form


def ask_for(form_class: FormClass, name: str, values: Mapping[str, str]) -> str:
    """What somebody types for one field, asked until the form takes it; nothing typed means the default."""
    field = form_class({}).fields[name]
    default = f" [{field.initial}]" if field.initial else ""
    while True:
        typed = input(f"{label_of(form_class({}), name)}{default}: ").strip() or str(field.initial or "")
        errors = form_class({**values, name: typed}).errors.get(name)
        if not errors:
            return typed
        sys.stdout.write(f"  {' '.join(errors)}\n")


def label_of(form: BaseForm, name: str) -> str:
    """What a field is called, with its choices."""
    field = form.fields[name]
    choices = field.choices if isinstance(field, ChoiceField) else []
    words = [f"{value} for {label}" if str(label) != str(value) else str(value) for value, label in choices if value]
    return f"{form[name].label} ({', '.join(words)})" if words else str(form[name].label)


def problems(form: BaseForm, given: Mapping[str, str | None]) -> list[str]:
    """A line for each thing that is wrong, by the name of its option."""
    lines = []
    for name, errors in form.errors.items():
        option = f"--{name.replace('_', '-')}" if name in given else label_of(form, name)
        lines.append(f"{option}: {' '.join(str(error) for error in errors)}")
    return lines
