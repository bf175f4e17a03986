"""What of a student goes into the file, a kind for each table: the columns, and who reads which of them."""

from dataclasses import dataclass, field

from django.apps import apps
from django.db.models import Model, Q

from lessons.models import Reader

COMPLETE = "complete"


@dataclass(frozen=True)
class Kind:
    """The rows of one table that are about a student; all names are lookups from that table.

    What the family (the student and their guardians) does not read on any page is not in their file either.
    """

    name: str  # of the file
    title: str
    label: str  # of the model
    path: str  # to the student
    columns: dict[str, str]  # a lookup, and its heading
    order: str
    for_family: Q | None = field(default_factory=Q)  # which rows; None: none of them
    staff: frozenset[str] = frozenset()  # columns that managers alone read
    readers: dict[str, str] = field(default_factory=dict)  # a column of words, and the one that says who reads them
    area: str = ""  # the area of a row, whose side its words are read for

    @property
    def model(self) -> type[Model]:
        """The table."""
        return apps.get_model(self.label)

    def columns_for(self, *, family: bool) -> dict[str, str]:
        """The columns that a reader gets."""
        return {name: heading for name, heading in self.columns.items() if not (family and name in self.staff)}


def titled(words: str) -> dict[str, str]:
    """Columns whose headings follow from their names: `birth_year` is Birth year."""
    return {name: name.replace("__", " ").replace("_", " ").capitalize() for name in words.split()}


def complete(path: str) -> Q:
    """That a lesson is finished: before, only who teaches reads it."""
    return Q(**{f"{path}status": COMPLETE})


LESSON = {"session__starts_at": "Begins", "session__coach__user__name": "Coach"}
DAY = "look__lesson__session__starts_at"
GRIPS = " ".join(f"{area}_grip" for area in ("putting", "chipping", "pitching", "bunker"))
SIDES = " ".join(f"{area}_side" for area in ("putting", "chipping", "pitching", "bunker"))

KINDS = (
    Kind(
        "student", "The student", "accounts.Student", "pk",
        titled(f"name birth_year age_group status phone phone_of goal event event_on {SIDES} {GRIPS}")
        | titled("putter_length putter_loft putter_lie equipment practice_place practice_minutes practice_days limits")
        | titled("walked_in erase_from"),
        "pk",
    ),
    Kind(
        "account", "The account", "accounts.User", "student",
        titled("name username email added_address date_joined last_login is_active"), "pk",
    ),
    Kind("sign-in-changes", "Changes of how they sign in", "accounts.SignInChange", "user__student",
         titled("at what"), "at"),
    Kind("guardians", "Guardians", "accounts.Guardianship", "student",
         {"guardian__name": "Guardian", "ended_on": "Ended on"}, "pk"),
    Kind("consents", "Consents", "accounts.Consent", "student",
         titled("purpose text_shown given_at withdrawn_at") | {"given_by__name": "Given by"}, "given_at"),
    Kind("coaches", "Coaches", "accounts.Care", "student",
         {"coach__user__name": "Coach"} | titled("role since until putting chipping pitching bunker note"),
         "since", staff=frozenset({"note"})),
    Kind("pauses", "Pauses", "accounts.Pause", "student", titled("since until reason"), "since"),
    Kind("readings", "When a manager read the record", "accounts.RecordView", "student",
         titled("day page") | {"manager__name": "Manager"}, "at"),
    Kind("appointments", "Appointments", "diary.Appointment", "students",
         titled("starts_at minutes place status") | {"coach__user__name": "Coach"}, "starts_at"),
    Kind("absences", "Absences", "diary.Absence", "student",
         titled("first_day last_day reason words reported_at withdrawn_at") | {"reported_by__name": "Reported by"},
         "first_day"),
    Kind("lessons", "Lessons", "lessons.Lesson", "student",
         LESSON | titled("attendance practice_reported keep next_time note note_reader status stills_to_come")
         | {"session__kind": "Kind", "session__place": "Place"},
         "session__starts_at", complete(""),
         frozenset({"note_reader", "status", "stills_to_come"}), {"note": "note_reader"}),
    Kind("looks", "What was looked at", "lessons.Observation", "look__lesson__student",
         {DAY: "Lesson", "look__kind": "When", "skill__name": "Skill"}
         | titled("verdict measure measure_words words reader") | {"read_from__still__key": "Read from the still"},
         DAY, complete("look__lesson__"), frozenset({"reader", "measure_words"}), {"words": "reader"}, "skill__area"),
    Kind("seen", "What was seen", "lessons.SeenFault", "observation__look__lesson__student",
         {f"observation__{DAY}": "Lesson", "observation__look__kind": "When", "fault__name": "Fault"}
         | titled("degree"),
         f"observation__{DAY}", None),
    Kind("stills", "Stills", "lessons.Still", "lesson__student",
         {"lesson__session__starts_at": "Lesson", "checkpoint__name": "Checkpoint"}
         | titled("moment view club caption taken_at hidden_at key") | {"taken_by__name": "Taken by"},
         "taken_at", complete("lesson__") & Q(hidden_at=None), frozenset({"hidden_at"})),
    Kind("measured", "What was measured in stills", "lessons.StillMeasure", "still__lesson__student",
         {"still__lesson__session__starts_at": "Lesson", "still__checkpoint__name": "Checkpoint", "still__key": "Still"}
         | titled("kind name points known_cm value from_taps from_scale from_tilt below_zero measured_at voided_at")
         | {"skill__name": "Skill", "measured_by__name": "Measured by"},
         "measured_at", complete("still__lesson__") & Q(still__hidden_at=None, voided_at=None),
         frozenset({"voided_at"})),
    Kind("aligned", "Stills that were aligned", "lessons.Alignment", "departure__lesson__student",
         {"departure__lesson__session__starts_at": "Lesson", "arrival__key": "Arrival", "departure__key": "Departure"}
         | titled("arrival_points departure_points aligned_at"), "aligned_at",
         complete("departure__lesson__") & Q(arrival__hidden_at=None, departure__hidden_at=None)),
    Kind("focuses", "What they work on", "lessons.Focus", "student",
         titled("area kind what feel reason decide_on decision")
         | {"fault__goal": "Goal", "fault__name": "Fault", "opened_in__session__starts_at": "Opened",
            "closed_in__session__starts_at": "Closed"},
         "opened_in__session__starts_at", complete("opened_in__"), frozenset({"fault__name", "reason", "kind"}),
         area="area"),
    Kind("focuses-in-stills", "Where a focus is seen in stills", "lessons.FocusView", "focus__student",
         {"focus__opened_in__session__starts_at": "Focus opened", "focus__what": "Focus",
          "checkpoint__name": "Checkpoint"} | titled("view"), "pk", complete("focus__opened_in__"), area="focus__area"),
    Kind("focuses-seen", "What a look showed of a focus", "lessons.SeenFocus", "look__lesson__student",
         {DAY: "Lesson", "look__kind": "When", "focus__what": "Focus"} | titled("degree"), DAY, None),
    Kind("drills-given", "Drills given", "drills.Prescription", "student",
         titled("begins review_on ended_on feel mark amount unit per_week days") | {"drill__name": "Drill"},
         "begins", complete("lesson__"), area="focus__area"),
    Kind("practice", "Practice reported", "drills.PracticeEntry", "prescription__student",
         {"prescription__drill__name": "Drill"}
         | titled("day amount score score_of score_words felt note source reported_on is_void"), "day"),
    Kind("practice-days", "Days of practice", "drills.PracticeDays", "student",
         titled("monday tuesday wednesday thursday friday saturday sunday minutes"), "pk"),
    Kind("tests", "Tests", "drills.ScoredTest", "student",
         {"design__name": "Test", "by__name": "Recorded by"}
         | titled("day moment side width_m past_m step_m stimp_ft plan done_at is_void"), "day"),
    Kind("balls", "Balls of the tests", "drills.Ball", "test__student",
         {"test__day": "Day", "test__design__name": "Test"} | titled("number distance_m result length miss leave_m"),
         "test__day"),
    Kind("rounds", "Rounds", "drills.Round", "student",
         titled("day holes putts three_putts tried made is_void") | {"by__name": "Recorded by"}, "day"),
    Kind("sheets", "Sheets to take home", "loop.Sheet", "lesson__student",
         titled("issued_at voided_at void_reason content"), "issued_at",
         complete("lesson__") & Q(voided_at=None)),
    Kind("messages", "Messages", "family.Message", "student",
         titled("written_at text") | {"written_by__name": "Written by"}, "written_at"),
    Kind("put-off", "Put off in the list of who needs attention", "caseload.Snooze", "student",
         titled("kind until why at") | {"by__name": "By"}, "at", None),
    Kind("erasures-asked", "Erasures asked for", "rights.ErasureRequest", "student",
         titled("asked_at due_on agreed_at called_off_at") | {"asked_by__name": "Asked by"}, "asked_at"),
)  # fmt: skip

# The tables that have a way to a student and are in no file, with the reason.
LEFT_OUT = {
    "accounts.Invitation": "the keys of links, as hashes",
    "accounts.NewAddress": "an address that is not confirmed stands on their account page, for a day",
    "accounts.User_groups": "not used",
    "accounts.User_user_permissions": "not used",
    "account.EmailAddress": "the address stands in the account",
    "account.EmailConfirmation": "not used",
    "mfa.Authenticator": "secrets by which the account is opened",
    "usersessions.UserSession": "where they are signed in stands on their account page, and ends by itself",
    "lessons.Look": "when something was looked at stands beside what was seen",
    "lessons.Outcome": "derived from the lessons",
    "groups.GroupMember": "how a group's page was filled in; what came of it stands in the lesson",
    "family.ThreadReading": "how far each has read the messages, as numbers of rows",
    "diary.Appointment_students": "who comes stands in the appointments",
    "diary.FamilyFeed": "the key of a link, as a hash",
    "diary.Rearrangement": "it may name other students; what became of an appointment stands in the appointments",
    "outbox.Receipt": "random keys of forms that a phone has sent, and addresses of pages, for 90 days",
    "digests.DigestConsent": "which e-mail they switched on stands on their account page",
    "digests.Digest": "on which day a mail was sent, without its words",
    "amends.Correction": "it may name a second student; what is right by now stands in the record",
    "amends.ApprovalRequest": "it may name a second student; what was decided stands in the record",
    "amends.ApprovalNotice": "who was notified of a change that waits",
}

READER = Reader.STUDENT
