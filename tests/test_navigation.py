"""Each app names only its own pages and those of the apps below it; the way up goes through coachbook/navigation.py."""

import ast
import re
from collections.abc import Iterator
from pathlib import Path

import pytest
from django.template.loader import get_template
from django.urls import URLPattern, URLResolver, get_resolver

from coachbook import navigation

ROOT = Path(__file__).parent.parent
# From the lowest to the highest, as in .importlinter; the site's own pages may lead to accounts only.
ORDER = (
    "site", "accounts", "lessons", "drills", "diary", "family", "loop", "groups", "corrections", "caseload", "rights",
    "demo",
)  # fmt: skip
TAG = re.compile(r"\{%\s*(url|include|extends|load)\s+(.+?)\s*%\}", re.DOTALL)
TEMPLATES = sorted(path.relative_to(ROOT) for path in (ROOT / "templates").rglob("*.html"))
MODULES = [
    path.relative_to(ROOT)
    for name in ("coachbook", "lessons", "drills")
    for path in sorted((ROOT / name).rglob("*.py"))
    if "migrations" not in path.parts
]


def app_of(parts: tuple[str, ...]) -> str:
    """The app to which a path or a dotted name belongs."""
    return next((part for part in parts if part in ORDER), "site")


def named_pages(resolver: URLResolver | None = None) -> Iterator[tuple[str, str]]:
    """Every URL name of our own, with the app of its view."""
    for entry in (resolver or get_resolver()).url_patterns:
        if isinstance(entry, URLResolver):
            yield from named_pages(entry)
        elif isinstance(entry, URLPattern) and entry.name:
            yield entry.name, app_of(tuple(entry.callback.__module__.split(".")))


PAGES = dict(named_pages())


def is_upward(source: str, target: str) -> bool:
    allowed = "accounts" if source == "site" else source
    return ORDER.index(target) > ORDER.index(allowed)


def links(text: str) -> Iterator[tuple[str, str]]:
    """What the tags of a template name, each with the app it belongs to."""
    for kind, words in TAG.findall(text):
        if kind == "load":
            yield from ((word, word) for word in words.split() if word in ORDER)
            continue
        quoted = re.match(r"""["']([^"']+)["']""", words)
        if quoted:
            name = quoted[1]
            yield name, PAGES.get(name, "site") if kind == "url" else app_of(tuple(name.split("/")))


@pytest.mark.parametrize("path", TEMPLATES, ids=str)
def test_a_template_names_nothing_of_a_higher_app(path: Path) -> None:
    source = app_of(path.parts[1:])
    upward = [name for name, target in links((ROOT / path).read_text()) if is_upward(source, target)]
    assert upward == []


def pages_named_in(path: Path) -> Iterator[str]:
    """The first words of `reverse` and `redirect`."""
    for node in ast.walk(ast.parse((ROOT / path).read_text())):
        called = node.func if isinstance(node, ast.Call) else None
        if isinstance(called, ast.Name) and called.id in ("reverse", "redirect", "resolve_url"):
            first = node.args[0] if isinstance(node, ast.Call) and node.args else None
            if isinstance(first, ast.Constant) and isinstance(first.value, str):
                yield first.value


@pytest.mark.parametrize("path", [path for path in MODULES if app_of(path.parts) != "site"], ids=str)
def test_a_module_names_no_page_of_a_higher_app(path: Path) -> None:
    source = app_of(path.parts)
    assert [name for name in pages_named_in(path) if is_upward(source, PAGES.get(name, "site"))] == []


def test_an_upward_link_is_found() -> None:
    planted = '{% url "caseload" %} {% include "loop/log/log.html" %} {% load corrections %} {% url \'drill\' code %}'
    assert [name for name, target in links(planted) if is_upward("drills", target)] == [
        "caseload",
        "loop/log/log.html",
        "corrections",
    ]


def used(tag: str) -> set[str]:
    """What all templates ask of a tag of the navigation."""
    texts = ((ROOT / path).read_text() for path in TEMPLATES)
    return {name for text in texts for name in re.findall(rf"""\{{%\s*{tag}\s+["'](\w+)["']""", text)}


def test_every_place_and_panel_exists_and_is_used() -> None:
    in_code = {
        name
        for path in MODULES
        for name in re.findall(r"""navigation\.address\(\s*["'](\w+)["']""", (ROOT / path).read_text())
    }
    assert used("place") | in_code == navigation.PLACES
    assert set(PAGES) >= navigation.PLACES
    assert used("panel") == set(navigation.PANELS)
    for name in navigation.PANELS.values():
        get_template(name)


def test_a_place_that_is_not_listed_is_refused() -> None:
    with pytest.raises(KeyError, match="no place"):
        navigation.address("people")
