"""In two steps, too, nobody alone lifts what protects a child, and who teaches a child no more reads nothing of it."""

from collections.abc import Callable
from datetime import timedelta

from django.core import mail
from django.test import Client
from django.urls import reverse

from coachbook.accounts.models import Guardianship, Student, User
from coachbook.corrections.approvals.deciding import settle_due
from coachbook.corrections.models import ApprovalRequest
from tests.conftest import Cast
from tests.make import academy_today, make_guardian, make_student
from tests.test_second_person import ask_age, decide, merge, save_details, year_of
from tests.test_second_person import child as child  # a child of ten with one guardian, in every test

Clients = Callable[[str], Client]


# --- An age in two steps ----------------------------------------------------------------------------


def test_a_year_of_birth_that_was_cleared_is_not_written_anew_by_one_person(cast: Cast, as_: Clients) -> None:
    without_guardian = make_student("Wren Ashknot", coach=cast.coach, birth_year=academy_today().year - 10)
    save_details(as_("coach"), without_guardian, birth_year="", age_group="child")
    without_guardian.refresh_from_db()
    assert without_guardian.birth_year is None, "a child for longer than before: that is saved at once"
    page = save_details(as_("coach"), without_guardian, birth_year=academy_today().year - 18).content.decode()
    assert year_of(without_guardian) is None and "Odile Bramblewing" in page, "of age within weeks: a manager is asked"


def test_nor_is_a_first_year_of_birth_once_the_last_guardian_was_ended(cast: Cast, as_: Clients) -> None:
    young = make_student("Wren Ashknot", coach=cast.coach, age_group="child")
    guardian = make_guardian("Nan Tarkle", young)
    as_("manager").post(reverse("guardian_end", args=[young.key, guardian.key]))
    save_details(as_("coach"), young, birth_year=academy_today().year - 18)
    assert year_of(young) is None


# --- A merge in two steps ---------------------------------------------------------------------------


def test_a_child_is_not_merged_into_one_whose_guardians_are_more(cast: Cast, as_: Clients, child: Student) -> None:
    """Half-brothers: a guardian of the one alone would read the record of the other."""
    other = make_student("Wren Ashknot", coach=cast.coach, account=False, birth_year=child.birth_year)
    Guardianship.objects.create(guardian=cast.guardian, student=other)
    make_guardian("Nan Tarkle", child)
    merge(as_("coach"), other, child)
    assert Student.objects.get(pk=other.pk).merged_into is None


def test_nor_is_one_whose_guardians_were_ended(cast: Cast, as_: Clients, child: Student) -> None:
    other = make_student("Wren Ashknot", coach=cast.coach, account=False, birth_year=child.birth_year)
    guardian = make_guardian("Nan Tarkle", other)
    as_("manager").post(reverse("guardian_end", args=[other.key, guardian.key]))
    merge(as_("coach"), other, child)
    assert Student.objects.get(pk=other.pk).merged_into is None


# --- The seven days ---------------------------------------------------------------------------------


def test_a_guardian_who_comes_within_the_seven_days_is_asked(cast: Cast, as_: Clients) -> None:
    young = make_student("Wren Ashknot", coach=cast.coach, birth_year=academy_today().year - 10)
    row = ask_age(as_("manager"), young, 1980)
    assert row.takes_effect_at, "the one manager asks, and there is no guardian"
    guardian = make_guardian("Nan Tarkle", young)
    [asked] = settle_due(cast.academy, row.asked_at + timedelta(days=7, seconds=1))
    assert asked.is_waiting and year_of(young) != 1980
    assert settle_due(cast.academy, row.asked_at + timedelta(days=30)) == [], "and not by itself any more"
    home = Client()
    home.force_login(guardian)
    assert reverse("approval", args=[row.key]) in home.get(reverse("students")).content.decode()
    decide(home, row)
    assert year_of(young) == 1980


def test_of_a_closed_account_no_new_link_is_asked(cast: Cast, as_: Clients) -> None:
    """Its owner would read no notice; seven days later it could be reopened, and the link be made."""
    User.objects.filter(pk=cast.guardian.pk).update(is_active=False)
    answer = as_("manager").post(reverse("person_access_ask", args=[cast.guardian.key]), follow=True)
    assert "is closed. Reopen it first" in answer.content.decode() and not ApprovalRequest.objects.exists()


# --- A second role ----------------------------------------------------------------------------------


def test_a_manager_who_made_themselves_a_guardian_does_not_erase_as_the_family(
    cast: Cast, as_: Clients, child: Student
) -> None:
    as_("manager").post(reverse("guardian_add", args=[child.key]), {"login": cast.manager.username})
    assert child.guardianships.filter(guardian=cast.manager, made_by=cast.manager).exists()
    as_("manager").post(reverse("erasure_ask", args=[child.key]), {"sure": "on"})
    assert child.erasure_requests.get().waits_for_second


# --- Past coaches -----------------------------------------------------------------------------------


def test_who_teaches_a_child_no_more_reads_neither_name_nor_year_in_what_they_asked(
    cast: Cast, as_: Clients, child: Student
) -> None:
    User.objects.filter(pk=cast.coach.user.pk).update(email="ida@example.org")
    row = ask_age(as_("coach"), child, 1980)
    address = reverse("approval", args=[row.key])
    assert child.name in as_("coach").get(address).content.decode()
    cast.coach.cares.update(until=academy_today() - timedelta(days=1))
    mail.outbox.clear()
    decide(as_("guardian"), row)
    assert as_("coach").get(address).status_code == 404
    assert as_("coach").post(reverse("approval_decide", args=[row.key]), {"decision": "withdraw"}).status_code == 404
    assert child.name not in as_("coach").get(reverse("day")).content.decode()
    assert not any("ida@example.org" in message.to for message in mail.outbox)
    assert as_("guardian").get(address).status_code == 200, "who decides no more reads what was decided"


def test_a_coach_who_is_also_a_guardian_decides_about_the_child(cast: Cast, as_: Clients, child: Student) -> None:
    Guardianship.objects.create(guardian=cast.other_coach.user, student=child)
    row = ask_age(as_("coach"), child, 1980)
    assert decide(as_("other_coach"), row).status_code == 302 and year_of(child) == 1980
    assert as_("other_coach").get(reverse("approval", args=[row.key])).status_code == 200
