"""Where a page may lead beyond its own app: the only names of addresses that point upward.

A template or view names the addresses of its own app and of those below it. For all others it asks here, so that each
app stays a whole that the apps above are built on. tests/test_navigation.py holds it.
"""

from typing import Any

from django.urls import reverse

# Pages of higher apps that lower ones lead to.
PLACES = frozenset({
    "academy_file",
    "age_ask",
    "attention",
    "brief",
    "care",
    "caseload",
    "changes",
    "day",
    "designs",
    "family_calendar",
    "group",
    "group_new",
    "hand_over",
    "lesson",
    "lesson_move",
    "long_gone",
    "mails",
    "messages",
    "person_access_ask",
    "person_close",
    "person_reopen",
    "pictures",
    "progress",
    "references",
    "site_size",
    "student",
    "student_access_ask",
    "student_details",
    "student_merge",
    "student_move",
})  # fmt: skip

# Parts of pages that a higher app draws on those of a lower one.
PANELS = {
    "approvals": "corrections/approvals/notices.html",
    "care_notes": "caseload/care/notes.html",
    "closed_focuses": "corrections/parts/closed_focuses.html",
    "earlier_groups": "groups/parts/earlier.html",
    "group_of_slot": "groups/parts/of_slot.html",
    "groups_of_day": "groups/parts/of_day.html",
    "lesson_edits": "corrections/parts/lesson_edits.html",
    "own_data": "rights/parts/own_data.html",
    "next_appointment": "diary/parts/next.html",
    "on_their_own": "loop/students/on_their_own.html",
    "planned_erasure": "rights/parts/planned_erasure.html",
    "unread": "family/parts/unread.html",
    "second_person": "corrections/approvals/second_person.html",
}


def address(place: str, *args: Any) -> str:
    """The address of a page in a higher app; a KeyError for one that is not listed."""
    if place not in PLACES:
        raise KeyError(f"{place} is no place of coachbook/navigation.py")
    return reverse(place, args=args)
