"""The rows of a log. Nearly all are blank, and a blank row is the same in every log: it is rendered once.

A page for the coach who taught the lesson leaves them out, and a phone fetches them all together, once: they are at an
address that holds a digest of them, so that the browser may keep them. Without a script a button brings the whole page.
"""

import hashlib
from collections.abc import Iterable
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Any, Self

from django.template.loader import render_to_string
from django.utils.safestring import SafeString

from coachbook.accounts.models import Coach
from coachbook.loop.log.rows import BLANK, LookRow, SkillRow
from lessons.log import NoteVisibility
from lessons.models import Fault, Skill
from lessons.observations import ObservationValues

KEPT = 1000  # rendered rows: several times the skills of a large catalogue
LASTS = "private, max-age=31536000, immutable"
blank_rows: dict[tuple[Any, ...], SafeString] = {}


@dataclass(frozen=True)
class Choices:
    """The blank rows of a coach's own lessons at looks of one kind, as HTML by the code of their skill."""

    rows: dict[str, SafeString]

    @classmethod
    def of(cls, coach: Coach, skills: Iterable[Skill], looks: str) -> Self:
        """Those of the skills and faults that are offered to a coach; `looks` are the letters of the looks."""
        visibility = NoteVisibility(taught=True, manages=False, coach=coach.user.name)
        unseen = replace(BLANK, reader=visibility.default_reader)
        rows = [blank_of(skill, coach, looks, unseen) for skill in skills if is_offered(skill, coach)]
        return cls({row.skill.code: blank_skill(row, visibility) for row in rows})

    @property
    def digest(self) -> str:
        """A word that changes with any of them: the first half of a SHA-256."""
        text = "".join(f"{code}\0{row}\0" for code, row in sorted(self.rows.items()))
        return hashlib.sha256(text.encode()).hexdigest()[:32]


def blank_of(skill: Skill, coach: Coach, looks: str, unseen: ObservationValues) -> SkillRow:
    """A skill of which nothing is recorded, with the faults that are offered to a coach."""
    faults = [fault for fault in skill.faults.all() if is_offered(fault, coach)]
    return SkillRow(skill, [LookRow(skill, letter, unseen) for letter in looks], faults)


def is_offered(row: Skill | Fault, coach: Coach) -> bool:
    """Whether a coach may choose a row: one of the academy's or their own that is not archived."""
    return row.owner_id in (None, coach.pk) and not row.archived


@lru_cache(maxsize=KEPT)
def bare_skill(code: str, name: str) -> SafeString:
    """The HTML of a skill whose row is to be fetched."""
    return render_to_string("loop/log/bare_skill.html", {"code": code, "name": name})


def blank_skill(row: SkillRow, visibility: NoteVisibility) -> SafeString:
    """The HTML of a blank row."""
    content = content_of(row, visibility)
    if content not in blank_rows:
        if len(blank_rows) >= KEPT:
            blank_rows.clear()
        blank_rows[content] = render_skill(row, visibility)
    return blank_rows[content]


def render_skill(row: SkillRow, visibility: NoteVisibility, *, is_asked: bool = False) -> SafeString:
    """The HTML of a row; unfolded where it was asked for."""
    context = {"row": row, "visibility": visibility, "is_asked": is_asked}
    return render_to_string("loop/log/skill.html", context)


def content_of(row: SkillRow, visibility: NoteVisibility) -> tuple[Any, ...]:
    """All that the HTML of a blank row is made of."""
    skill = row.skill
    faults = tuple((fault.code, fault.name) for fault in row.faults)
    words = (skill.code, skill.name, skill.look, skill.goal, skill.measure, skill.measured)
    looks = tuple(look.letter for look in row.looks)
    return (words, faults, looks, tuple(visibility.choices), visibility.default_reader)
