"""The people of the invented academy. Nobody here exists."""

from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from zoneinfo import ZoneInfo

from allauth.mfa.models import Authenticator
from allauth.mfa.recovery_codes.internal.auth import RecoveryCodes
from allauth.mfa.totp.internal.auth import TOTP, generate_totp_secret
from allauth.mfa.utils import decrypt
from django.contrib.auth.hashers import make_password
from django.db import transaction

from coachbook.accounts.models import Academy, Area, Care, Coach, Consent, Guardianship, Side, Student, User
from coachbook.family.consents import consent_text

PASSWORD = "short grass every morning"  # nosec B105 # of the invented academy, printed at its start
ACADEMY, TIME_ZONE = "Thistledown Yard Short Game", "Europe/Dublin"
MANAGER = "Odile Bramblewing"
COACHES = ("Ida Fernkettle", "Bram Saltquill", "Noor Appleknot")
CODES_SHOWN = 5
EVERY_AREA = tuple(Area.values)


@dataclass(frozen=True)
class Person:
    """A student as the demo invents them: `coach` counts from 0, `left` holds the areas played from the left.

    Who has no age here is an adult whose year of birth nobody asked.
    """

    name: str
    coach: int
    age: int | None = None
    left: tuple[str, ...] = ()
    guardians: tuple[str, ...] = ()
    account: bool = True
    place: str = ""
    equipment: str = ""
    goal: str = ""
    event: tuple[str, int] = ("", 0)  # with the days until it
    phone: tuple[str, str] = ("", "")  # with whose it is; the numbers are kept for stories and are nobody's


STUDENTS = (
    Person(
        "Alder Quimble",
        0,
        place="A mat at home, most evenings",
        equipment="34 in, 3° loft, 70° lie",
        goal="No three putts in a round",
    ),
    Person("Beatrix Mossbud", 0, left=EVERY_AREA, place="The club's green twice a week"),
    Person(
        "Caspian Thornlace",
        0,
        left=("putting",),
        place="Carpet, ten minutes a day",
        goal="Two putts from anywhere",
        event=("The lantern foursomes", 23),
        phone=("+44 1632 960017", ""),
    ),
    Person("Dilys Harrowbell", 0),
    Person(
        "Emeka Larkwren",
        0,
        age=12,
        guardians=("Ngozi Larkwren",),
        equipment="31 in, cut down",
        phone=("+44 1632 960023", "Ngozi, mother"),
    ),
    Person("Flora Larkwren", 0, age=9, guardians=("Ngozi Larkwren", "Piers Larkwren"), account=False),
    Person("Gideon Puddlefern", 0, place="A corridor at work"),
    Person("Hattie Birdpenny", 0, account=False),
    Person("Ivo Chalkribbon", 1, left=EVERY_AREA, place="Back lawn"),
    Person("Juno Wickerlark", 1),
    Person("Kester Plumsilk", 1, age=15, guardians=("Maud Plumsilk",)),
    Person("Linnet Oxpebble", 1),
    Person("Magnus Feathercup", 1, equipment="35 in, wants to try a longer one"),
    Person("Nell Cobblemoss", 1, age=11, guardians=("Ravi Cobblemoss",)),
    Person("Otis Marlpin", 1, account=False),
    Person("Petra Sallowpipit", 1, place="No green nearby; a mat in the garage"),
    Person("Quentin Duskbee", 2),
    Person("Rosalind Elderlamp", 2),
    Person("Silas Withyspool", 2, age=14, guardians=("Greta Withyspool",)),
    Person("Thea Brackenloom", 2),
    Person("Umar Hollybow", 2, place="The practice green before work"),
    Person("Verity Snowthread", 2),
    Person("Wilf Tarkle", 2, age=10, guardians=("Joss Tarkle",), account=False),
    Person("Xanthe Ploversong", 2),
)


def username(name: str) -> str:
    """How a person of the demo signs in: their first name in small letters."""
    return name.split()[0].lower()


def sign_ins() -> list[tuple[str, str]]:
    """One sign-in for each kind of person, as (what they are, user name)."""
    return [
        ("manager", username(MANAGER)),
        ("coach", username(COACHES[0])),
        ("student", username(STUDENTS[0].name)),
        ("student, putts left and chips right", username(STUDENTS[2].name)),
        ("guardian of two", username(STUDENTS[4].guardians[0])),
    ]


@transaction.atomic
def fill(on: date) -> bool:
    """Invent the academy where there is nobody yet; touch nothing where there is."""
    if User.objects.exists():
        return False
    Academy.objects.create(pk=1, name=ACADEMY, time_zone=TIME_ZONE)
    hashed = make_password(PASSWORD)
    give_factor(account(MANAGER, hashed, is_manager=True))
    coaches = [Coach.objects.create(user=account(name, hashed)) for name in COACHES]
    students = [add_student(person, coaches[person.coach], hashed, on) for person in STUDENTS]
    Care.objects.create(coach=coaches[1], student=students[3], role=Care.Role.COVER, since=on - timedelta(days=3))
    Care.objects.create(coach=coaches[2], student=students[9], role=Care.Role.ASSISTANT, since=on - timedelta(days=90))
    return True


def give_factor(manager: User) -> None:
    """A second factor for the manager, who needs one, unless there is one; `demo` prints what belongs to it."""
    if not Authenticator.objects.filter(user=manager).exists():
        TOTP.activate(manager, generate_totp_secret())
        RecoveryCodes.activate(manager)


def factor_words(manager: User) -> dict[str, str]:
    """What the manager of the demo signs in with besides the password, by what it is."""
    words = {}
    for factor in Authenticator.objects.filter(user=manager):
        if factor.type == Authenticator.Type.TOTP:
            words["Key for an app"] = decrypt(factor.data["secret"])
        if factor.type == Authenticator.Type.RECOVERY_CODES:
            words["Recovery codes"] = "  ".join(factor.wrap().get_unused_codes()[:CODES_SHOWN])
    return words


def account(name: str, hashed: str, **rights: bool) -> User:
    """A person who can sign in; one who is met twice, as a guardian of two, is the same person."""
    user, _ = User.objects.get_or_create(username=username(name), defaults={"name": name, "password": hashed, **rights})
    return user


def add_student(person: Person, coach: Coach, hashed: str, on: date) -> Student:
    """A student with sides, account, guardians and coach."""
    student = Student.objects.create(
        name=person.name,
        user=account(person.name, hashed) if person.account else None,
        birth_year=on.year - person.age if person.age else None,
        age_group="" if person.age else Student.AgeGroup.ADULT,
        practice_place=person.place,
        equipment=person.equipment,
        goal=person.goal,
        event=person.event[0],
        event_on=on + timedelta(days=person.event[1]) if person.event[0] else None,
        phone=person.phone[0],
        phone_of=person.phone[1],
        **{f"{area}_side": Side.LEFT if area in person.left else Side.RIGHT for area in Area.values},
    )
    Care.objects.create(coach=coach, student=student, since=on - timedelta(days=400))
    for name in person.guardians:
        guardian = account(name, hashed)
        Guardianship.objects.create(guardian=guardian, student=student)
    if person.guardians:
        Consent.objects.create(
            student=student,
            purpose=Consent.Purpose.PHOTOS,
            given_by=guardian,
            given_at=datetime.combine(on - timedelta(days=399), time(12), ZoneInfo(TIME_ZONE)),
            text_shown=consent_text(Consent.Purpose.PHOTOS, student),
        )
    return student
