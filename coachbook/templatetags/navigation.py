"""The menu of a page, and its ways into higher apps."""

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import islice
from typing import Any

from django import template
from django.template.loader import render_to_string
from django.urls import reverse
from django.utils.safestring import SafeString

from coachbook import navigation
from coachbook.family.templatetags.family import has_children
from coachbook.http import Request

register = template.Library()

IN_SIGHT = 2  # links that a phone shows beside Menu: more do not fit 360 px


@dataclass(frozen=True)
class Link:
    """One way to go."""

    label: str
    address: str
    is_here: bool


@dataclass(frozen=True)
class Menu:
    """The links that are always in sight, and the others."""

    first: list[Link]
    more: list[Link]


@register.simple_tag(takes_context=True)
def menu(context: dict[str, Any]) -> Menu:
    """Where the signed-in person can go, the most used first."""
    request: Request = context["request"]
    links = (Link(label, address, request.path == address) for label, address in entries(request))
    return Menu(list(islice(links, IN_SIGHT)), list(links))


def entries(request: Request) -> Iterator[tuple[str, str]]:
    """Labels and addresses by what a person is; somebody may be several."""
    user = request.user
    student = getattr(user, "student", None)
    if user.is_coach:
        yield "Today", reverse("day")
        yield "Students", reverse("students")
    if user.is_manager:
        yield "Caseload", reverse("caseload")
        if not user.is_coach:
            yield "Students", reverse("students")
            yield "Days", reverse("day")
    if student:
        yield "Practice" if user.is_coach else "Today", reverse("today", args=[student.key])
        yield "My page", reverse("student", args=[student.key])
    if not user.is_coach and not user.is_manager and (not student or has_children(request)):
        yield "Your children", reverse("students")
    yield "Drills", reverse("drills")
    if user.is_manager:
        yield "People", reverse("people")


@register.simple_tag
def place(name: str, *args: Any) -> str:
    """The address of a page in a higher app: `{% place "student" student.key %}`."""
    return navigation.address(name, *args)


@register.simple_tag(takes_context=True)
def panel(context: template.RequestContext, name: str) -> SafeString:
    """A part of this page that a higher app draws, with the page's own context."""
    values = {str(key): value for key, value in context.flatten().items()}
    return render_to_string(navigation.PANELS[name], values)
