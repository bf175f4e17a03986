"""What the reader of sentences makes of a coach's words, rule by rule. Which phrase means what: common practice of
the trade, no published source."""

import json

import pytest

from lessons.sentence import Dose, Kind, Reading, build_catalogue, read_sentence
from lessons.sentence.catalogue import shipped_phrases
from lessons.sentence.confidence import SURE, confidence
from lessons.sentence.tokens import LONGEST
from tests.sentences.scoring import READ_RIGHT, ROOT, catalogue, count, read_right, rows

PUTTING = "putting"


def read(text: str, area: str = PUTTING, side: str = "right", ticked: tuple[str, ...] = ()) -> Reading:
    return read_sentence(text, [area, *ticked], {area: side}, catalogue())


def seen(text: str, area: str = PUTTING, side: str = "right") -> dict[str, str]:
    """What was proposed as seen: `arrival code` or `departure code`, with its degree or good."""
    found = read(text, area, side).proposals
    looks = [row for row in found if row.kind in (Kind.GOOD, Kind.FAULT)]
    return {f"{row.look} {row.fault or row.skill}": row.degree or "good" for row in looks}


def codes(text: str, kind: Kind, area: str = PUTTING) -> list[str | None]:
    found = [row for row in read(text, area).proposals if row.kind is kind]
    return [{Kind.KEEP: row.skill, Kind.FOCUS: row.fault, Kind.DRILL: row.drill}[kind] for row in found]


def reasons(text: str, area: str = PUTTING) -> list[str]:
    return [row.reason for row in read(text, area).left_out]


PEEKS, RUSHED, GRIP = "putting-finish-eyes-early", "putting-tempo-rushed", "putting-grip-squeeze"
EYES, TEMPO, GRIP_SKILL = "putting-finish-eyes", "putting-tempo", "putting-grip"


@pytest.mark.parametrize(
    ("text", "degree"),
    [
        ("he peeks", "not_graded"),
        ("he peeks a bit", "slight"),
        ("peeking, just a touch", "slight"),
        ("looks up early, a lot", "clear"),
        ("badly peeking again", "clear"),
        ("he peeks every time", "not_graded"),
    ],
)
def test_a_degree_is_the_one_said_beside_the_fault(text: str, degree: str) -> None:
    assert seen(text) == {f"arrival {PEEKS}": degree}


def test_each_fault_keeps_its_own_degree() -> None:
    found = seen("he peeks a bit and he squeezes the handle badly")
    assert found == {f"arrival {PEEKS}": "slight", f"arrival {GRIP}": "clear"}


@pytest.mark.parametrize(
    "text",
    [
        "no peeking",
        "he doesn't peek any more",
        "not once did she look up",
        "peeking: none",
        "there was no peeking at all",
        "peeking was not there today",
        "she has stopped peeking",
    ],
)
def test_what_is_said_to_be_absent_is_good(text: str) -> None:
    assert seen(text) == {f"arrival {EYES}": "good"}


@pytest.mark.parametrize("text", ["no doubt about it, he peeks", "no wonder, he peeks", "the peeking isnt gone"])
def test_a_no_that_denies_something_else_denies_no_fault(text: str) -> None:
    assert f"arrival {PEEKS}" in seen(text)


@pytest.mark.parametrize("text", ["tempo lovely", "the tempo is fine", "nothing wrong with his tempo", "good tempo"])
def test_a_skill_that_is_praised_is_good(text: str) -> None:
    assert seen(text) == {f"arrival {TEMPO}": "good"}
    assert codes(text, Kind.KEEP) == []


@pytest.mark.parametrize("text", ["leave the tempo alone", "tempo good, keep that", "don't touch his tempo"])
def test_what_is_to_be_left_alone_is_kept_and_good(text: str) -> None:
    assert codes(text, Kind.KEEP) == [TEMPO]
    assert seen(text) == {f"arrival {TEMPO}": "good"}


@pytest.mark.parametrize(
    "text",
    [
        "his brother peeks",
        "mum says he peeks",
        "last month he peeked",
        "he used to peek",
        "maybe he peeks",
        "he peeks, but I'm not sure",
        "does he peek?",
        "why does he peek",
        "next week we look at the peeking",
        "if only he would not peek",
        "I told him not to peek",
        "he rarely peeks",
        "didn't look at the peeking",
    ],
)
def test_others_other_times_guesses_questions_and_wishes_are_left_out_with_a_reason(text: str) -> None:
    assert read(text).proposals == ()
    assert len(reasons(text)) == 1


def test_a_sentence_comes_back_to_its_student() -> None:
    assert seen("her brother rushes but she peeks") == {f"arrival {PEEKS}": "not_graded"}
    assert seen("last year he rushed, today he peeks") == {f"arrival {PEEKS}": "not_graded"}
    assert seen("dad says she rushes. she doesn't") == {f"arrival {TEMPO}": "good"}


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("peeks, better by the end", {f"arrival {PEEKS}": "not_graded", f"departure {PEEKS}": "slight"}),
        ("peeks, and at the end it was worse", {f"arrival {PEEKS}": "not_graded", f"departure {PEEKS}": "clear"}),
        ("peeking at first, gone by the end", {f"arrival {PEEKS}": "not_graded", f"departure {EYES}": "good"}),
        ("rushed at first, then calm", {f"arrival {RUSHED}": "not_graded", f"departure {TEMPO}": "good"}),
        ("still peeking when he left", {f"departure {PEEKS}": "not_graded"}),
        (
            "came in peeking, by the end the head stays down",
            {f"arrival {PEEKS}": "not_graded", f"departure {EYES}": "good"},
        ),
    ],
)
def test_before_and_after(text: str, expected: dict[str, str]) -> None:
    assert seen(text) == expected


def test_better_than_another_time_is_no_departure() -> None:
    assert seen("tempo better than last month, still rushing a bit") == {f"arrival {RUSHED}": "slight"}


@pytest.mark.parametrize(("side", "foot"), [("right", "right"), ("left", "left"), ("right", "back"), ("left", "trail")])
def test_a_side_is_that_of_this_student(side: str, foot: str) -> None:
    found = seen(f"weight on the {foot} foot", side=side)
    assert found == {"arrival putting-weight-trail": "not_graded"}


@pytest.mark.parametrize(
    ("text", "side", "code"),
    [
        ("starts it left", "right", "putting-face-closed"),
        ("starts it left", "left", "putting-face-open"),
        ("aims right", "right", "putting-aim-open"),
        ("aims right", "left", "putting-aim-closed"),
    ],
)
def test_open_and_closed_follow_the_playing_side(text: str, side: str, code: str) -> None:
    assert seen(text, side=side) == {f"arrival {code}": "not_graded"}


def test_a_side_that_does_not_fit_its_fault_is_left_out() -> None:
    text = "falls back onto the left foot"
    assert seen(text, "chipping") == {}
    assert reasons(text, "chipping") == ["The side does not fit this fault."]
    assert seen(text, "chipping", "left") == {"arrival chipping-weight-drifts": "not_graded"}


def test_two_areas_in_one_sentence() -> None:
    found = seen("on the putts he peeks and on the chips the ball was too far back", "chipping")
    assert found == {f"arrival {PEEKS}": "not_graded", "arrival chipping-ball-position-back": "not_graded"}


def test_a_fault_of_an_area_that_is_not_ticked_is_left_out() -> None:
    text = "rushes the change of direction"
    assert reasons(text, "bunker") == ["This belongs to an area that is not ticked."]
    assert [row.fault for row in read(text, "bunker", ticked=(PUTTING,)).proposals] == [RUSHED]


@pytest.mark.parametrize(
    ("text", "fault"),
    [("leaves all his putts short", "putting-pace-short"), ("leaves it a metre past", "putting-pace-long")],
)
def test_a_ball_that_is_left_somewhere_is_nothing_to_be_left_as_it_is(text: str, fault: str) -> None:
    assert seen(text) == {f"arrival {fault}": "not_graded"} and codes(text, Kind.KEEP) == []
    assert codes("grip good, leaving it", Kind.KEEP) == [GRIP_SKILL]


def test_words_that_two_areas_share_belong_to_the_one_that_is_ticked() -> None:
    text = "has to reach for it"
    assert seen(text) == {"arrival putting-posture-far": "not_graded"}
    assert seen(text, "chipping") == {"arrival chipping-distance-far": "not_graded"}
    assert reasons(text, "bunker") == ["This belongs to an area that is not ticked."]
    assert [row.fault for row in read(text, "bunker", ticked=(PUTTING,)).proposals] == ["putting-posture-far"]


@pytest.mark.parametrize(
    ("text", "faults"),
    [
        ("peeks, we work on that", [PEEKS]),
        ("the job is the peeking", [PEEKS]),
        ("priority: tempo. rushes from the top", [RUSHED]),
        ("peeks and rushes. we only work on the rushing", [RUSHED]),
        ("good job, he peeks less", []),
        ("peeks, but that is not the priority", []),
    ],
)
def test_a_focus_is_what_is_worked_on_now(text: str, faults: list[str]) -> None:
    assert codes(text, Kind.FOCUS) == faults


@pytest.mark.parametrize(
    ("text", "dose"),
    [
        ("ladder, twenty balls every day", Dose(20, "balls", 7, None)),
        ("ladder 15 min 3x/wk, 2 wks", Dose(15, "minutes", 3, 14)),
        ("the ladder, ten in a row, twice a week for a month", Dose(10, "successes", 2, 30)),
        ("half an hour of the ladder", Dose(30, "minutes")),
        ("ladder 10 min, no make it 20 min", Dose(20, "minutes")),
        ("after twenty balls I gave him the ladder", Dose()),
    ],
)
def test_a_dose_in_words_and_digits(text: str, dose: Dose) -> None:
    found = [row for row in read(text).proposals if row.kind is Kind.DRILL]
    assert [(row.drill, row.dose) for row in found] == [("putting-ladder", dose)]


def test_each_drill_keeps_its_own_dose() -> None:
    found = read("clock 10 min, ladder 20 balls, three weeks each").proposals
    assert [row.dose for row in found] == [Dose(10, "minutes", None, 21), Dose(20, "balls", None, 21)]


@pytest.mark.parametrize("text", ["no ladder", "last week the ladder", "the ladder is done with"])
def test_a_drill_that_is_not_given_is_not_proposed(text: str) -> None:
    assert codes(text, Kind.DRILL) == []


def test_a_right_that_stresses_what_follows_is_no_side() -> None:
    assert seen("chest looks right at the target", "chipping") == {"arrival chipping-turn-through": "good"}
    assert seen("aims right at setup") == {"arrival putting-aim-open": "not_graded"}


def test_a_point_within_a_number_ends_no_sentence() -> None:
    assert seen("change of direction rushed, 1.4 to 1, badly") == {f"arrival {RUSHED}": "clear"}


def test_half_a_foot_is_no_half_hour() -> None:
    found = read("enters too far behind, half a foot. line in the sand, 15 balls", "bunker").proposals
    assert [row.dose for row in found if row.kind is Kind.DRILL] == [Dose(15, "balls")]


def test_too_much_of_what_is_good_is_not_good() -> None:
    text = "too much weight on the left foot"
    assert seen(text, "chipping") == {}
    assert reasons(text, "chipping") == ["Said not to be good, but not how."]


@pytest.mark.parametrize("text", ["his thigh wobbles", "the grip is smooth", "the putter wobbles on the way back"])
def test_one_word_beside_another_part_of_the_body_or_another_skill_is_not_sure(text: str) -> None:
    assert seen(text) == {}
    assert reasons(text) == ["The words beside it may mean something else."]


def test_a_phrase_of_many_words_is_surer_than_one_with_gaps_or_other_parts_of_the_body() -> None:
    assert confidence(1) == confidence(4) == 1
    assert confidence(2, foreign=1) < SURE < confidence(4, foreign=1)
    assert confidence(2, between=1) < SURE < confidence(3, between=2)


@pytest.mark.parametrize(
    "text",
    [
        "grip, stance width, tempo all fine",
        "grip, tempo and stance width good",
        "grip good, stance width too, tempo as well",
    ],
)
def test_praise_of_names_in_a_row_is_praise_of_each(text: str) -> None:
    good = [GRIP_SKILL, "putting-stance-width", TEMPO]
    assert seen(text) == {f"arrival {skill}": "good" for skill in good}


@pytest.mark.parametrize(
    "text",
    [
        "keep the left wrist flat, I said",
        "wants to keep his head still",
        "open stance by choice",
        "ball back: textbook",
    ],
)
def test_what_is_asked_for_or_meant_was_not_seen(text: str) -> None:
    assert seen(text) == {} and codes(text, Kind.KEEP) == []


def test_a_label_with_praise_excuses_no_fault_of_the_label_before() -> None:
    assert seen("Tempo: rushed. Read: good.") == {f"arrival {RUSHED}": "not_graded", "arrival putting-read": "good"}


def test_a_row_of_names_ends_where_a_fault_is_named() -> None:
    assert seen("grip, tempo, he peeks, stance fine") == {
        f"arrival {PEEKS}": "not_graded",
        "arrival putting-stance-width": "good",
    }


@pytest.mark.parametrize(
    "text", ["the rush has left him", "anything but rushed", "the old rush didn't show up", "the tempo isn't rushed"]
)
def test_more_ways_to_say_that_a_fault_was_absent(text: str) -> None:
    assert seen(text) == {f"arrival {TEMPO}": "good"}


def test_a_time_before_a_comma_opens_the_list_after_it() -> None:
    assert seen("by the end, finish held, tempo good") == {
        "departure putting-finish-hold": "good",
        f"departure {TEMPO}": "good",
    }


def test_good_at_the_end_but_not_always_is_better() -> None:
    found = seen("rushes at first, smooth at the end though not every time")
    assert found == {f"arrival {RUSHED}": "not_graded", f"departure {RUSHED}": "slight"}


def test_a_degree_that_is_denied_is_none() -> None:
    assert seen("peeks, not horribly")[f"arrival {PEEKS}"] != "clear"


def test_what_a_drill_put_right_was_there_and_is_gone() -> None:
    assert seen("the coin sorted the peeking") == {f"arrival {PEEKS}": "not_graded", f"departure {EYES}": "good"}


@pytest.mark.parametrize("text", ["stop the coin drill", "after the ladder"])
def test_a_drill_that_was_stopped_or_only_done_is_not_given(text: str) -> None:
    assert codes(text, Kind.DRILL) == []


def test_ten_a_day_are_balls() -> None:
    found = [row.dose for row in read("ladder, 10 a day").proposals]
    assert found == [Dose(10, "balls", 7, None)]


def test_what_a_student_is_to_do_was_not_seen() -> None:
    assert seen("hold the finish for three") == {}
    assert seen("holds the finish for three") == {"arrival putting-finish-hold": "good"}


def test_two_words_far_apart_are_not_joined() -> None:
    assert reasons("hands and shoulders low") == ["These words stand too far apart."]


@pytest.mark.parametrize("text", ["rushse the change of direction", "rushes teh change of direcion"])
def test_slips_of_typing(text: str) -> None:
    assert f"arrival {RUSHED}" in seen(text)


def test_a_correction_takes_back_what_was_said() -> None:
    assert seen("stance too wide, no wait, too narrow") == {"arrival putting-stance-width-narrow": "not_graded"}


def test_two_faults_that_fit_equally_well_are_left_out() -> None:
    skill = {
        "code": "s",
        "area": "a",
        "name": "Swing",
        "fault": [{"code": "x", "name": "X"}, {"code": "y", "name": "Y"}],
    }
    phrases = {"x": {"phrases": ["hurls it"]}, "y": {"phrases": ["hurls it"]}}
    found = read_sentence("she hurls it", ["a"], {}, build_catalogue("two", [skill], [], phrases))
    assert found.proposals == ()
    assert [row.reason for row in found.left_out] == ["Two faults fit these words equally well."]


def test_overlapping_words_of_two_faults_are_left_out() -> None:
    faults = [{"code": "x", "name": "X"}, {"code": "y", "name": "Y"}]
    skill = {"code": "s", "area": "a", "name": "Swing", "fault": faults}
    phrases = {"x": {"phrases": ["hurls club"]}, "y": {"phrases": ["club down"]}}
    assert (
        read_sentence("she hurls the club down", ["a"], {}, build_catalogue("overlap", [skill], [], phrases)).proposals
        == ()
    )


def test_a_fault_without_phrases_is_known_by_its_name() -> None:
    skill = {"code": "s", "area": "a", "name": "Cap", "fault": [{"code": "x", "name": "{Lead} brim down"}]}
    known = build_catalogue("name", [skill], [], {})
    assert [row.fault for row in read_sentence("left brim down", ["a"], {}, known).proposals] == ["x"]
    assert read_sentence("left brim down", ["a"], {"a": "left"}, known).proposals == ()


@pytest.mark.parametrize(
    ("text", "degree"),
    [("super stiff, he peeks", "not_graded"), ("he really peeks", "clear"), ("a hint of peeking", "slight")],
)
def test_more_words_for_how_much(text: str, degree: str) -> None:
    assert seen(text)[f"arrival {PEEKS}"] == degree


@pytest.mark.parametrize(
    "text",
    [
        "don't rush",
        "he shouldn't rush",
        "stop rushing, I said",
        "his pupil before him rushed, a pupil of mine rushes",
        "on saturday he rushed",
        "at the club championship he rushed",
        "on the course he rushes",
        "he'll rush again by friday",
        "look out for rushing",
        "he complained that he rushes",
        "it's the rushing or the brake",
        "he hardly rushes",
        "no problem with the rushing today",
        "says he's rushing",
    ],
)
def test_what_is_forbidden_or_said_of_another_time_or_only_feared_was_not_seen(text: str) -> None:
    assert seen(text) == {}


@pytest.mark.parametrize("text", ["I don't like the rushing", "not for the first time he rushes"])
def test_a_no_to_something_else_leaves_the_fault(text: str) -> None:
    assert seen(text) == {f"arrival {RUSHED}": "not_graded"}


def test_a_list_of_what_was_not_seen_goes_on_to_its_end() -> None:
    denied = seen("he doesn't rush, peek or fall over")
    assert denied == {f"arrival {code}": "good" for code in (TEMPO, EYES, "putting-finish-hold")}
    assert seen("rushing: no; peeking: yes") == {f"arrival {TEMPO}": "good", f"arrival {PEEKS}": "not_graded"}


def test_less_of_a_fault_is_not_yet_good() -> None:
    for text in (
        "not peeking as much by the end",
        "hardly any peeking by the end",
        "good that he peeks less by the end",
    ):
        assert seen(text) == {f"departure {PEEKS}": "slight"}


@pytest.mark.parametrize(
    "text",
    [
        "wants to keep the wrists quiet but can't",
        "the wrists are quiet, but not great",
        "he forgot to look at the lie",
        "chest short of the target",
        "head down too long",
    ],
)
def test_what_falls_short_is_not_good(text: str) -> None:
    assert "good" not in seen(text, "chipping").values()


def test_a_list_that_a_departure_opens_is_of_the_departure() -> None:
    assert seen("last five: no rushing, no peeking") == {f"departure {TEMPO}": "good", f"departure {EYES}": "good"}
    assert seen("after the break no rushing") == {f"departure {TEMPO}": "good"}
    assert seen("peeks. after that chipping: fat") == {
        f"arrival {PEEKS}": "not_graded",
        "arrival chipping-low-point-fat": "not_graded",
    }


@pytest.mark.parametrize("text", ["he keeps lifting his head", "weight fine, she kept it", "keep the wrists quiet"])
def test_a_habit_a_report_and_an_order_are_nothing_to_be_kept(text: str) -> None:
    assert codes(text, Kind.KEEP, "chipping") == []


def test_what_stays_after_a_drill_is_the_drill() -> None:
    assert codes("peeks. we did the ladder, that stays", Kind.KEEP) == []


def test_a_part_of_a_drill_s_name_gives_it_only_with_a_dose() -> None:
    assert codes("he likes long rolls, the wall is cold", Kind.DRILL) == []
    assert codes("wall, ten minutes", Kind.DRILL) == ["putting-wall-touch"]
    assert seen("two rods on the toes, five minutes") == {}


@pytest.mark.parametrize(
    ("text", "dose"),
    [
        ("ladder until he holes twelve", Dose(12, "successes")),
        ("ladder 20 balls weekly", Dose(20, "balls", 1)),
        ("ladder 15 min 3pw", Dose(15, "minutes", 3)),
    ],
)
def test_goals_and_short_forms_of_a_dose(text: str, dose: Dose) -> None:
    assert [row.dose for row in read(text).proposals if row.kind is Kind.DRILL] == [dose]


def test_a_colon_parts_no_phrase() -> None:
    assert seen("aim: left, slightly") == {"arrival putting-aim-closed": "slight"}


def test_every_proposal_quotes_the_words_that_it_rests_on() -> None:
    text = "Ball fine… she peeks a bit; ladder, 10 min"
    quoted = [text[row.start : row.end] for row in read(text).proposals]
    assert quoted == ["peeks", "ladder"]


@pytest.mark.parametrize(
    "text", ["", "   ", "…!?", "Il lève la tête trop tôt.", "Sie hebt den Kopf zu früh.", "see you tuesday"]
)
def test_where_nothing_is_found_the_reading_says_so(text: str) -> None:
    assert read(text).found_nothing


def test_an_expression_that_is_also_praise_is_read() -> None:
    assert seen("he peeks, the feet are all right") == {f"arrival {PEEKS}": "not_graded"}


def test_a_very_long_text_is_read_up_to_its_limit() -> None:
    long = "he peeks and rushes, " * 400
    found = read(long)
    assert {row.fault for row in found.proposals} == {PEEKS, RUSHED}
    assert all(row.end <= LONGEST for row in found.proposals)


def test_any_text_is_read() -> None:
    signs = "a - / 3x/ … (no) 'tis w/ 99999999 & + | ;; — \x00 é 😀 {lead} <> .. ?"
    assert all(read(signs[place:]) is not None for place in range(len(signs)))


# --- What is left out because it is not sure ------------------------------------------------------


@pytest.mark.parametrize(
    "text", ["second half he peeks", "peeks less", "the peeking is better", "peeks when he is tired"]
)
def test_a_fault_that_is_only_vaguely_of_the_end_is_left_out(text: str) -> None:
    assert seen(text) == {}
    assert reasons(text) == ["This may be of the arrival or of the departure."]


def test_a_fault_that_came_with_the_work_is_of_the_departure() -> None:
    for text in ("after 20 balls he peeks", "by the end he peeks"):
        assert seen(text) == {f"departure {PEEKS}": "not_graded"}
    assert seen("peeks less at the end") == {f"departure {PEEKS}": "slight"}
    assert seen("peeks, then peeks less") == {f"arrival {PEEKS}": "not_graded", f"departure {PEEKS}": "slight"}


def test_a_phrase_among_more_words_that_mean_nothing_here_is_left_out() -> None:
    assert seen("peeking under the green wool hood") == {}
    assert reasons("peeking under the green wool hood") == ["The words beside it may mean something else."]
    assert seen("peeking under the hood again") == {f"arrival {PEEKS}": "not_graded"}


def test_a_denial_beside_words_that_mean_nothing_here_may_deny_those() -> None:
    assert seen("did not peek when I held his cap") == {}
    assert seen("only on long putts not on short ones") == {}
    assert seen("did not peek once") == {f"arrival {EYES}": "good"}


@pytest.mark.parametrize("text", ["he did not look up", "she not look up any more", "does not look up at all"])
def test_a_no_denies_whatever_else_holds_it(text: str) -> None:
    """ "Not look" alone says that nobody looked."""
    assert seen(text) == {f"arrival {EYES}": "good"}


def test_a_degree_after_a_fault_that_was_left_out_is_not_of_the_one_before() -> None:
    assert seen("peeks. maybe he rushes, a bit") == {f"arrival {PEEKS}": "not_graded"}
    assert seen("peeks. maybe he rushes, better by the end") == {f"arrival {PEEKS}": "not_graded"}
    assert seen("he peeks, a clear toe-heel problem")[f"arrival {PEEKS}"] == "not_graded"


def test_a_dose_is_left_out_where_its_drill_was_not_understood() -> None:
    for text in ("tape on thumbs 15 putts mon thu", "prints nine balls three days a week"):
        assert read(text).proposals == ()
        assert reasons(text) == ["This is a dose, but the drill was not understood."]
    assert [row.dose for row in read("ten minutes a day").proposals] == [Dose(10, "minutes", 7)]


def test_every_drill_is_known_by_its_whole_name_with_and_without_its_commas() -> None:
    for drill in rows(ROOT / "drills/library/catalogue", "drill"):
        name = drill["name"].lower().replace("{lead}", "left").replace("{trail}", "right")
        name = name.replace("{open}", "right").replace("{closed}", "left")
        for said in (name, name.replace(",", "")):
            found = [row.drill for row in read(f"{said}, 15 balls a day", drill["area"]).proposals]
            assert found == [drill["code"]], said


def test_what_is_left_alone_by_a_name_that_is_no_skill_is_not_the_skill_before() -> None:
    assert codes("scoops it. leave the grip alone", Kind.KEEP, "chipping") == []
    assert codes("wrists good. leave that alone", Kind.KEEP, "chipping") == ["chipping-wrists"]


def test_words_that_only_sound_like_an_end_are_of_the_arrival() -> None:
    assert seen("eyes end up outside the ball") == {"arrival putting-eye-line-outside": "not_graded"}
    assert seen("shes got it too far open", "bunker") == {"arrival bunker-face-open": "not_graded"}
    assert seen("the only thing to be mended is the peeking") == {f"arrival {PEEKS}": "not_graded"}
    assert codes("the only thing to be mended is the peeking", Kind.FOCUS) == [PEEKS]


def test_words_that_were_heard_wrong_are_put_right() -> None:
    assert seen("she peaks a bit") == {f"arrival {PEEKS}": "slight"}
    assert seen("weight on his heals") == {"arrival putting-weight-heels": "not_graded"}


# ------------------------------------------------- labelled sentences: tests/sentences/labels.md


def precision_and_recall(part: str) -> tuple[float, float]:
    total = count(part)["all"]
    return total["true"] / (total["true"] + total["false"]), total["true"] / (total["true"] + total["missed"])


# What is reached, rounded down. The aim is 0.95 and 0.80 on the parts whose errors nobody looked at while the rules
# were made: sealed and orderly come within a point of it, unread within six.
@pytest.mark.parametrize(
    ("part", "least_precision", "least_recall"),
    [
        ("open", 0.99, 0.96),
        ("hurried", 0.93, 0.63),
        ("dictated", 0.95, 0.85),
        ("spoken", 0.88, 0.65),
        ("noted", 0.95, 0.70),
        ("voices", 0.93, 0.81),
        ("evening", 0.91, 0.71),
        ("closing", 0.94, 0.78),
        ("tuning", 0.98, 0.87),
        ("checking", 0.97, 0.84),
        ("third-tuning", 0.96, 0.86),
        ("unread", 0.88, 0.73),
        ("sealed", 0.94, 0.83),
        ("relaxed", 0.98, 0.90),
        ("brisk", 0.98, 0.95),
        ("orderly", 0.94, 0.82),
        ("several", 0.99, 0.91),
    ],
)
def test_labelled_sentences_are_read_as_well_as_stated(part: str, least_precision: float, least_recall: float) -> None:
    precision, recall = precision_and_recall(part)
    assert precision >= least_precision
    assert recall >= least_recall


def test_every_code_of_the_shipped_phrases_is_in_the_catalogue() -> None:
    known = {skill.code for skill in catalogue().skills} | {drill.code for drill in catalogue().drills}
    known |= {fault.code for skill in catalogue().skills for fault in skill.faults}
    assert set(shipped_phrases()) == known


def test_no_sentence_that_was_read_right_is_lost() -> None:
    """By the labels, which were written before any rule; `python -m tests.sentences --keep` adds what is new."""
    for part, places in json.loads(READ_RIGHT.read_text()).items():
        assert not set(places) - set(read_right(part)), part


# --- Where one rule ends and the next begins ----------------------------------------------------


def test_a_drill_that_is_kept_is_given_and_no_skill_is() -> None:
    for text in ("keep the ladder going", "keep the ladder and the clock as they are"):
        assert seen(text) == {} and codes(text, Kind.KEEP) == []
        assert codes(text, Kind.DRILL)


def test_not_that_good_takes_back_what_was_praised_last_and_nothing_before_it() -> None:
    assert seen("grip good, tempo good, not great") == {f"arrival {GRIP_SKILL}": "good"}
    assert seen("tempo nice, rushed, not great") == {f"arrival {RUSHED}": "not_graded"}
    fine = {f"arrival {GRIP_SKILL}": "good", f"arrival {PEEKS}": "not_graded"}
    assert seen("grip fine, he peeks, not good enough") == fine


def test_both_are_the_last_two_faults_and_never_what_was_good() -> None:
    found = seen("he peeks, tempo fine, grip too tight, both better by the end")
    assert {key for key in found if key.startswith("departure")} == {f"departure {PEEKS}", f"departure {GRIP}"}
    found = seen("grip fine, he peeks, both better at the end")
    assert {key for key in found if key.startswith("departure")} == {f"departure {PEEKS}"}


def test_another_time_lasts_over_a_comma_where_only_names_follow() -> None:
    assert seen("he was rushed last month, grip fine") == {}
    assert seen("next time we look at the grip, tempo rushed") == {}
    assert seen("last month he peeked, squeezing the handle today") == {f"arrival {GRIP}": "not_graded"}


@pytest.mark.parametrize("text", ["he peeks, not any better", "he peeks, no better", "he peeks, it isn't better"])
def test_no_better_is_no_departure(text: str) -> None:
    assert seen(text) == {f"arrival {PEEKS}": "not_graded"}


def test_one_word_of_praise_for_two_skills_is_not_sure_and_more_words_are() -> None:
    assert seen("eyes stay down") == {f"arrival {EYES}": "good"}
    assert seen("eyes stay down, head still") == {f"arrival {EYES}": "good"}
    assert reasons("head still") == ["Two faults fit these words equally well."]


def test_a_week_after_a_time_of_day_is_how_long() -> None:
    for text in ("ladder every evening a week", "10 balls of the ladder each evening a week"):
        [row] = [row for row in read(text).proposals if row.kind is Kind.DRILL]
        assert row.dose and (row.dose.per_week, row.dose.days) == (7, 7)
    [row] = [row for row in read("ladder, 20 balls, one evening a week").proposals if row.kind is Kind.DRILL]
    assert row.dose and (row.dose.amount, row.dose.per_week, row.dose.days) == (20, 1, None)


def doses(text: str) -> list[tuple[int | None, int | None, int | None]]:
    found = [row.dose for row in read(text).proposals if row.kind is Kind.DRILL and row.dose]
    return [(dose.amount, dose.per_week, dose.days) for dose in found]


def test_an_amount_that_was_put_right_at_once_is_the_second_one_of_its_kind() -> None:
    assert doses("ladder ten minutes, no, make it twenty minutes") == [(20, None, None)]
    assert doses("ladder 10 minutes a day, no, make it 20 minutes") == [(20, 7, None)]
    assert doses("ladder 10 minutes twice a week, no make that three times a week") == [(10, 3, None)]
    assert doses("ladder ten minutes, make it fun") == [(10, None, None)]


def test_an_amount_before_and_is_that_of_the_drill_before_it() -> None:
    for text in ("ladder 10 minutes and the clock 20 balls", "ladder 10 minutes then the clock 20 balls"):
        assert doses(text) == [(10, None, None), (20, None, None)]
    assert doses("ladder 10 minutes and the clock 20 balls, no, make it 30 balls")[1] == (30, None, None)
    assert doses("ten minutes of the ladder and the clock") == [(10, None, None), (None, None, None)]


def test_how_long_a_drill_lasts_and_how_often_are_two_things() -> None:
    assert doses("ladder, fortnight") == doses("ladder for two weeks") == [(None, None, 14)]
    assert doses("ladder twice a day a week") == [(None, 14, None)]
    assert doses("10 minutes a day a month of the ladder") == [(10, 7, None)]


def test_what_stands_before_a_question_is_none() -> None:
    assert seen("grip good, is he peeking?") == {f"arrival {GRIP_SKILL}": "good"}
    assert seen("tempo good, why does he peek?") == {f"arrival {TEMPO}": "good"}


@pytest.mark.parametrize("text", ["grip too tight: good", "grip too tight: really good"])
def test_a_label_that_names_a_fault_and_is_praised_is_left_out(text: str) -> None:
    assert seen(text) == {} and len(reasons(text)) == 1


@pytest.mark.parametrize("words", ["right off the start", "right over the ball", "right past it", "right out there"])
def test_right_after_a_word_of_pointing_is_a_side(words: str) -> None:
    assert seen(f"aims {words}") == {"arrival putting-aim-open": "not_graded"}


def test_a_focus_that_is_denied_is_none() -> None:
    for text in ("no focus on peeking", "not the focus, the peeking", "we are not working on the peeking"):
        assert codes(text, Kind.FOCUS) == []


def test_a_focus_that_was_announced_is_in_the_next_sentence_or_not_at_all() -> None:
    assert codes("the job for now. he peeks", Kind.FOCUS) == [PEEKS]
    assert codes("next we work on. it rains. he peeks", Kind.FOCUS) == []


def test_what_an_aim_is_set_against_is_neither_good_nor_seen() -> None:
    """Nothing is known of it: "work on A, not on B" says no more than that B can wait."""
    aims = ("work on the peeking", "the job is the peeking", "the peeking is what we work on", "focus: peeking")
    others = (
        *(", not on the rushing", ", not the rushing", " and not the rushing", " but not on the rushing"),
        *(" rather than the rushing", " instead of the rushing", ", not even the rushing", ". not on the rushing"),
        *(", never mind the rushing", ", don't bother with the rushing", ", not on the grip or the rushing"),
        *(", don't work on the rushing", ", forget about the rushing", ", nothing else, not even the rushing"),
    )
    for text in (aim + other for aim in aims for other in others):
        assert codes(text, Kind.FOCUS) == [PEEKS], text
        assert not {key for key in seen(text) if "tempo" in key}, text
        assert "This seems to be what is not worked on." in reasons(text), text
    for text in ("not the rushing, the job is the peeking", "forget the rushing, we work on the peeking"):
        assert codes(text, Kind.FOCUS) == [PEEKS] and seen(text) == {f"arrival {PEEKS}": "not_graded"}, text
    assert seen("he rushes and peeks; work on the rushing, not on the peeking") == {
        f"arrival {RUSHED}": "not_graded",
        f"arrival {PEEKS}": "not_graded",
    }


@pytest.mark.parametrize(
    "text",
    [
        "work on the peeking, no rushing today",
        "peeks, that's the priority. no rushing at all",
        "we work on the peeking. he is not rushing",
        "he peeks, not rushed though",
    ],
)
def test_a_denial_of_its_own_beside_an_aim_is_still_good(text: str) -> None:
    assert seen(text)[f"arrival {TEMPO}"] == "good"


def test_a_drill_that_nobody_need_bother_with_is_not_given() -> None:
    for text in ("never mind the ladder", "don't bother with the ladder", "skip the ladder, ten minutes"):
        assert codes(text, Kind.DRILL) == []


# --- Said in a hurry ----------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("stance too wide, sorry, too narrow", "putting-stance-width-narrow"),
        ("stance too wide no wait too narrow", "putting-stance-width-narrow"),
        ("on the toes, I mean heels", "putting-weight-heels"),
        ("the grip is too tight, well too loose actually", "putting-grip-loose"),
        ("he peeks, sorry to say", PEEKS),
        ("it rushes, I mean really rushed", RUSHED),
    ],
)
def test_of_two_faults_the_one_that_puts_the_other_right_counts(text: str, expected: str) -> None:
    assert [key.removeprefix("arrival ") for key in seen(text)] == [expected]


def test_what_is_struck_out_in_one_breath_does_not_count() -> None:
    assert seen("he peeks scratch that he stands up") == {"arrival putting-finish-posture-rises": "not_graded"}
    assert seen("tempo rushed, I mean the grip too tight").keys() == {f"arrival {RUSHED}", f"arrival {GRIP}"}


def test_of_two_drills_the_one_that_takes_the_other_s_place_is_given() -> None:
    for text in ("clock, no wait, the ladder", "clock, or make it the ladder", "swap the clock for the ladder, 10 min"):
        assert codes(text, Kind.DRILL) == ["putting-ladder"], text
    assert codes("rather the ladder than the clock, ten minutes a day", Kind.DRILL) == ["putting-ladder"]
    assert codes("clock 10 minutes, no make it 20 minutes, and the ladder", Kind.DRILL) == [
        "putting-clock",
        "putting-ladder",
    ]
    assert doses("two coins, I mean the two coins, 15 balls") == [(15, None, None)]


def test_praise_that_holds_only_at_times_is_not_good() -> None:
    for text in ("tempo fine unless it's for a win", "pace good uphill", "tempo good, except on the long ones"):
        assert seen(text) == {} and len(reasons(text)) == 1, text
    assert f"arrival {TEMPO}" in seen("tempo good, except he peeks")


@pytest.mark.parametrize(
    "text",
    [
        "hardly peeked",
        "only peeks when he's nervous",
        "one rushed putt in thirty",
        "you'd think he'd stop peeking by now",
        "keep the peeking in mind",
        "how good was that finish",
        "try the peeking drill",
        "told the group about peeking",
        "the school coach wants it quick",
        "played with a man who peeks",
        "Wednesday lunch discussion regarding peeking",
    ],
)
def test_more_that_was_not_seen_of_this_student(text: str) -> None:
    assert seen(text) == {} and codes(text, Kind.KEEP) == []


def test_none_after_a_lack_says_it_again_and_after_a_fault_denies_it() -> None:
    assert seen("no landing spot, none", "chipping") == {"arrival chipping-landing-none": "not_graded"}
    assert seen("scooping, none", "chipping") == {"arrival chipping-wrists": "good"}


def test_a_fault_is_never_kept() -> None:
    assert codes("keep the peeking", Kind.KEEP) == []


def test_three_times_ten_is_no_amount_that_is_sure() -> None:
    assert doses("ladder, 3x10 balls, daily") == [(None, 7, None)]


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        (
            "peeks on the first five, not on the last five",
            {f"arrival {PEEKS}": "not_graded", f"departure {EYES}": "good"},
        ),
        (
            "peeks, gone after the coin, then it came back",
            {f"arrival {PEEKS}": "not_graded", f"departure {PEEKS}": "not_graded"},
        ),
        ("after the ladder no peeking", {f"departure {EYES}": "good"}),
        ("after the coin no peeking, after the break it was back", {}),
        (
            "at the end he was peeking more than at the beginning",
            {f"arrival {PEEKS}": "not_graded", f"departure {PEEKS}": "clear"},
        ),
        ("rushed all along, calmer at the end", {f"arrival {RUSHED}": "not_graded", f"departure {RUSHED}": "slight"}),
        ("rushed, told him less, fine by the end", {f"arrival {RUSHED}": "not_graded", f"departure {TEMPO}": "good"}),
        (
            "rushed as ever, even after we talked",
            {f"arrival {RUSHED}": "not_graded", f"departure {RUSHED}": "not_graded"},
        ),
        ("rushed before, calm after", {f"arrival {RUSHED}": "not_graded", f"departure {TEMPO}": "good"}),
        (
            "leaves it short until I put a tee down, then past it every time",
            {"arrival putting-pace-short": "not_graded", "departure putting-pace-long": "not_graded"},
        ),
        ("she came with the weight on the heels", {"arrival putting-weight-heels": "not_graded"}),
        ("she left with the weight on the heels", {"departure putting-weight-heels": "not_graded"}),
        ("the rushing went in the end", {f"departure {TEMPO}": "good"}),
    ],
)
def test_more_ways_to_tell_before_from_after(text: str, expected: dict[str, str]) -> None:
    assert seen(text) == expected


def test_a_job_that_lasts_until_another_day_is_one_of_today() -> None:
    for text in ("until next week the job is the peeking", "from tomorrow we work on the peeking"):
        assert codes(text, Kind.FOCUS) == [PEEKS], text
    assert codes("next week the peeking", Kind.FOCUS) == [] and seen("next week the peeking") == {}


def test_not_better_but_worse_is_worse_and_neither_is_no_change() -> None:
    worse = {f"arrival {PEEKS}": "not_graded", f"departure {PEEKS}": "clear"}
    for words in ("was not better just worse", "wasn't any better just worse"):
        assert seen(f"he peeks, at the end the peeking {words}") == worse
    assert seen("he peeks, at the end the peeking was no better and no worse").get(f"departure {PEEKS}") != "clear"
    assert seen("he peeks, at the end the peeking was no better") == {
        f"arrival {PEEKS}": "not_graded",
        f"departure {PEEKS}": "not_graded",
    }


def test_an_area_that_is_named_after_what_was_seen_holds_for_that_alone() -> None:
    """A name alone was not seen, so its area goes on."""
    fat = {"arrival chipping-low-point-fat": "not_graded"}
    assert seen("on the heels with the putter, fat", "chipping") == {"arrival putting-weight-heels": "not_graded"} | fat
    assert seen("no peeking with the putter, fat", "chipping") == {f"arrival {EYES}": "good"} | fat
    assert seen("eyes stay down with the putter, fat", "chipping") == {f"arrival {EYES}": "good"} | fat
    assert seen("tempo with the putter, then ball too far back", "chipping") == {
        "arrival putting-ball-position-back": "not_graded"
    }


def test_an_aim_beside_one_that_is_denied_is_one() -> None:
    assert codes("no job for now priority peeking", Kind.FOCUS) == [PEEKS]


def test_less_or_fewer_of_a_fault_that_is_praised_is_better_and_less_good_is_not_good() -> None:
    for words in ("fewer rushed putts", "less rushing"):
        found = seen(f"rushed at first, nice {words} at the end")
        assert found == {f"arrival {RUSHED}": "not_graded", f"departure {RUSHED}": "slight"}, words
    for text in ("tempo less good by the end", "tempo not as good by the end"):
        assert seen(text) == {} and reasons(text) == ["Said not to be good, but not how."]


def test_what_improved_nicely_is_better_and_not_gone() -> None:
    assert seen("the peeking improved nicely by the end") == {f"departure {PEEKS}": "slight"}
    assert seen("the peeking improved till it was perfect by the end") == {f"departure {EYES}": "good"}
