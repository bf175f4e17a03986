"""What a row says of itself, at every bound and just beside it; no database is asked."""

import math
from datetime import UTC, date, datetime
from decimal import Decimal
from typing import Any

import pytest
from django.core.exceptions import ValidationError

from coachbook.accounts.models import Academy, Area, Care, Coach, Student, User
from coachbook.accounts.models.academy import check_time_zone
from coachbook.accounts.models.base import covers_an_area
from coachbook.accounts.models.people import check_phone
from coachbook.groups.models import GroupDefaults
from drills.models import Design, Drill, PracticeDays, PracticeEntry, Prescription, ScoredTest
from drills.practice.prescribe import Dose
from lessons.measures import Measure
from lessons.measuring import Estimate, Frame, Kind, Point, Shown
from lessons.models import Fault, Focus, Observation, Skill, Still, StillMeasure, pairs, still_measures
from lessons.models.catalogue import skill_values
from lessons.models.still_measures import frame_of, in_unit
from lessons.models.stills import Checkpoint, View, file_name, seen_words, stroke_order

DAY = date(2026, 6, 10)


def is_refused(check: Any, value: Any) -> bool:
    try:
        check(value)
    except ValidationError:
        return True
    return False


def test_a_telephone_number_has_from_five_to_fifteen_digits() -> None:
    """ITU-T E.164 (2010), 6.2.1, number of clause named from memory: 15 digits at most. Five are our own choice."""
    good = ["12345", "123456789012345", "+44 1632 960017", "(01632) 960-017/2", "+1.234.567"]
    bad = [
        "1234",
        "1234567890123456",
        "+44 1632 960017 x2",
        "12345a",
        "",
        "+-() ./",
        "44+1632960017",
        "\u0661" * 6,
    ]  # the last in Arabic digits
    assert [number for number in good if is_refused(check_phone, number)] == []
    assert [number for number in bad if not is_refused(check_phone, number)] == []


def test_a_telephone_becomes_a_link_of_digits() -> None:
    """RFC 3966, 5.1.1: a global number is a plus and digits; the nought in brackets is dialled at home alone."""
    assert Student(phone="+44 (0)1632 960017").phone_link == "tel:+441632960017"
    assert Student(phone="(0)1632 960017").phone_link == "tel:01632960017"


@pytest.mark.parametrize(
    ("values", "years", "known"),
    [
        ({"birth_year": 2008}, (2025, 2026, 2027), [True, True, False]),
        ({"birth_year": 2008, "age_group": "adult"}, (2025, 2026, 2027), [True, True, False]),
        ({"age_group": "child"}, (2026, 2090), [True, True]),
        ({"age_group": "adult"}, (2026, 2090), [False, False]),
        ({}, (2026, 2090), [False, False]),
    ],
)
def test_who_is_a_junior_until_the_end_of_the_year_in_which_they_come_of_age(
    values: dict[str, Any], years: tuple[int, ...], known: list[bool]
) -> None:
    """Of whom nothing is known is one, though no page speaks to them as to somebody young."""
    student = Student(**values)
    days = [date(year, 12, 31) for year in years]
    assert [student.is_known_junior(day, 18) for day in days] == known
    assert [student.is_junior(day) for day in days] == [student.is_junior(day, 18) for day in days]
    assert [student.is_junior(day, 18) for day in days] == (known if values else [True, True])


def test_the_last_year_as_a_junior_is_unknown_where_no_year_of_birth_is() -> None:
    ends = [Student(**values).last_year_as_junior(18) for values in ({"birth_year": 2010}, {"age_group": "adult"}, {})]
    assert ends == [2028, -math.inf, math.inf]


def test_a_child_gets_the_sheet_of_a_child_until_the_end_of_that_year() -> None:
    child = Student(birth_year=2014)
    assert [child.is_child(date(year, 1, 1), 12) for year in (2025, 2026, 2027)] == [True, True, False]
    assert not Student().is_child(DAY, 12)


def test_sides_grips_and_areas_are_those_that_are_recorded() -> None:
    student = Student(chipping_side="left", putting_grip="Claw", bunker_grip="Weak")
    assert student.sides == {Area.PUTTING: "right", Area.CHIPPING: "left", Area.PITCHING: "right", Area.BUNKER: "right"}
    assert student.grips == [(Area.PUTTING, "Claw"), (Area.BUNKER, "Weak")]
    assert Care(chipping=False, bunker=False).areas == [Area.PUTTING, Area.PITCHING]
    assert [child for child, _ in covers_an_area().children] == Area.values
    assert all(value is True for _, value in covers_an_area().children)


def test_an_account_is_opened_by_a_password_or_by_signing_in() -> None:
    fresh, chosen, linked = User(), User(), User(last_login=datetime(2026, 6, 1, tzinfo=UTC))
    fresh.set_unusable_password()
    chosen.set_password("wet grass, slow green")
    linked.set_unusable_password()
    assert [user.is_opened for user in (fresh, chosen, linked)] == [False, True, True]


def test_an_address_was_added_whatever_its_capitals() -> None:
    pairs_ = [("Maud@example.org", "maud@example.org"), ("maud@example.org", ""), ("", ""), ("a@b.org", "c@b.org")]
    assert [User(email=mail, added_address=added).has_added_address for mail, added in pairs_] == [True] + [False] * 3


def test_who_has_no_other_role_is_a_guardian() -> None:
    both = User(is_manager=True)
    both.coach = Coach(user=both)
    assert (User().role, both.role, both.is_coach, User().is_coach) == ("guardian", "manager, coach", True, False)


def test_sessions_end_with_the_password_and_at_the_moment_at_which_all_were_ended() -> None:
    at = datetime(2026, 6, 1, tzinfo=UTC)
    users = [User(password="one"), User(password="two"), User(password="one", sessions_ended_at=at)]
    assert len({user.get_session_auth_hash() for user in users}) == 3
    assert users[0].get_session_auth_hash() == User(password="one").get_session_auth_hash()


def test_a_zone_is_one_of_the_database_of_time_zones_and_the_day_is_that_of_the_academy() -> None:
    assert not is_refused(check_time_zone, "Pacific/Kiritimati") and is_refused(check_time_zone, "Sedge/Hollow")
    at = datetime(2026, 6, 1, 11, tzinfo=UTC)  # Kiritimati is 14 hours ahead of UTC
    assert Academy(time_zone="Pacific/Kiritimati").today(at) == date(2026, 6, 2)


# --- Drills and tests -----------------------------------------------------------------------------


def test_what_counts_as_done_well_is_the_students_own_mark_or_that_of_the_drill() -> None:
    drill = Drill(mark="8 of 10 roll through.")
    own, usual = Prescription(drill=drill, mark="9 of 10."), Prescription(drill=drill)
    assert (own.done_well, usual.done_well) == ("9 of 10.", "8 of 10 roll through.")
    assert [row.mark_to_reach.count for row in (own, usual) if row.mark_to_reach] == [9, 8]


def test_a_dose_of_one_day_ends_on_the_day_it_begins() -> None:
    lasts = [Prescription(begins=DAY, days=days).last_day for days in (1, 2, 30)]
    assert lasts == [DAY, date(2026, 6, 11), date(2026, 7, 9)]


def test_practice_is_filled_in_where_it_is_reported_on_a_later_day() -> None:
    reported = [None, date(2026, 6, 9), DAY, date(2026, 6, 11)]
    assert [PracticeEntry(day=DAY, reported_on=day).is_filled_in for day in reported] == [False, False, False, True]


def test_a_score_is_a_number_or_what_was_typed_in_its_place() -> None:
    entries = [PracticeEntry(score=8, score_of=10), PracticeEntry(score=0), PracticeEntry(score_words="windy")]
    assert [entry.score_in_words for entry in entries] == ["8 of 10", "0", "windy"]


def test_days_are_picked_and_no_others() -> None:
    days = PracticeDays(monday=True, friday=True)
    assert days.weekdays == [0, 4]
    days.pick({4, 6})
    assert days.weekdays == [4, 6] and not days.monday


def test_a_design_says_what_can_be_noted_of_a_ball() -> None:
    """A putt is meant to stop a foot past a hole, 0.3048 m (exact: the international foot of 1959), and at a line."""
    by_kind = {kind: Design(kind=kind, distances_m=[1.0, 2.0, 3.0], balls=4) for kind in Design.Kind.values}
    assert {kind for kind, design in by_kind.items() if design.has_hole} == {"leaves", "counted", "chips"}
    assert {kind for kind, design in by_kind.items() if design.has_aim} == {"leaves", "counted", "ladder"}
    assert by_kind["gate"].total == 12
    assert (by_kind["leaves"].aim_m, by_kind["ladder"].aim_m) == (0.3048, 0)
    own = Design(kind="ladder", past_m=0.2)
    assert (own.aim_m, Design(kind="leaves", past_m=0.0).aim_m) == (0.2, 0)
    assert [ScoredTest(design=own, past_m=past).aim_m for past in (None, 0.5, 0.0)] == [0.2, 0.5, 0]


def test_a_group_has_a_dose_only_where_all_of_it_is_there() -> None:
    whole = {"amount": 10, "unit": "balls", "per_week": 3, "days": 14}
    assert GroupDefaults(**whole).dose == Dose(10, "balls", 3, 14)
    for left_out in ("amount", "per_week", "days"):
        assert GroupDefaults(**whole | {left_out: None}).dose is None
    assert GroupDefaults().dose is None


def test_a_group_gives_a_focus_and_a_drill_of_its_own() -> None:
    fault, drill = Fault(pk=1), Drill(pk=2)
    group = GroupDefaults(fault=fault, drill=drill, amount=10, unit="balls", per_week=3, days=14)
    assert [row.has_focus for row in (group, GroupDefaults(what="Eyes still"), GroupDefaults())] == [True, True, False]
    focuses = {"same": {"fault": fault}, "own words": {"what": "Eyes still"}, "other area": {"area": "chipping"}}
    about = {name: Focus(**{"fault": fault, "area": "putting"} | values) for name, values in focuses.items()}
    assert [name for name, focus in about.items() if group.is_about(focus)] == ["same"]
    given = {"drill": drill, "amount": 10, "unit": "balls", "per_week": 3, "days": 14}
    rows = [Prescription(**given | values) for values in ({}, {"drill": Drill(pk=3)}, {"days": 15})]
    assert [group.gave(row) for row in rows] == [True, False, False]


# --- The catalogue, looks and stills --------------------------------------------------------------


def test_a_skill_is_measured_as_its_table_says() -> None:
    table = {"name": "held", "unit": "s", "low": 0.0, "high": 10.0, "step": 0.5, "usual": [2.0, 4.0]}
    row = {"code": "x", "was": ["y"], "fault": [], "area": "putting", "name": "Finish", "measure": table}
    skill = Skill(**skill_values(row))
    usual = (Decimal(2), Decimal(4))
    assert skill.measured == Measure("held", "s", Decimal(0), Decimal(10), Decimal("0.5"), usual=usual)
    guessed = {name: value for name, value in table.items() if name != "usual"} | {"by_eye": True}
    by_eye = Skill(**skill_values(row | {"measure": guessed})).measured
    assert by_eye and by_eye.by_eye and by_eye.usual is None
    assert Skill(**skill_values({"area": "putting", "name": "Grip"})).measured is None
    assert (skill_values(row)["area"], str(skill)) == ("putting", "Finish")


def test_what_was_measured_is_a_number_with_its_unit_or_words() -> None:
    length = {"measure_unit": "cm", "measure_low": 5, "measure_high": 80, "measure_step": 2, "measure": "stance"}
    skill, bare = Skill(**length), Skill()
    rows = [
        Observation(skill=skill, measure=Decimal("31.50")),
        Observation(skill=skill, measure=Decimal("31.50"), read_from_id=1),
        Observation(skill=bare, measure=Decimal("31.50")),
        Observation(skill=skill, measure_words="a hand"),
        Observation(skill=skill),
    ]
    assert [row.measured for row in rows] == ["31.5 cm", "31.5 cm", "31.5", "a hand", ""]
    how = [row.measured_and_how for row in rows[:2]]
    assert how == ["31.5 cm", "31.5 cm, read from the picture"]


def test_a_focus_without_a_fault_is_in_own_words() -> None:
    own, named = Focus(what="Eyes still"), Focus(fault=Fault(pk=1, name="Hands apart"))
    assert [(str(row), row.is_own_words) for row in (own, named)] == [("Eyes still", True), ("Hands apart", False)]
    assert own.code == f"focus-{own.key}"


BAD_POINTS = [None, "12", (1, 2), {"0": 1}, [], [5], ["ab"], [[1]], [[1, 2, 3]], [(1, 2)], [[1, "2"]], [[True, 2]]]


def test_two_points_of_a_pair_are_percents_of_a_picture() -> None:
    good = [[[0, 0], [100, 100]], [[0.0, 99.9], [50, 0.1]]]
    bad = [[point, [1, 2]] if isinstance(point, list) and len(point) == 1 else point for point in BAD_POINTS]
    bad += [[[1, 2]], [[1, 2]] * 3, ([1, 2], [3, 4]), [[1, 2], [3, 100.1]], [[-0.1, 2], [3, 4]]]
    bad += [[[1, 2], [-1, 4]], [[1, 2], [101, 4]], [[math.nan, 1], [1, 2]], [[1, 2], (3, 4)], [[1, 2], [3]]]
    assert [points for points in good if is_refused(pairs.check_points, points)] == []
    assert [points for points in bad if not is_refused(pairs.check_points, points)] == []


def test_points_of_a_measure_are_one_to_ten_places_in_pixels() -> None:
    good = [[[0, 0]], [[1, 99_999.9]] * 10, [[99_999, 0.5]]]
    bad = [*BAD_POINTS, [[1, 2]] * 11, [[100_000, 1]], [[1, 100_000.5]], [[-0.1, 1]], [[1, 2], [3]], [[math.nan, 1]]]
    bad += [([1, 2],), "ab", [[1, 2], [-1, 4]]]
    assert [points for points in good if is_refused(still_measures.check_points, points)] == []
    assert [points for points in bad if not is_refused(still_measures.check_points, points)] == []


def test_a_value_is_read_in_the_unit_of_its_skill_and_below_zero_where_the_skill_counts_so() -> None:
    """Ten millimetres are a centimetre, and 1.5 to 1 is 150 per cent; between others nothing is converted."""

    def measure(unit: str) -> Measure:
        return Measure("x", unit, Decimal(0), Decimal(1), Decimal(1))

    def value(number: str, unit: str) -> Shown:
        return Shown(Decimal(number), Decimal(number), Decimal(number), unit, "")

    cases = [("3", "cm", "mm", "30"), ("3", "cm", "cm", "3"), ("1.5", "to 1", "%", "150"), ("2", "°", "°", "2")]
    for number, unit, of_skill, expected in cases:
        assert str(in_unit(value(number, unit), measure(of_skill), below_zero=False)) in (expected, f"{expected}.0")
        assert in_unit(value(number, unit), measure(of_skill), below_zero=True) == -Decimal(expected)
    assert str(in_unit(value("0", "cm"), measure("cm"), below_zero=True)) == "0"
    assert in_unit(value("3", "cm"), measure("°"), below_zero=False) is None


def test_a_measure_is_named_by_its_skill_or_by_what_was_typed_or_by_its_kind() -> None:
    named, silent = Skill(measure="ball ahead of the {lead} foot"), Skill()
    rows = [
        StillMeasure(kind="angle", name=name, skill=skill) for name, skill in (("a", named), ("a", silent), ("", None))
    ]
    assert [row.label for row in rows] == ["Ball ahead of the lead foot", "A", Kind.ANGLE.form.label]


def test_a_value_of_a_still_is_shown_with_its_unit_and_drawn_over_the_picture() -> None:
    row = StillMeasure(kind="length", points=[[100, 520], [250, 520], [330, 240], [330, 530]], known_cm=87)
    row.estimate = Estimate(Kind.LENGTH, 43.7, 0.66, 0, 0)
    assert (row.shown.text, str(row), row.estimate.value) == ("44 cm", "Distance, by a known length: 44 cm", 43.7)
    assert row.places[1] == Point(250, 520) and row.marks.lines[0] == (Point(100, 520), Point(250, 520))
    assert row.for_skill is None and frame_of(Still(width=480, height=640)) == Frame(480, 640)


def test_stills_stand_by_area_then_by_checkpoint_then_by_view() -> None:
    putting, chipping = (Checkpoint(pk=9 - number, area=area) for number, area in enumerate(["putting", "chipping"]))
    later = Checkpoint(pk=1, area="putting", position=2)
    order = [(putting, "face_on"), (putting, "down_line"), (later, "face_on"), (chipping, "face_on")]
    mixed = [order[3], order[1], order[2], order[0]]
    assert sorted(mixed, key=lambda each: stroke_order(*each)) == order
    assert seen_words(Checkpoint(name="Address"), "down_line") == "Address, down the line"


def test_a_thumbnail_is_as_wide_as_a_phone_shows_and_never_larger_than_its_picture() -> None:
    sizes = [(640, 480), (480, 640), (320, 100), (160, 80)]
    stills = [Still(width=width, height=height) for width, height in sizes]
    small = [(still.thumbnail_width, still.thumbnail_height) for still in stills]
    assert small == [(320, 240), (240, 320), (320, 100), (160, 80)]
    assert stills[0].path == f"stills/{stills[0].name}.jpg"
    assert stills[0].thumbnail_path == f"stills/{stills[0].name}-small.jpg"


def test_nobody_guesses_the_name_of_a_file() -> None:
    """128 random bits: 32 hexadecimal digits."""
    found = {file_name() for _ in range(20)}
    assert len(found) == 20 and all(len(name) == 32 and int(name, 16) >= 0 for name in found)


def test_a_view_has_plain_words() -> None:
    assert {view.value: view.plain for view in View} == {
        "face_on": "seen from the front",
        "down_line": "seen along the line of the ball",
    }
