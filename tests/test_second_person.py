"""Nobody alone changes who decides for a student, or gets into an account in use: neither a coach nor a manager."""

import re
from collections.abc import Callable
from datetime import timedelta
from typing import Any

import pytest
from django.core import mail
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from coachbook.accounts.models import Consent, Guardianship, Invitation, Student, User
from coachbook.corrections.approvals.asking import age_request, ask
from coachbook.corrections.approvals.deciding import settle_due
from coachbook.corrections.approvals.people import people_concerned
from coachbook.corrections.models import ApprovalRequest, Correction
from coachbook.family.consents import consent_problem, consent_text
from tests.conftest import Cast
from tests.make import (
    PASSWORD,
    academy_today,
    make_consent,
    make_factor,
    make_guardian,
    make_manager,
    make_student,
    make_user,
)
from tests.test_accounts import CHOSEN, invitation_by_code, link_in

Clients = Callable[[str], Client]
SIDES = {f"{area}_side": "right" for area in ("putting", "chipping", "pitching", "bunker")}
ASKERS = ["coach", "manager"]


@pytest.fixture(autouse=True)
def child(cast: Cast) -> Student:
    """The student of the cast is ten, and has one guardian; the cast has one manager."""
    Student.objects.filter(pk=cast.student.pk).update(birth_year=academy_today().year - 10)
    cast.student.refresh_from_db()
    return cast.student


def save_details(client: Client, student: Student, **typed: object) -> Any:
    stored = {"name": student.name, "status": "active", "birth_year": student.birth_year or "", **SIDES}
    return client.post(reverse("student_details", args=[student.key]), {**stored, **typed})


def ask_age(client: Client, student: Student, year: object = "", group: str = "") -> ApprovalRequest:
    """Save another age in the details, press the button of the page that follows, and the request that waits then."""
    page = save_details(client, student, birth_year=year, age_group=group)
    assert page.status_code == 200 and reverse("age_ask", args=[student.key]) in page.content.decode()
    typed = {"birth_year": year, "age_group": group}
    assert client.post(reverse("age_ask", args=[student.key]), typed).status_code == 302
    return ApprovalRequest.objects.waiting().get(kind="age", student=student)


def decide(client: Client, row: ApprovalRequest, decision: str = "approve") -> Any:
    return client.post(reverse("approval_decide", args=[row.key]), {"decision": decision})


def consent(client: Client, student: Student, purpose: str = "photos") -> Any:
    shown = {"text": consent_text(purpose, student)}
    return client.post(reverse("consent_give", args=[student.key, purpose]), shown)


def year_of(student: Student) -> int | None:
    return Student.objects.get(pk=student.pk).birth_year


def merge(client: Client, student: Student, into: Student, **typed: str) -> Any:
    return client.post(reverse("student_merge", args=[student.key]), {"into": into.pk, "ask": "1", **typed})


def second_manager() -> Client:
    client = Client()
    manager = make_user("Rowan Mossgate", is_manager=True)
    make_factor(manager)
    client.force_login(manager)
    return client


# --- The three attacks, by a coach and by a single manager ----------------------------------------


@pytest.mark.parametrize("asker", ASKERS)
@pytest.mark.parametrize("typed", [{"birth_year": 1980}, {"birth_year": "", "age_group": "adult"}])
def test_nobody_alone_makes_an_adult_of_a_child(
    asker: str, typed: dict[str, object], cast: Cast, as_: Clients, child: Student
) -> None:
    page = save_details(as_(asker), child, name="Alder Q. Quimble", **typed).content.decode()
    child.refresh_from_db()
    assert child.name == "Alder Q. Quimble", "other details are saved at once"
    assert child.birth_year == academy_today().year - 10 and child.age_group == ""
    assert "Maud Plumsilk" in page and (asker == "manager" or "Odile Bramblewing" in page), "who will be asked"
    as_(asker).post(reverse("age_ask", args=[child.key]), typed)
    [row] = ApprovalRequest.objects.waiting()
    assert decide(as_(asker), row).status_code == 403
    assert year_of(child) == academy_today().year - 10
    assert as_("guardian").get(reverse("student", args=[child.key])).status_code == 200
    assert consent(as_("student"), child).status_code == 403


@pytest.mark.parametrize("asker", ASKERS)
def test_a_consent_of_a_walk_in_does_not_reach_the_child_into_whom_it_is_merged(
    asker: str, cast: Cast, as_: Clients, child: Student
) -> None:
    child.consents.all().delete()
    walk_in = make_student("Alder again", coach=cast.coach, age_group="adult", walked_in=True)
    make_consent(walk_in, walk_in.user, "sharing")
    Student.objects.filter(pk=child.pk).update(user=None)
    merge(as_(asker), walk_in, child)
    assert Student.objects.get(pk=walk_in.pk).merged_into is None, "account and age differ: a second person is asked"
    decide(as_("guardian"), ApprovalRequest.objects.get())
    assert Student.objects.get(pk=walk_in.pk).merged_into == child
    child.refresh_from_db()
    assert not child.consents.exists() and child.birth_year == academy_today().year - 10
    assert as_("cover").get(reverse("student", args=[child.key])).status_code == 404
    notice = as_("guardian").get(reverse("approval", args=[ApprovalRequest.objects.get().key])).content.decode()
    assert "must be given anew" in notice


def test_a_coach_gets_no_new_link_to_an_account_in_use(cast: Cast, as_: Clients) -> None:
    """An adult student of this coach is also the guardian of another coach's student."""
    adult = make_student("Wren Ashknot", coach=cast.coach, birth_year=1980)
    Guardianship.objects.create(guardian=adult.user, student=cast.other_student)
    typed = {"email": "coach.own@example.org", "username": adult.user.username}
    page = as_("coach").post(reverse("student_invite", args=[adult.key]), typed).content.decode()
    assert "/people/invitation/" not in page and not re.search('class="code"', page)
    assert mail.outbox == [] and not Invitation.objects.exists()
    assert as_("coach").post(reverse("student_access_ask", args=[adult.key]), typed).status_code == 302
    assert User.objects.get(pk=adult.user.pk).email == "" and not Invitation.objects.exists()
    row = ApprovalRequest.objects.get()
    assert decide(as_("coach"), row).status_code == 403
    answer = decide(as_("manager"), row)
    assert answer.status_code == 200 and "coach.own@example.org" in answer.content.decode()
    assert User.objects.get(pk=adult.user.pk).email == "coach.own@example.org"
    assert Client().get(link_in(mail.outbox[-1].body)).status_code == 200


def test_a_single_manager_gets_no_new_link_to_an_account_in_use(cast: Cast, as_: Clients) -> None:
    page = as_("manager").post(reverse("person_link", args=[cast.guardian.key])).content.decode()
    assert "in use" in page and not Invitation.objects.exists()
    as_("manager").post(reverse("person_access_ask", args=[cast.guardian.key]))
    row = ApprovalRequest.objects.get()
    assert decide(as_("manager"), row).status_code == 403
    assert as_("manager").post(reverse("approval_link", args=[row.key])).status_code == 404
    assert not Invitation.objects.exists() and row.takes_effect_at is not None
    assert decide(as_("guardian"), row, "refuse").status_code == 302, "the owner refuses"
    settle_due(cast.academy, timezone.now() + timedelta(days=8))
    assert not Invitation.objects.exists() and ApprovalRequest.objects.get().outcome == "refused"


def test_a_second_account_of_a_single_manager_is_no_second_person(cast: Cast, as_: Clients, child: Student) -> None:
    typed = {"name": "Invented Colleague", "role": "manager", "username": "colleague"}
    link = link_in(as_("manager").post(reverse("person_invite"), typed).content.decode())
    colleague = Client()
    colleague.post(link, CHOSEN)
    make_factor(User.objects.get(username="colleague"))
    row = ask_age(as_("manager"), child, 1980)
    assert decide(colleague, row).status_code == 403 and year_of(child) != 1980
    row.refresh_from_db()
    decide(as_("manager"), row, "withdraw")
    row = ask_age(colleague, child, 1981)
    assert decide(as_("manager"), row).status_code == 403, "nor the other way round"
    third = {"name": "Another Colleague", "role": "manager", "username": "third"}
    Client().post(link_in(colleague.post(reverse("person_invite"), third).content.decode()), CHOSEN)
    concerned = people_concerned(row, cast.academy, academy_today())
    assert [person.name for person in concerned.deciding] == ["Maud Plumsilk"], "a chain of links is one person"


# --- Deciding ---------------------------------------------------------------------------------------


@pytest.mark.parametrize("second", ["guardian", "manager"])
def test_a_second_person_approves_and_it_is_a_correction_which_needs_a_second_person_to_undo(
    second: str, cast: Cast, as_: Clients, child: Student
) -> None:
    before, row = child.birth_year, ask_age(as_("coach"), child, 1980)
    assert decide(as_(second), row).status_code == 302
    assert year_of(child) == 1980
    correction = Correction.objects.get()
    assert (correction.kind, correction.by, correction.student) == ("age", cast.coach.user, child)
    assert "The year of birth was changed" in as_("coach").get(reverse("changes", args=[child.key])).content.decode()
    page = as_("manager").get(reverse("corrections")).content.decode()
    assert f"approved by {cast.user(second).name}" in page
    undo = reverse("correction_undo", args=[child.key, correction.key])
    for asker in ASKERS:
        assert "A second person is asked first" in as_(asker).post(undo).content.decode()
    assert year_of(child) == 1980
    as_("coach").post(undo, {"ask": "1"})
    row = ApprovalRequest.objects.waiting().get()
    assert decide(as_("coach"), row).status_code == 403 and year_of(child) == 1980
    decide(as_("manager"), row)
    assert year_of(child) == before and Correction.objects.get().undone_at is not None


@pytest.mark.parametrize(("year", "group"), [(2, ""), ("", ""), (10, "adult"), (10, "child")])
def test_an_age_that_changes_nothing_is_saved_at_once(year: Any, group: str, as_: Clients, child: Student) -> None:
    born = academy_today().year - year if year else ""
    assert save_details(as_("coach"), child, birth_year=born, age_group=group).status_code == 302
    assert year_of(child) == (born or None) and not ApprovalRequest.objects.exists()


def test_who_comes_of_age_sooner_needs_a_second_person_although_nothing_changes_today(
    as_: Clients, child: Student
) -> None:
    """Else a year written in December makes an adult of a child in January, and nobody was asked."""
    before, born = year_of(child), academy_today().year - 17
    answer = save_details(as_("coach"), child, birth_year=born)
    assert answer.status_code == 200 and year_of(child) == before
    assert f"only until {born + 18} is over" in answer.content.decode()
    ask_age(as_("coach"), child, born)
    assert decide(as_("guardian"), ApprovalRequest.objects.get()).status_code == 302 and year_of(child) == born


def test_a_first_year_of_birth_is_asked_of_the_guardian_where_there_is_one(cast: Cast, as_: Clients) -> None:
    born = academy_today().year - 17
    alone, guarded = (make_student(name, coach=cast.coach) for name in ("Wren Ashknot", "Dilys Harrowbell"))
    make_guardian("Nan Tarkle", guarded)
    assert save_details(as_("coach"), alone, birth_year=born).status_code == 302 and year_of(alone) == born
    assert save_details(as_("coach"), guarded, birth_year=born).status_code == 200 and year_of(guarded) is None


@pytest.mark.parametrize("typed", [{"birth_year": 1980}, {"age_group": "adult"}])
def test_from_unknown_to_adult_needs_a_second_person_and_a_new_student_does_not(
    typed: dict[str, Any], cast: Cast, as_: Clients
) -> None:
    unknown = make_student("Wren Ashknot", coach=cast.coach)
    assert save_details(as_("coach"), unknown, **typed).status_code == 200
    unknown.refresh_from_db()
    assert unknown.is_junior(academy_today())
    answer = save_details(as_("coach"), Student(name="Dilys Harrowbell"), **typed)
    assert answer.status_code == 302 and not Student.objects.get(name="Dilys Harrowbell").is_junior(academy_today())


def test_the_wait_is_shown_to_both_sides_and_gone_once_seen(cast: Cast, as_: Clients, child: Student) -> None:
    row = ask_age(as_("coach"), child, 1980)
    words = "Waiting for a second person"
    own, page = reverse("today", args=[child.key]), reverse("student", args=[child.key])
    shown = [("guardian", own), ("guardian", page), ("coach", page), ("manager", page), ("student", page)]
    for actor, address in [*shown, ("manager", reverse("caseload")), ("manager", reverse("approvals"))]:
        assert words in as_(actor).get(address).content.decode(), (actor, address)
    assert as_("coach").get(reverse("lesson_new", args=[child.key]), follow=True).status_code == 200, "lessons go on"
    assert as_("student").get(reverse("approval", args=[row.key])).status_code == 404
    assert as_("other_coach").get(reverse("approval", args=[row.key])).status_code == 404
    decide(as_("guardian"), row, "refuse")
    assert "Refused by Maud Plumsilk" in as_("coach").get(reverse("day")).content.decode()
    as_("coach").post(reverse("approval_seen", args=[row.key]))
    for actor, address in [("coach", reverse("day")), ("guardian", own), ("student", page)]:
        assert words not in as_(actor).get(address).content.decode()
        assert "Refused by" not in as_(actor).get(address).content.decode()


def test_who_has_seen_it_takes_away_nobody_elses_notice(cast: Cast, as_: Clients, child: Student) -> None:
    row = ask_age(as_("coach"), child, 1980)
    as_("guardian").post(reverse("approval_seen", args=[row.key]))
    unseen = row.notices.filter(seen_at=None).values_list("person", flat=True)
    assert cast.manager.pk in unseen and cast.guardian.pk not in unseen


def test_what_waits_about_one_student_is_not_shown_on_the_page_of_another(
    cast: Cast, as_: Clients, child: Student
) -> None:
    sibling = make_student("Wren Quimble", coach=cast.coach)
    ask_age(as_("coach"), child, 1980)
    for student, is_shown in ((child, True), (sibling, False)):
        page = as_("coach").get(reverse("student", args=[student.key])).content.decode()
        assert ("Waiting for a second person" in page) is is_shown
    assert list(ApprovalRequest.objects.about(sibling)) == []


def test_coaches_of_the_child_neither_approve_nor_refuse(cast: Cast, as_: Clients, child: Student) -> None:
    row = ask_age(as_("manager"), child, 1980)
    assert as_("coach").get(reverse("approval", args=[row.key])).status_code == 200
    for decision in ("approve", "refuse", "withdraw"):
        assert decide(as_("coach"), row, decision).status_code == 403
    assert decide(as_("guardian"), row, "nonsense").status_code == 422
    assert ApprovalRequest.objects.get().is_waiting


def test_who_asked_does_not_decide_under_another_role(cast: Cast, as_: Clients, child: Student) -> None:
    make_manager(cast.coach.user)
    Guardianship.objects.create(guardian=cast.coach.user, student=child)
    row = ask_age(as_("coach"), child, 1980)
    assert decide(as_("coach"), row).status_code == 403 and year_of(child) != 1980
    assert decide(as_("coach"), row, "withdraw").status_code == 302
    assert ApprovalRequest.objects.get().outcome == "withdrawn"


def test_asked_twice_it_waits_once(cast: Cast, as_: Clients, child: Student) -> None:
    ask_age(as_("coach"), child, 1980)
    answer = as_("manager").post(reverse("age_ask", args=[child.key]), {"birth_year": 1970}, follow=True)
    assert "waits already" in answer.content.decode() and ApprovalRequest.objects.count() == 1


def test_decided_once_the_other_sees_what_was_decided(cast: Cast, as_: Clients, child: Student) -> None:
    row = ask_age(as_("coach"), child, 1980)
    decide(as_("guardian"), row, "refuse")
    answer = as_("manager").post(reverse("approval_decide", args=[row.key]), {"decision": "approve"}, follow=True)
    assert "decided already" in answer.content.decode() and "Refused by Maud Plumsilk" in answer.content.decode()
    assert year_of(child) != 1980


def test_facts_that_changed_since_make_it_stale(cast: Cast, as_: Clients, child: Student) -> None:
    row = ask_age(as_("coach"), child, 1980)
    save_details(as_("manager"), child, birth_year=academy_today().year - 8)
    page = as_("guardian").post(reverse("approval_decide", args=[row.key]), {"decision": "approve"}, follow=True)
    assert "Not made" in page.content.decode() and year_of(child) == academy_today().year - 8
    assert not Correction.objects.exists()


# --- Where there is no second person ----------------------------------------------------------------


def test_without_a_second_person_it_takes_effect_after_seven_days_and_not_before(cast: Cast, as_: Clients) -> None:
    adult = make_student("Wren Ashknot", coach=cast.coach, birth_year=1980)
    young = academy_today().year - 10
    row = ask_age(as_("manager"), adult, young)
    assert row.takes_effect_at == row.asked_at + timedelta(days=7)
    settle_due(cast.academy, row.asked_at + timedelta(days=7) - timedelta(seconds=1))
    assert year_of(adult) == 1980
    ApprovalRequest.objects.update(takes_effect_at=timezone.now())
    as_("coach").get(reverse("student", args=[adult.key]))
    assert year_of(adult) == 1980, "reading writes nothing"
    as_("coach").post(reverse("calendar_link"))
    assert year_of(adult) == young, "with the next thing that anybody saves"
    assert ApprovalRequest.objects.get().outcome == "elapsed" and Correction.objects.get().by == cast.manager


def test_the_adult_concerned_refuses_within_the_seven_days(cast: Cast, as_: Clients) -> None:
    adult = make_student("Wren Ashknot", coach=cast.coach, birth_year=1980)
    row = ask_age(as_("manager"), adult, academy_today().year - 10)
    owner = Client()
    owner.force_login(adult.user)
    assert "Waiting for a second person" in owner.get(reverse("today", args=[adult.key])).content.decode()
    assert decide(owner, row).status_code == 403, "who is concerned may refuse, and a second person alone approves"
    assert decide(owner, row, "refuse").status_code == 302
    settle_due(cast.academy, timezone.now() + timedelta(days=8))
    assert year_of(adult) == 1980


def test_a_link_that_nobody_refused_is_made_once_by_who_asked(cast: Cast, as_: Clients) -> None:
    as_("manager").post(reverse("person_access_ask", args=[cast.guardian.key]))
    row = ApprovalRequest.objects.get()
    settle_due(cast.academy, timezone.now() + timedelta(days=7, seconds=1))
    ApprovalRequest.objects.update(decided_at=timezone.now())
    for other in (as_("coach"), as_("guardian"), second_manager()):
        assert other.post(reverse("approval_link", args=[row.key])).status_code == 404
    page = as_("manager").post(reverse("approval_link", args=[row.key])).content.decode()
    assert Client().post(invitation_by_code(page, cast.guardian.username), CHOSEN).status_code == 302
    assert as_("manager").post(reverse("approval_link", args=[row.key])).status_code == 404
    assert User.objects.get(pk=cast.guardian.pk).link_seen_by == cast.manager


# --- Merging ----------------------------------------------------------------------------------------


def test_a_walk_in_that_changes_nothing_is_merged_at_once(cast: Cast, as_: Clients, child: Student) -> None:
    for values in ({}, {"age_group": "child"}, {"birth_year": academy_today().year - 9}):
        walk_in = make_student("Alder again", coach=cast.coach, account=False, walked_in=True, **values)
        assert merge(as_("coach"), walk_in, child).url == reverse("student", args=[child.key])
    assert year_of(child) == academy_today().year - 10 and not ApprovalRequest.objects.exists()


def test_guardians_of_the_one_who_stays_decide_and_those_of_the_duplicate_do_not(
    cast: Cast, as_: Clients, child: Student
) -> None:
    duplicate = make_student("Alder again", coach=cast.coach, account=False, birth_year=child.birth_year)
    stranger = Client()
    stranger.force_login(make_guardian("Nan Tarkle", duplicate))
    first = as_("coach").post(reverse("student_merge", args=[duplicate.key]), {"into": child.pk})
    page = first.content.decode()
    assert merge(as_("coach"), duplicate, child).status_code == 302 and "the guardians" in page
    row = ApprovalRequest.objects.get()
    assert decide(stranger, row).status_code == 403
    assert decide(as_("guardian"), row).status_code == 302
    assert child.guardianships.filter(guardian__name="Nan Tarkle").exists()


# --- Being notified ---------------------------------------------------------------------------------


def test_those_concerned_are_mailed_without_a_childs_name_in_the_subject(
    cast: Cast, as_: Clients, child: Student
) -> None:
    people = [cast.guardian, cast.manager, cast.coach.user, cast.assistant.user]
    for number, person in enumerate(people):
        User.objects.filter(pk=person.pk).update(email=f"person{number}@example.org")
    row = ask_age(as_("coach"), child, 1980)
    assert {message.to[0] for message in mail.outbox} == {"person0@example.org", "person1@example.org"}
    assert all(child.name not in message.subject and len(message.to) == 1 for message in mail.outbox)
    assert child.name in mail.outbox[0].body and reverse("approval", args=[row.key]) in mail.outbox[0].body
    mail.outbox.clear()
    decide(as_("guardian"), row)
    assert {message.to[0] for message in mail.outbox} >= {"person1@example.org", "person2@example.org"}
    assert "Approved by Maud Plumsilk" in mail.outbox[0].body


def test_a_changed_address_is_mailed_to_the_earlier_one(cast: Cast, as_: Clients) -> None:
    adult = make_student("Wren Ashknot", coach=cast.coach, birth_year=1980)
    User.objects.filter(pk=adult.user.pk).update(email="wren@example.org")
    typed = {"email": "other@example.org", "username": adult.user.username}
    as_("coach").post(reverse("student_access_ask", args=[adult.key]), typed)
    decide(as_("manager"), ApprovalRequest.objects.get())
    assert [message.to for message in mail.outbox].count(["wren@example.org"]) == 2, "asked, and decided"


def test_a_mail_server_that_is_down_stops_nothing(cast: Cast, as_: Clients, child: Student, settings: Any) -> None:
    settings.EMAIL_BACKEND = "django.core.mail.backends.smtp.EmailBackend"
    settings.EMAIL_HOST, settings.EMAIL_PORT = "127.0.0.1", 1
    User.objects.filter(pk=cast.guardian.pk).update(email="maud@example.org")
    decide(as_("guardian"), ask_age(as_("coach"), child, 1980))
    assert year_of(child) == 1980


def test_pages_of_what_waits_take_at_most_twelve_queries(
    cast: Cast, as_: Clients, child: Student, django_assert_max_num_queries: Any
) -> None:
    for number in range(4):
        at, other = timezone.now(), make_student(coach=cast.coach, birth_year=academy_today().year - 9)
        ask(age_request(other, by=cast.coach.user, values={"birth_year": 1970 + number}), cast.academy, at)
    row = ask_age(as_("coach"), child, 1980)
    detail = reverse("approval", args=[row.key])
    for actor, address in [("manager", detail), ("guardian", detail), ("manager", reverse("approvals"))]:
        client = as_(actor)
        with django_assert_max_num_queries(12):
            assert client.get(address).status_code == 200


# --- Consents count from an account that only its owner opened ----------------------------------------


def invited_guardian(as_: Clients, child: Student, **names: str) -> tuple[User, Client]:
    """A guardian whom the manager invites, signed in by the link or the code."""
    typed = {"name": "Piers Larkwren", "role": "guardian", "child": child.pk, **names}
    page = as_("manager").post(reverse("person_invite"), typed).content.decode()
    link = link_in(str(mail.outbox[-1].body)) if "email" in names else invitation_by_code(page, names["username"])
    client = Client()
    assert client.post(link, CHOSEN).status_code == 302
    return User.objects.get(name="Piers Larkwren"), client


def test_a_guardian_with_a_mailed_link_consents(cast: Cast, as_: Clients, child: Student) -> None:
    guardian, client = invited_guardian(as_, child, email="piers@example.org")
    assert guardian.link_seen_by is None and Invitation.objects.get().shown_to is None
    assert consent(client, child).status_code == 302 and child.consents.filter(given_by=guardian).exists()


def test_a_guardian_whose_slip_was_seen_by_who_added_them_consents_after_another_manager_hands_one_over(
    cast: Cast, as_: Clients, child: Student
) -> None:
    guardian, client = invited_guardian(as_, child, username="piers")
    assert Invitation.objects.get().shown_to == cast.manager
    page = client.get(reverse("consents", args=[child.key])).content.decode()
    assert "a manager who does not coach Alder Quimble" in page and "Give consent" not in page
    refused = consent(client, child)
    assert refused.status_code == 422 and 'role="alert"' in refused.content.decode()
    assert not Consent.objects.filter(given_by=guardian).exists()
    other = second_manager()
    as_("manager").post(reverse("person_access_ask", args=[guardian.key]))
    slip = decide(other, ApprovalRequest.objects.get()).content.decode()
    client = Client()
    assert client.post(invitation_by_code(slip, "piers"), CHOSEN).status_code == 302
    assert consent(client, child).status_code == 302 and Consent.objects.filter(given_by=guardian).exists()


def test_who_saw_one_link_has_not_seen_those_of_others(cast: Cast) -> None:
    """Else a slip that was printed for one would keep everybody with a mailed link from consenting."""
    at = timezone.now()
    seen, mailed = (Invitation.issue(user, by=cast.manager, at=at) for user in (cast.guardian, cast.past_guardian))
    Invitation.record_shown(seen, to=cast.manager)
    shown_to = [Invitation.objects.usable(token, at).get().shown_to for token in (seen, mailed)]
    assert shown_to == [cast.manager, None]


def test_an_adult_whom_their_coach_gave_a_slip_consents_only_after_a_reset_by_mail(cast: Cast, as_: Clients) -> None:
    adult = make_student("Wren Ashknot", coach=cast.coach, account=False, birth_year=1980)
    slip = as_("coach").post(reverse("student_invite", args=[adult.key]), {"username": "wren"}).content.decode()
    client = Client()
    client.post(invitation_by_code(slip, "wren"), CHOSEN)
    assert consent(client, adult).status_code == 422
    changed = {"oldpassword": CHOSEN["new_password1"], "password1": PASSWORD, "password2": PASSWORD}
    assert client.post(reverse("account_change_password"), changed).status_code == 302
    assert consent(client, adult).status_code == 422, "the coach could have changed it, too"
    User.objects.filter(username="wren").update(email="wren@example.org")
    Client().post(reverse("account_reset_password"), {"email": "wren@example.org"})
    [link] = re.findall(r"http://testserver(/\S+)", mail.outbox[-1].body)
    visitor = Client()
    form = visitor.get(link, follow=True).request["PATH_INFO"]
    visitor.post(form, {"password1": "four quiet words here", "password2": "four quiet words here"})
    client.force_login(User.objects.get(username="wren"))
    assert consent(client, adult).status_code == 302


def test_a_coach_who_ended_their_care_is_still_one_who_saw_the_link(cast: Cast, child: Student) -> None:
    User.objects.filter(pk=cast.guardian.pk).update(link_seen_by=cast.past_coach.user)
    assert consent_problem(User.objects.get(pk=cast.guardian.pk), child)
    User.objects.filter(pk=cast.guardian.pk).update(link_seen_by=cast.other_coach.user)
    assert not consent_problem(User.objects.get(pk=cast.guardian.pk), child)


def test_a_manager_who_made_themselves_a_guardian_does_not_consent(cast: Cast, as_: Clients, child: Student) -> None:
    as_("manager").post(reverse("guardian_add", args=[child.key]), {"login": cast.manager.username})
    assert child.guardianships.filter(guardian=cast.manager).exists()
    refused = consent(as_("manager"), child)
    assert refused.status_code == 422 and "You added yourself" in refused.content.decode()
    assert not child.consents.filter(given_by=cast.manager).exists()


def test_a_coach_gets_no_first_link_to_an_account_that_is_also_a_guardians(cast: Cast, as_: Clients) -> None:
    adult = make_student("Wren Ashknot", coach=cast.coach, birth_year=1980)
    User.objects.filter(pk=adult.user.pk).update(password="!")
    Guardianship.objects.create(guardian=adult.user, student=cast.other_student)
    answer = as_("coach").post(reverse("student_invite", args=[adult.key]), {"username": adult.user.username})
    assert answer.status_code == 422 and "also a guardian" in answer.content.decode()
    assert not Invitation.objects.exists()


def test_withdrawing_is_always_possible(cast: Cast, as_: Clients, child: Student) -> None:
    User.objects.filter(pk=cast.guardian.pk).update(link_seen_by=cast.coach.user)
    assert as_("guardian").post(reverse("consent_withdraw", args=[child.key, "sharing"])).status_code == 302
    assert not child.consents.filter(withdrawn_at=None).exists()


# --- Without a guardian -------------------------------------------------------------------------------


def test_ending_the_last_guardian_closes_the_thread_and_all_that_needs_consent(
    cast: Cast, as_: Clients, child: Student
) -> None:
    page, thread = reverse("student", args=[child.key]), reverse("messages", args=[child.key])
    assert as_("cover").get(page).status_code == 200
    as_("manager").post(reverse("guardian_end", args=[child.key, cast.guardian.key]))
    assert as_("cover").get(page).status_code == 404, "the consent no longer counts"
    assert "no consent counts" in as_("coach").get(reverse("consents", args=[child.key])).content.decode()
    for actor in ("coach", "student", "manager"):
        shown = as_(actor).get(thread).content.decode()
        assert "No guardian can read this yet" in shown and "Send to all of them" not in shown
        write = reverse("message_write", args=[child.key, child.key])
        assert as_(actor).post(write, {"text": "Hello"}).status_code == 422
    as_("manager").post(reverse("guardian_add", args=[child.key]), {"login": cast.guardian.username})
    assert as_("cover").get(page).status_code == 200


def test_of_unknown_age_without_a_guardian_the_thread_says_what_is_next(cast: Cast, as_: Clients) -> None:
    unknown = make_student("Wren Ashknot", coach=cast.coach)
    shown = as_("coach").get(reverse("messages", args=[unknown.key])).content.decode()
    assert "whether Wren Ashknot is a child or an adult" in shown
    assert reverse("student_details", args=[unknown.key]) in shown


def test_what_a_junior_consented_to_while_taken_for_an_adult_does_not_count(
    cast: Cast, as_: Clients, child: Student
) -> None:
    child.consents.all().delete()
    make_consent(child, child.user, "sharing")
    assert as_("cover").get(reverse("student", args=[child.key])).status_code == 404
    make_consent(make_student(), child.user)
    child.consents.all().delete()
    make_consent(child, cast.guardian)
    assert as_("cover").get(reverse("student", args=[child.key])).status_code == 200
