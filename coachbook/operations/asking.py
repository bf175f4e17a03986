"""Asks at the terminal what a form needs and no option gave; a value that the form refuses is asked for again."""

import sys
from collections.abc import Callable, Iterable, Mapping
from typing import Any, cast

from django.core.management.base import CommandError
from django.forms import BaseForm, ChoiceField

FormClass = Callable[[dict[str, Any]], BaseForm]


def fill_form(form_class: FormClass, options: Mapping[str, Any], names: Mapping[str, str]) -> Any:
    """A valid form, of the options that were given, its own defaults and, with the option `ask`, what somebody types.

    `names` holds the option of each field. Raises CommandError with a line for each value that is missing or refused.
    """
    values = {field: options[option] for field, option in names.items() if options[option] is not None}
    for name, field in form_class({}).fields.items():
        if name in names and name not in values:
            asked = options["ask"] and field.required
            values[name] = ask_for(form_class, name, values) if asked else str(field.initial or "")
    form = form_class(values)
    if not form.is_valid():
        raise CommandError("\n".join(problems(form, names)))
    return form


def ask_for(form_class: FormClass, name: str, values: Mapping[str, str]) -> str:
    """What somebody types for one field, asked until the form takes it; nothing typed means the default."""
    form = form_class({})
    default = str(form.fields[name].initial or "")
    while True:
        typed = input(f"{label_of(form, name)}{f' [{default}]' if default else ''}: ").strip() or default
        errors = form_class({**values, name: typed}).errors.get(name)
        if not errors:
            return typed
        sys.stdout.write(f"  {in_words(errors)}\n")


def label_of(form: BaseForm, name: str) -> str:
    """What a field is called, with its choices."""
    field = form.fields[name]
    choices = cast(Iterable[tuple[str, str]], field.choices) if isinstance(field, ChoiceField) else []
    words = [f"{value} for {label}" if str(label) != str(value) else str(value) for value, label in choices if value]
    return f"{form[name].label} ({', '.join(words)})" if words else str(form[name].label)


def problems(form: BaseForm, names: Mapping[str, str]) -> list[str]:
    """A line for each thing that is wrong, by the name of its option."""
    options = {field: f"--{option.replace('_', '-')}" for field, option in names.items()}
    return [f"{options.get(name, name)}: {in_words(errors)}" for name, errors in form.errors.items()]


def in_words(errors: Iterable[Any]) -> str:
    """Messages as one line."""
    return " ".join(str(error) for error in errors)
