"""The pages of skills and faults: a coach's own, what is offered to the academy, and what a manager does with it."""

import re
from collections.abc import Callable
from html import unescape
from typing import Any

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone

from coachbook.accounts.models import Coach
from drills.library.editing.words import as_typed
from lessons.joined import read_skills
from lessons.models import Fault, Focus, Outcome, Skill
from tests.conftest import Cast
from tests.make import make_fault, make_manager, make_skill, this_time
from tests.test_derived import show, taught

Clients = Callable[[str], Client]
SKILL = {
    "name": "Calm [lead] wrist",
    "look": "The [lead] wrist.",
    "goal": "It stays flat.",
    "phase": "motion",
    "child": "on",
}
FAULT = {
    "name": "[Lead] wrist shakes",
    "goal": "A calm wrist",
    "plain": "Keep your [lead] wrist calm.",
    "feel": "A cup on it.",
    "costs": ["pace"],
}


@pytest.fixture
def grip(cast: Cast) -> Skill:
    return make_skill("putting-grip", name="Grip")


@pytest.fixture
def apart(grip: Skill) -> Fault:
    return make_fault(grip, "hands-apart", name="Hands apart", costs=["pace"])


def page(row: Skill | Fault, what: str = "") -> str:
    kind = "skill" if isinstance(row, Skill) else "fault"
    name = f"skill_row{'_' * bool(what)}{what}" if what in ("", "edit") else f"row_{what}"
    return reverse(name, args=[kind, row.code])


def words(answer: Any) -> str:
    html = answer.content.decode().split("<main")[1].split("</main")[0]
    return unescape(re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", html)))


def errors(answer: Any, name: str) -> list[str]:
    """The messages beside one field; the answer to a form that is not valid."""
    assert answer.status_code == 422
    return [str(message) for message in answer.context["form"][name].errors]


def own_skill(coach: Coach, **values: Any) -> Skill:
    return make_skill(owner=coach, **{"name": "Own wrist", **values})


# --- A coach's own ---------------------------------------------------------------------------------


def test_a_coach_adds_a_skill_and_a_fault_of_their_own(cast: Cast, as_: Clients, grip: Skill) -> None:
    client = as_("coach")
    assert client.get(reverse("skill_new")).status_code == 200  # it asks for the area
    added = client.post(reverse("skill_new") + "?area=chipping", SKILL, follow=True)
    skill = Skill.objects.get(owner=cast.coach)
    assert added.status_code == 200 and "Saved: Calm lead wrist." in added.content.decode()
    assert (skill.area, skill.name, skill.code) == ("chipping", "Calm {lead} wrist", "own-calm-lead-wrist")
    client.post(reverse("fault_new", args=[skill.code]), FAULT | {"skill": skill.code})
    client.post(reverse("fault_new", args=[grip.code]), FAULT | {"skill": grip.code, "name": "Thumbs cross"})
    assert set(Fault.objects.values_list("name", "skill", "owner")) == {
        ("{Lead} wrist shakes", skill.pk, cast.coach.pk),
        ("Thumbs cross", grip.pk, cast.coach.pk),
    }
    offered = {skill.name: [fault.name for fault in skill.faults.all()] for skill in read_skills(cast.coach)}
    assert offered == {"Calm {lead} wrist": ["{Lead} wrist shakes"], "Grip": ["Thumbs cross"]}
    assert [skill.name for skill in read_skills(cast.other_coach)] == ["Grip"]


def test_its_page_shows_the_words_for_both_sides(cast: Cast, as_: Clients, grip: Skill) -> None:
    fault = make_fault(grip, owner=cast.coach, plain="Keep your {lead} wrist calm.")
    text = words(as_("coach").get(page(fault)))
    assert "Keep your left wrist calm." in text and "Keep your right wrist calm." in text
    typed = FAULT | {"skill": grip.code, "plain": "Show the [trail] palm", "preview": "1"}
    shown = as_("coach").post(page(fault, "edit"), typed)
    assert shown.status_code == 200
    assert "Show the right palm" in words(shown) and "Show the left palm" in words(shown)
    fault.refresh_from_db()
    assert fault.plain == "Keep your {lead} wrist calm."  # a preview saves nothing


def test_others_do_not_find_what_is_a_coachs_own(cast: Cast, as_: Clients, grip: Skill) -> None:
    skill = own_skill(cast.coach)
    fault = make_fault(grip, name="Own thumbs", owner=cast.coach)
    for actor, status in (("coach", 200), ("manager", 200), ("other_coach", 404), ("student", 403)):
        for row in (skill, fault):
            assert as_(actor).get(page(row)).status_code == status, actor
    shown = {actor: words(as_(actor).get(reverse("skills"))) for actor in ("coach", "manager", "other_coach")}
    for name in ("Own wrist", "Own thumbs"):
        assert name in shown["coach"] and name in shown["manager"] and name not in shown["other_coach"]
    assert as_("other_coach").post(page(fault, "edit"), FAULT).status_code == 404
    assert as_("manager").post(page(fault, "edit"), FAULT).status_code == 403
    assert as_("manager").post(page(fault, "merge"), {"into": "x"}).status_code == 403


def test_a_coach_only_reads_what_is_the_academys(as_: Clients, apart: Fault) -> None:
    client = as_("coach")
    assert "Change" not in words(client.get(page(apart))).split("Words")[0]
    for what in ("edit", "archive", "restore", "offer", "keep", "take_in", "give_back", "move", "merge", "unmerge"):
        assert client.post(page(apart, what)).status_code == 403, what


def test_the_record_of_a_shared_student_shows_the_names_that_were_used(cast: Cast, as_: Clients) -> None:
    fault = make_fault(own_skill(cast.coach), name="Own thumbs", owner=cast.coach)
    lesson = taught(cast.student, cast, 3, "m-", fault)
    assert "Own thumbs" in words(as_("cover").get(reverse("lesson", args=[cast.student.key, lesson.key])))


# --- What cannot be ---------------------------------------------------------------------------------


WRONG_WITH_A_FAULT: list[tuple[dict[str, Any], str, str]] = [
    ({"name": ""}, "name", "This field is required."),
    ({"name": "  HANDS  apart"}, "name", "There is already a fault with this name in this area."),
    ({"plain": ""}, "plain", "This field is required."),
    ({"feel": "Your [leed] wrist"}, "feel", "“[leed]” is not known."),
    ({"feel": "Your {handle} wrist"}, "feel", "“{handle}” is not known."),
    ({"feel": "Your [lead wrist"}, "feel", "A bracket stands alone."),
    ({"plain": "Keep the trail elbow in"}, "plain", "Without brackets a student of either side reads “trail”"),
    ({"costs": []}, "costs", "Choose what it costs"),
    ({"house_wish": "on"}, "costs", "A preference costs nothing"),
    ({"skill": "chip"}, "skill", "A fault stays in its area: choose a skill of putting."),
    ({"skill": "nothing"}, "skill", "A fault stays in its area: choose a skill of putting."),
    ({"name": "x" * 81}, "name", "at most 80 characters"),
]


def test_what_is_wrong_with_a_fault_is_said_beside_its_field(cast: Cast, as_: Clients, apart: Fault) -> None:
    client, fault = as_("coach"), make_fault(apart.skill, owner=cast.coach)
    make_skill("chip", area="chipping")
    for typed, name, message in WRONG_WITH_A_FAULT:
        posted = FAULT | {"skill": apart.skill.code, "edition": "0"} | typed
        answer = client.post(page(fault, "edit"), posted)
        (found,) = errors(answer, name)
        assert message in found, typed
        shown = answer.context["form"]
        for field, value in posted.items():
            if field not in ("edition", "house_wish"):
                assert shown[field].value() == (as_typed(value) if isinstance(value, str) else value), (typed, field)
    fault.refresh_from_db()
    assert (fault.name, fault.edition) == ("Hands apart", 0)


def test_what_is_wrong_with_a_skill_is_said_beside_its_field(cast: Cast, as_: Clients, grip: Skill) -> None:
    where = reverse("skill_new") + "?area=putting"
    for typed, name in (({"name": "grip"}, "name"), ({"look": ""}, "look"), ({"phase": "late"}, "phase")):
        assert errors(as_("coach").post(where, SKILL | typed), name)
    own_skill(cast.other_coach, name="Hidden wish")
    assert (
        as_("coach").post(where, SKILL | {"name": "Hidden wish"}).status_code == 302
    )  # nobody tells that another has it
    assert as_("coach").post(reverse("skill_new") + "?area=bowls", SKILL).status_code == 422


def test_words_of_a_side_are_put_in_brackets_at_a_tap_or_are_meant(cast: Cast, as_: Clients, grip: Skill) -> None:
    fault, client = make_fault(grip, owner=cast.coach), as_("coach")
    typed = FAULT | {"skill": grip.code, "edition": "0", "plain": "Keep the trail elbow in"}
    put = client.post(page(fault, "edit"), typed | {"brackets": "1"})
    assert put.context["form"]["plain"].value() == "Keep the [trail] elbow in"
    assert client.post(page(fault, "edit"), typed | {"is_meant": "on"}).status_code == 302
    fault.refresh_from_db()
    assert fault.plain == "Keep the trail elbow in"


def test_the_second_of_two_who_edit_one_row_loses_nothing(as_: Clients, apart: Fault) -> None:
    client, where = as_("manager"), page(apart, "edit")
    base = {"skill": apart.skill.code, "edition": "0"}
    client.post(where, FAULT | base | {"feel": "First words"})
    answer = client.post(where, FAULT | base | {"feel": "Second words"})
    text = words(answer)
    assert answer.status_code == 422 and "First words" in text and "Second words" in text
    assert answer.context["form"]["feel"].value() == "Second words"
    apart.refresh_from_db()
    assert (apart.feel, apart.edition) == ("First words", 1)
    again = {"edition": answer.context["edition"]}
    assert client.post(where, FAULT | base | again | {"feel": "Second words"}).status_code == 302
    apart.refresh_from_db()
    assert (apart.feel, apart.edition) == ("Second words", 2)


# --- Offered to the academy -------------------------------------------------------------------------


def test_an_offer_is_taken_in_with_the_faults_of_a_skill(cast: Cast, as_: Clients, grip: Skill) -> None:
    skill = own_skill(cast.coach)
    fault = make_fault(skill, name="Own thumbs", owner=cast.coach)
    as_("coach").post(page(skill, "offer"))
    assert "Own wrist" in words(as_("manager").get(reverse("skills") + "?area=bunker"))  # whatever area is shown
    as_("manager").post(page(skill, "take_in"))
    for row in (skill, fault):
        row.refresh_from_db()
        assert (row.owner, row.offered_at) == (None, None)
    assert skill.position > grip.position
    assert as_("coach").post(page(skill, "edit"), SKILL).status_code == 403  # it is the academy's now


def test_a_fault_goes_with_its_skill(cast: Cast, as_: Clients) -> None:
    fault = make_fault(own_skill(cast.coach), owner=cast.coach)
    answer = as_("coach").post(page(fault, "offer"), follow=True)
    fault.refresh_from_db()
    assert "offer the skill" in answer.content.decode() and fault.offered_at is None


def test_an_offer_is_given_back_with_a_word(cast: Cast, as_: Clients, grip: Skill) -> None:
    fault = make_fault(grip, name="Own thumbs", owner=cast.coach, offered_at=timezone.now())
    assert errors(as_("manager").post(page(fault, "give_back"), {"word": " "}), "word")
    fault.refresh_from_db()
    assert fault.offered_at
    as_("manager").post(page(fault, "give_back"), {"word": "We have that one already."})
    fault.refresh_from_db()
    assert (fault.owner, fault.offered_at) == (cast.coach, None)
    assert "We have that one already." in words(as_("coach").get(page(fault)))
    as_("coach").post(page(fault, "offer"))
    assert "We have that one already." not in words(as_("coach").get(page(fault)))
    as_("coach").post(page(fault, "keep"))
    assert as_("manager").post(page(fault, "take_in")).status_code == 403


def test_an_offer_with_a_name_of_the_academys_is_not_taken_in(cast: Cast, as_: Clients, apart: Fault) -> None:
    skill = own_skill(cast.coach, offered_at=timezone.now())
    make_fault(skill, name="Hands apart", owner=cast.coach)
    answer = as_("manager").post(page(skill, "take_in"), follow=True)
    skill.refresh_from_db()
    assert "has a fault named Hands apart already" in answer.content.decode()
    assert skill.owner == cast.coach


# --- What a manager does -----------------------------------------------------------------------------


def test_a_manager_renames_orders_archives_and_brings_back(cast: Cast, as_: Clients, apart: Fault) -> None:
    client, grip = as_("manager"), apart.skill
    stance = make_skill("putting-stance", name="Stance")
    assert client.post(page(grip, "edit"), SKILL | {"name": "Holding it", "edition": "0"}).status_code == 302
    client.post(page(stance, "move"), {"up": "1"})
    assert list(Skill.objects.order_by("position").values_list("name", flat=True)) == ["Stance", "Holding it"]
    client.post(page(stance, "move"), {"down": "1"})
    client.post(page(stance, "move"), {"down": "1"})  # it is the last already
    assert [skill.name for skill in read_skills()] == ["Holding it", "Stance"]
    squeeze = make_fault(grip, "squeeze", name="Squeezing")
    client.post(page(squeeze, "move"), {"up": "1"})
    assert [fault.name for fault in read_skills()[0].faults.all()] == ["Squeezing", "Hands apart"]
    taught(cast.student, cast, 3, "m-", apart)
    client.post(page(apart, "archive"))
    assert [fault.name for fault in read_skills()[0].faults.all()] == ["Squeezing"]
    assert Fault.objects.filter(pk=apart.pk).exists()
    make_fault(grip, name="Hands apart")
    assert "Another has this name" in client.post(page(apart, "restore"), follow=True).content.decode()
    Fault.objects.exclude(pk=apart.pk).filter(name="Hands apart").update(archived=True)
    client.post(page(apart, "restore"))
    assert {fault.name for fault in read_skills()[0].faults.all()} == {"Squeezing", "Hands apart"}


def test_a_fault_is_put_under_another_skill_and_counts_there(cast: Cast, as_: Clients, apart: Fault) -> None:
    stance = make_skill("putting-stance", name="Stance")
    taught(cast.student, cast, 10, "ms", apart)
    lesson = taught(cast.student, cast, 3, "--", apart)
    show(lesson, "arrival", "c", make_fault(stance, name="Too wide"))
    as_("manager").post(page(apart, "edit"), FAULT | {"skill": stance.code, "edition": "0", "name": "Hands apart"})
    assert Fault.objects.get(pk=apart.pk).skill == stance
    assert [(row.fault, row.verdict) for row in Outcome.objects.all()] == [(apart, "held")]


def test_a_merge_shows_what_it_touches_and_is_taken_back(cast: Cast, as_: Clients, apart: Fault) -> None:
    client = as_("manager")
    split = make_fault(apart.skill, "split", name="Hands split")
    for days_ago, letters in ((20, "mc"), (10, "c-")):
        lesson = taught(cast.student, cast, days_ago, letters, split)
    Focus.objects.create(student=cast.student, slot=1, area="putting", fault=split, opened_in=lesson)
    text = words(client.get(page(split, "merge"), {"into": apart.code}))
    assert "1 lesson was logged with Hands split" in text and "1 open focus is on it" in text
    assert Fault.objects.get(pk=split.pk).merged_into is None  # a page that is read changes nothing
    client.post(page(split, "merge"), {"into": apart.code})
    split.refresh_from_db()
    assert (split.merged_into, split.archived) == (apart, True)
    assert [row.fault for row in Outcome.objects.all()] == [apart]
    client.post(page(split, "unmerge"))
    split.refresh_from_db()
    assert (split.merged_into, split.archived) == (None, False)
    assert [row.fault for row in Outcome.objects.all()] == [split]


def test_a_merge_of_skills_says_how_many_faults_go_along(cast: Cast, as_: Clients, apart: Fault) -> None:
    hold = make_skill("hold", name="Hold")
    make_fault(hold, name="Too tight")
    text = words(as_("manager").get(page(hold, "merge"), {"into": apart.skill.code}))
    assert "0 lessons were logged with Hold" in text and "1 fault stands with Grip from then on" in text
    as_("manager").post(page(hold, "merge"), {"into": apart.skill.code})
    assert [fault.name for fault in read_skills()[0].faults.all()] == ["Hands apart", "Too tight"]
    text = words(as_("manager").get(page(make_fault(apart.skill), "merge"), {"into": "hands-apart"}))
    assert "belongs to another skill" not in text
    other = make_fault(make_skill(name="Stance"), name="Too wide")
    assert "belongs to another skill" in words(as_("manager").get(page(other, "merge"), {"into": "hands-apart"}))


def test_a_merge_that_cannot_be_is_refused_beside_its_field(cast: Cast, as_: Clients, apart: Fault) -> None:
    client = as_("manager")
    split = make_fault(apart.skill, "split", name="Hands split")
    merged = make_fault(apart.skill, "merged", name="Hands part")
    merged.merge_into(split)
    make_fault(apart.skill, "gone", name="Gone", archived=True)
    make_fault(make_skill(area="chipping", name="Chip grip"), "chip", name="Chip hands")
    make_fault(apart.skill, "own", name="Own", owner=cast.coach)
    for code, message in (
        ("split", "cannot be merged into itself"),
        ("merged", "Hands part was merged into this one. Undo that first."),
        ("chip", "belongs to chipping"),
        ("gone", "Gone is archived"),
        ("own", "Choose one of the academy’s"),
        ("nothing", "Choose one of the academy’s"),
        ("", "This field is required."),
    ):
        (found,) = errors(client.post(page(split, "merge"), {"into": code}), "into")
        assert message in found, code
    assert Fault.objects.get(pk=split.pk).merged_into is None
    assert client.get(page(merged, "merge")).status_code == 200  # it says what it was merged into
    assert client.post(page(merged, "merge"), {"into": "hands-apart"}).status_code == 302
    assert Fault.objects.get(pk=merged.pk).merged_into == split


def test_a_merge_is_not_taken_back_while_another_has_its_name(as_: Clients, apart: Fault) -> None:
    split = make_fault(apart.skill, "split", name="Hands split")
    split.merge_into(apart)
    Fault.objects.filter(pk=apart.pk).update(name="Hands split")
    answer = as_("manager").post(page(split, "unmerge"), follow=True)
    assert "Another has this name" in answer.content.decode()
    assert Fault.objects.get(pk=split.pk).merged_into == apart


def test_an_offered_fault_is_merged_into_the_academys(cast: Cast, as_: Clients, apart: Fault) -> None:
    own = make_fault(apart.skill, name="My hands", owner=cast.coach, offered_at=this_time(days_ago=1))
    as_("manager").post(page(own, "merge"), {"into": apart.code})
    own.refresh_from_db()
    assert (own.merged_into, own.offered_at, own.owner) == (apart, None, cast.coach)
    assert "Undo the merge" in words(as_("manager").get(page(own)))
    assert own not in {fault for skill in read_skills(cast.coach) for fault in skill.faults.all()}
    as_("manager").post(page(own, "unmerge"))
    own.refresh_from_db()
    assert (own.merged_into, own.archived) == (None, False)


def test_a_manager_who_coaches_adds_their_own_and_a_manager_alone_the_academys(cast: Cast, as_: Clients) -> None:
    make_manager(cast.other_coach.user)
    for actor, name, owner in (("manager", "First", None), ("other_coach", "Second", cast.other_coach)):
        as_(actor).post(reverse("skill_new") + "?area=putting", SKILL | {"name": name})
        assert Skill.objects.get(name=name).owner == owner


def test_its_pages_ask_the_database_no_more_with_more_rows(cast: Cast, as_: Clients, apart: Fault) -> None:
    client = as_("manager")
    pages = [
        reverse("skills"),
        page(apart.skill),
        page(apart),
        page(apart, "edit"),
        page(apart, "merge") + "?into=split",
    ]
    make_fault(apart.skill, "split", name="Hands split")

    def asked() -> list[int]:
        counts = []
        for where in pages:
            with CaptureQueriesContext(connection) as queries:
                assert client.get(where).status_code == 200
            counts.append(len(queries))
        return counts

    asked()
    few = asked()
    for number in range(4):
        skill = own_skill(cast.coach, name=f"Own {number}", offered_at=timezone.now())
        make_fault(skill, name=f"Fault {number}", owner=cast.coach, offered_at=timezone.now())
        make_fault(apart.skill, name=f"More {number}", owner=cast.coach)
        make_fault(apart.skill, name=f"Merged {number}").merge_into(apart)
    assert asked() == few and max(few) <= 12
