"""What it costs to read a coach's sentence, beside an empty log page: both whole requests, with a large catalogue."""

import uuid
from typing import Any

from django.test import Client
from django.urls import reverse
from django.utils import timezone

from coachbook.accounts.models import Academy, Care, Student, User
from coachbook.demo.baselines.loop import Pair
from lessons.models import Fault, Skill

SKILLS = 300
SENTENCE = (
    "ball position fine, a bit on the heels, rushes the change of direction; by the end it was smoother;"
    " his brother scoops; leave the grip alone; we work on the rushing, two weeks of the ladder"
)


def add_skills(count: int) -> None:
    """Skills of an academy's own, each with two faults, until there are so many."""
    for number in range(Skill.objects.count(), count):
        words = {"name": f"Own look {number}", "look": "Look at it.", "goal": "As it should be.", "position": number}
        skill = Skill.objects.create(code=f"own-{number}", area="putting", phase="motion", **words)
        for name in ("Early", "Late"):
            fault = {"name": f"{name} look {number}", "goal": "In time", "plain": "Wait for it.", "feel": "Calm."}
            Fault.objects.create(code=f"own-{number}-{name.lower()}", skill=skill, **fault)


def sentence_pair(student: Student) -> Pair:
    """A proposal of a sentence, saving its words included, and an empty log page."""
    add_skills(SKILLS)
    coach = User.objects.get(coach__cares__student=student, coach__cares__role=Care.Role.MAIN)
    client, reader = Client(headers={"HX-Request": "true"}), Client()
    for one in (client, reader):
        one.force_login(coach)
    address = reverse("lesson", args=[student.key, uuid.uuid4()])
    day = Academy.current().today(timezone.now()).isoformat()
    typed = {"page": "bench", "base": "0", "putting": "on", "day": day, "note": SENTENCE, "propose": "1"}

    def propose() -> Any:
        return client.post(address, typed | {"count": "1"})

    def get_page() -> Any:
        return reader.get(reverse("lesson", args=[student.key, uuid.uuid4()]))

    return Pair("sentence / page, at most 2", f"{SKILLS} skills", propose, get_page, are_answered)


def are_answered(proposal: Any, page: Any) -> bool:
    """Whether both are what they should be."""
    return b'name="proposed"' in proposal.content and page.status_code == 200
