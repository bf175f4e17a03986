"""The library as a file: out of one academy and into another, previewed, all or nothing, and twice without doubles."""

import json
from collections.abc import Callable
from typing import Any

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from drills.library.carry.kinds import KINDS, written
from drills.library.carry.library import Library, document, rows_of
from drills.library.carry.plan import State, make_plan
from drills.library.carry.reading import LARGEST, FileProblem, read_file, read_json
from drills.library.carry.take_in import take_in
from drills.load import DESIGNS, load_drills, ship_fits
from drills.models import Design, Drill, Fit
from lessons.derived import recompute_all
from lessons.load import load_catalogue
from lessons.models import Fault, MonthCount, Observation, SeenFault, Skill
from lessons.shipped import tables, without
from tests.conftest import Cast
from tests.make import make_design, make_drill, make_fault, make_lesson, make_look, make_skill

Clients = Callable[[str], Client]
PAGE, TAKE_IN, OUT = (reverse(name) for name in ("library_file", "library_take_in", "library_out"))
DRAWING = {
    "view": "top",
    "frame": [-60, -60, 200, 60],
    "words": "A ball and a hole, on the {lead} side.",
    "pieces": [{"piece": "ball", "x": 0, "y": 0}, {"piece": "hole", "x": 150, "y": 0}],
}


def small_library(**owner: Any) -> Drill:
    """A skill, two faults, a drill for one and wrong for the other, and a design."""
    skill = make_skill("own-hold", name="Hold", measure="hold", measure_unit="cm", measure_low=1, measure_high=9,
                       measure_step=1, measure_usual_low=2, measure_usual_high=3, **owner)  # fmt: skip
    fault = make_fault(skill, "own-loose", name="{Lead} hand loose", costs=["pace", "contact"], **owner)
    other = make_fault(skill, "own-tight", name="{Lead} hand tight", position=1, **owner)
    drill = make_drill("own-ladder", name="Ladder", drawing=DRAWING, places=["green"], items=["tees"], **owner)
    Fit.objects.create(drill=drill, fault=fault, is_first=True)
    Fit.objects.create(drill=drill, fault=other, is_wrong=True)
    make_design("own-gate", kind="gate", width_m=0.08, **owner)
    return drill


def small_document() -> dict[str, Any]:
    """The same as it stands in a file, read back from its text; the rows themselves are gone."""
    small_library()
    found: dict[str, Any] = json.loads(json.dumps(document(Library.read(None), "Reed Bank")))
    empty()
    return found


def empty() -> None:
    Fit.objects.all().delete()
    for plural in ("drills", "designs", "faults", "skills"):
        KINDS[plural].model._default_manager.update(merged_into=None)
        KINDS[plural].model._default_manager.all().delete()


def everything() -> dict[str, list[dict[str, Any]]]:
    """Every stored row with every column that is no key, its fits included."""
    left_out = {"id", "pk", "shipped", "edition", "owner_id", "skill_id", "merged_into_id"}
    columns = {
        plural: [field.attname for field in kind.model._meta.concrete_fields if field.attname not in left_out]
        for plural, kind in KINDS.items()
    }
    return {
        plural: sorted(
            ({name: getattr(row, name) for name in columns[plural]} | written(plural, row) for row in rows_of(plural)),
            key=lambda row: row["code"],
        )
        for plural in KINDS
    }


def upload(client: Client, content: Any, **more: Any) -> Any:
    text = content if isinstance(content, bytes) else json.dumps(content).encode()
    return client.post(PAGE, {"file": SimpleUploadedFile("library.json", text), **more})


def take(client: Client, content: Any, *replaced: str, **more: Any) -> Any:
    """Preview a file, and take it in with what the preview holds."""
    plan = upload(client, content).context
    typed = {"document": plan["document"], "seen": plan["plan"].fingerprint, "replace": list(replaced), **more}
    return client.post(TAKE_IN, typed)


# --- Out and in -----------------------------------------------------------------------------------


def test_out_and_into_an_empty_database_is_the_same_row_for_row(db: None) -> None:
    load_catalogue()
    load_drills()
    small_library()
    kept = make_drill(
        "own-archived", name="Old ladder", archived=True, merged_into=Drill.objects.get(code="own-ladder")
    )
    Skill.objects.filter(code="putting-grip").update(name="How we hold it", edition=2)
    before, out = everything(), document(Library.read(None), "Reed Bank")
    text = json.dumps(out)
    assert len(text) < LARGEST and all(out[plural] for plural in KINDS)
    empty()
    assert not any(everything().values())
    plan = make_plan(read_file(text.encode()), Library.read(None))
    assert plan.problems == [] and {row.state for row in plan.rows} == {State.NEW}
    take_in(plan, ())
    assert everything() == before
    assert Drill.objects.get(code=kept.code).merged_into == Drill.objects.get(code="own-ladder")
    assert document(Library.read(None), "Reed Bank") == out
    again = make_plan(read_file(text.encode()), Library.read(None))
    assert {row.state for row in again.rows} == {State.SAME} and take_in(again, ()) == []


def test_two_academies_share_drills_in_the_browser(cast: Cast, as_: Clients) -> None:
    drill = small_library()
    make_drill("own-other", name="Other drill")
    answer = as_("coach").get(OUT, {"drill": drill.code})
    assert answer.headers["Content-Disposition"] == 'attachment; filename="library.json"'
    content = json.loads(answer.content)
    assert {plural: [row["code"] for row in content[plural]] for plural in KINDS} == {
        "skills": ["own-hold"],
        "faults": ["own-loose", "own-tight"],
        "drills": ["own-ladder"],
        "designs": [],
    }
    empty()
    page = upload(as_("manager"), content)
    assert page.status_code == 200 and not Drill.objects.exists(), "a preview writes nothing"
    assert "Ladder" in page.content.decode() and page.context["plan"].counts == {"new": 4}
    assert take(as_("manager"), content).status_code == 302
    stored = Drill.objects.get()
    assert stored.owner is None and stored.drawing == DRAWING and stored.history.get().history_user == cast.manager  # type: ignore[attr-defined]
    assert Fit.objects.get(is_first=True).fault.name == "{Lead} hand loose"
    assert upload(as_("manager"), content).context["plan"].counts == {"the same": 4}


def test_a_part_is_chosen_by_area_or_by_drills(db: None) -> None:
    small_library()
    make_drill("own-chip", area="chipping")
    library = Library.read(None)
    assert [row["code"] for row in document(library, "", ["chipping"])["drills"]] == ["own-chip"]
    both = document(library, "", ["chipping"], ["own-ladder"])
    assert {row["code"] for row in both["drills"]} == {"own-chip", "own-ladder"}
    assert {row["code"] for row in both["faults"]} == {"own-loose", "own-tight"} and both["designs"] == []


def test_who_saves_a_file_gets_their_own_rows_and_nobody_elses(cast: Cast, as_: Clients) -> None:
    make_drill("own-academys")
    make_drill("own-idas", owner=cast.coach)
    make_drill("own-cais", owner=cast.other_coach)
    seen = {
        actor: {row["code"] for row in json.loads(as_(actor).get(OUT).content)["drills"]}
        for actor in ("coach", "other_coach", "manager")
    }
    assert seen == {
        "coach": {"own-academys", "own-idas"},
        "other_coach": {"own-academys", "own-cais"},
        "manager": {"own-academys"},
    }


# --- Rows that are here already -------------------------------------------------------------------


def test_what_is_here_with_other_words_is_kept_unless_it_is_ticked(cast: Cast, as_: Clients) -> None:
    content = small_document()
    small_library()
    drill = Drill.objects.get()
    drill.name, drill.edition = "Ladder of ours", 1
    drill.save()
    Fault.objects.filter(code="own-loose").update(goal="Firm enough")
    page = upload(as_("manager"), content)
    text = page.content.decode()
    assert page.context["plan"].counts == {"changed": 2, "the same": 3}
    assert "Ladder of ours" in text and "changed here" in text
    take(as_("manager"), content)
    assert Drill.objects.get().name == "Ladder of ours"
    take(as_("manager"), content, "drills:own-ladder")
    drill = Drill.objects.get()
    assert (drill.name, drill.edition) == ("Ladder", 2)
    assert Fault.objects.get(code="own-loose").goal == "Firm enough"
    assert drill.history.first().prev_record.name == "Ladder of ours"  # type: ignore[attr-defined]
    take(as_("manager"), content, replace_all="on")
    assert Fault.objects.get(code="own-loose").goal == "Hands together"
    assert upload(as_("manager"), content).context["plan"].counts == {"the same": 5}


def test_fits_that_differ_are_a_change_of_the_drill(cast: Cast, as_: Clients) -> None:
    content = small_document()
    small_library()
    Fit.objects.filter(is_wrong=True).delete()
    page = upload(as_("manager"), content)
    assert [each.key for row in page.context["changed"] for each in row.differences] == ["wrong for"]
    take(as_("manager"), content, "drills:own-ladder")
    assert Fit.objects.get(is_wrong=True).fault.code == "own-tight"


def test_a_coach_takes_rows_in_as_their_own(cast: Cast, as_: Clients) -> None:
    make_drill("own-hers", owner=cast.other_coach, name="Of another coach")
    make_drill("putting-coin", name="The academy's coin")
    make_drill("own-steps", name="The academy's steps")
    content = {**small_document_of("own-hers", "putting-coin", "own-steps", "putting-new"), "academy": "Reed Bank"}
    page = upload(as_("coach"), content)
    assert page.context["plan"].counts == {"new": 3, "kept as the academy has it": 1}
    assert "Of another coach" not in page.content.decode()
    take(as_("coach"), content, replace_all="on")
    own = Drill.objects.filter(owner=cast.coach)
    by = cast.coach.pk
    assert {row.code for row in own} == {f"own-hers-by-{by}", f"own-steps-by-{by}", f"own-putting-new-by-{by}"}
    assert Drill.objects.get(code="putting-coin").name == "The academy's coin"
    assert upload(as_("coach"), content).context["plan"].counts == {"the same": 3, "kept as the academy has it": 1}
    took = upload(as_("manager"), content).context["plan"]
    assert {row.code: row.state for row in took.rows} == {
        "own-hers-academy": State.NEW,
        "putting-coin": State.CHANGED,
        "own-steps": State.CHANGED,
        "putting-new": State.NEW,
    }


def small_document_of(*codes: str) -> dict[str, Any]:
    """A document of drills with these codes, named as they are."""
    library = Library({plural: {} for plural in KINDS}, None)
    rows = [written("drills", make_drill(f"x-{code}", name=f"Drill {code}")) | {"code": code} for code in codes]
    Drill.objects.filter(code__startswith="x-").delete()
    return document(library, "") | {"drills": rows}


def test_a_library_that_changed_since_the_preview_is_previewed_again(cast: Cast, as_: Clients) -> None:
    content = small_document()
    page = upload(as_("manager"), content).context
    make_skill("own-hold", name="Made meanwhile")
    typed = {"document": page["document"], "seen": page["plan"].fingerprint}
    answer = as_("manager").post(TAKE_IN, typed)
    assert answer.status_code == 422 and "changed since this preview" in answer.content.decode()
    assert not Drill.objects.exists()
    page = answer.context
    assert (
        as_("manager").post(TAKE_IN, {"document": page["document"], "seen": page["plan"].fingerprint}).status_code
        == 302
    )


def test_a_preview_that_was_altered_on_the_way_is_refused(cast: Cast, as_: Clients) -> None:
    page = upload(as_("manager"), small_document()).context
    for signed in ("", page["document"][:-3] + "abc"):
        answer = as_("manager").post(TAKE_IN, {"document": signed, "seen": page["plan"].fingerprint})
        assert answer.status_code == 422 and "Choose the file again" in answer.content.decode()
    assert not Drill.objects.exists()


def test_a_preview_asks_few_queries(cast: Cast, as_: Clients, django_assert_max_num_queries: Any) -> None:
    content = small_document()
    small_library()
    client = as_("manager")
    for ask in (lambda: upload(client, content), lambda: client.get(PAGE), lambda: client.get(OUT)):
        with django_assert_max_num_queries(12):
            assert ask().status_code == 200


# --- What cannot be taken in ----------------------------------------------------------------------


def test_a_broken_quote_is_said_with_line_and_column(cast: Cast, as_: Clients) -> None:
    text = json.dumps(small_document(), indent=1)
    line = next(number for number, row in enumerate(text.splitlines(), start=1) if '"name": "Ladder"' in row)
    broken = text.replace('"name": "Ladder"', '"name": Ladder"')
    answer = upload(as_("manager"), broken.encode())
    assert answer.status_code == 422
    assert f"Line {line}, column 12: the file cannot be read on from here" in answer.content.decode()


@pytest.mark.parametrize(
    ("content", "words"),
    [
        (b"\x89PNG\r\n\xff", "not a text file"),
        (b"hello", "Line 1, column 1"),
        (b"[1, 2]", "holds no library"),
        (b'{"format": "coachbook library", "version": 2}', "of version 2; only 1"),
        (b'{"format": "coachbook library", "version": true}', "of version True; only 1"),
        (b'{"format": "coachbook library", "version": 1, "units": {"length": "ft"}}', "must be these: length in m"),
        (b'{"format": "coachbook library", "version": 1, "students": []}', "is no part of a library"),
        (b'{"format": "coachbook library", "version": 1, "drills": {}}', "must be a list of rows"),
        (b'{"format": "coachbook library", "version": 1}', "has no rows"),
        (b'{"format": "coachbook library", "format": "x"}', "stands twice"),
        (b'{"version": 1' + b"0" * 5000 + b"}", "far too long"),
        (b"[" * 200_000, "nested too deep"),
        (b'{"format": "coachbook library", "version": 1, "drills": [' + b"1," * 2000 + b"1]}", "2001 rows"),
        (b" " * (LARGEST + 1), "too large"),
        (b"", "empty"),
    ],
)
def test_a_file_that_is_no_library_gets_a_clear_message(content: bytes, words: str, cast: Cast, as_: Clients) -> None:
    answer = upload(as_("coach"), content)
    assert answer.status_code == 422 and words in answer.content.decode()


HOSTILE: list[tuple[str, dict[str, Any], str]] = [
    ("drills", {"minutes": float("nan")}, "drill 1 “Ladder”, minutes: Write a whole number from 1 to 120."),
    ("drills", {"minutes": 10**300}, "minutes: Write a whole number"),
    ("drills", {"minutes": True}, "minutes: Write a whole number"),
    ("drills", {"minutes": "10"}, "minutes: Write a whole number"),
    ("drills", {"steps": []}, "drill 1 “Ladder”, steps: It has 0; 1 to 20 can be stored."),
    ("drills", {"steps": ["One.", 2]}, "drill 1 “Ladder”, steps: number 2: Write words in quotes"),
    ("drills", {"steps": {"one": 1}}, "steps: Write a list"),
    ("drills", {"setup": "Stand {leads}."}, "setup: {leads} is not known"),
    ("drills", {"setup": "x" * 4001}, "setup: 4001 letters are too many: 4000 at most."),
    ("drills", {"setup": "a\x00b"}, "setup: A character in it cannot be shown"),
    ("drills", {"tip": "half \ud800"}, "tip: A character in it cannot be shown"),
    ("drills", {"name": "half \ud800"}, "name: A character in it cannot be shown"),
    ("drills", {"name": ""}, "drill 1 “own-ladder”, name: Write something here."),
    ("drills", {"area": "driving"}, "area: “driving” is not known"),
    ("drills", {"area": ["putting"]}, "area: "),
    ("drills", {"area": "chipping"}, "mends: own-loose belongs to another area than chipping."),
    ("drills", {"mends": ["own-nowhere"]}, "mends: own-nowhere is neither in the file nor in this library."),
    ("drills", {"mends": ["own-tight"]}, "wrong_for: own-tight stands under mends, too"),
    ("drills", {"mends": []}, "first_for: own-loose does not stand under mends."),
    ("drills", {"code": "a b"}, "code: A code has 1 to 60 letters"),
    ("drills", {"places": ["moon"]}, "places: number 1: “moon” is not known"),
    ("drills", {"colour": "red"}, "drill 1 “Ladder”, colour: There is no such key."),
    ("drills", {"merged_into": "own-ladder", "archived": True}, "merged_into: It would be merged into itself."),
    ("drills", {"merged_into": "own-nowhere"}, "merged_into: own-nowhere is neither"),
    ("drills", {"drawing": {**DRAWING, "frame": [-60, -60, 100, 60]}}, "drawing: piece 2, x:"),
    ("drills", {"drawing": {**DRAWING, "frame": [float("inf"), 0, 1, 1]}}, "drawing: frame:"),
    ("drills", {"drawing": [1]}, "drawing: "),
    ("skills", {"phase": None}, "skill 1 “Hold”, phase: “None” is not known"),
    ("skills", {"measure": {"name": "hold", "unit": "cm"}}, "measure: With a unit it needs low, high and step"),
    ("skills", {"measure": {"name": "hold", "low": 10**400}}, "measure: low: Write a number from"),
    ("skills", {"measure": {"name": "hold", "usual": [3, 2]}}, "measure: usual: the first number is less"),
    ("skills", {"measure": "cm"}, "measure: "),
    ("skills", {"area": "chipping"}, "belongs to another area than putting"),
    ("faults", {"skill": "own-nowhere"}, "fault 1 “Lead hand loose”, skill: own-nowhere is neither"),
    ("faults", {"skill": ""}, "skill: A code has"),
    ("faults", {"costs": ["money"]}, "costs: number 1: “money” is not known"),
    ("designs", {"width_m": None}, "width_m: A gate has a width"),
    ("designs", {"past_m": 0.3}, "past_m: Only putts to a hole, a line or a zone have an aim"),
    ("designs", {"kind": "chips", "width_m": None}, "kind: Proximity is for shots"),
    ("designs", {"distances_m": [1e999]}, "distances_m: number 1: Write a number from 0.1 to 60."),
    ("designs", {"distances_m": [6, 6.0]}, "One distance stands here twice."),
]  # fmt: skip


def test_a_row_that_cannot_be_stored_is_named_with_its_key(cast: Cast, as_: Clients) -> None:
    content, client = small_document(), as_("manager")
    for plural, values, words in HOSTILE:
        row = {**content[plural][0], **values}
        answer = upload(client, {**content, plural: [row, *content[plural][1:]]})
        text = answer.content.decode().replace("&quot;", '"').replace("&#x27;", "'")
        assert answer.status_code == 422 and words in text, (values, answer.context["plan"].problems)
        assert 'name="document" value=""' in text and "Take in</button>" not in text
    for row in ([], None, "x", {}):
        assert upload(client, {**content, "drills": [row]}).status_code == 422
    assert not Drill.objects.exists() and not Skill.objects.exists(), "all or nothing"


def test_merges_in_a_circle_and_codes_twice_are_refused(cast: Cast, as_: Clients) -> None:
    content = small_document()
    one, two = content["faults"]
    circle = [
        {**one, "archived": True, "merged_into": two["code"]},
        {**two, "archived": True, "merged_into": one["code"]},
    ]
    answer = upload(as_("manager"), {**content, "faults": circle})
    assert (
        "fault 2 “Lead hand tight”, merged_into: own-loose was merged itself. Name the row that it was merged into."
        in answer.context["plan"].problems
    )
    answer = upload(as_("manager"), {**content, "faults": [one, two, one]})
    assert "fault 3 “Lead hand loose”, code: own-loose stands in the file twice." in answer.context["plan"].problems
    answer = upload(as_("manager"), {**content, "faults": [{**one, "merged_into": two["code"]}, two]})
    assert any("is archived" in problem for problem in answer.context["plan"].problems)


def test_a_circle_with_a_row_that_is_kept_is_refused_at_the_end(cast: Cast, as_: Clients) -> None:
    content = small_document()
    small_library()
    one, two = content["faults"]
    Fault.objects.filter(code=two["code"]).update(archived=True, merged_into=Fault.objects.get(code=one["code"]))
    content["faults"] = [{**one, "archived": True, "merged_into": two["code"]}, two]
    answer = take(as_("manager"), content, f"faults:{one['code']}")
    assert answer.status_code == 422 and "cannot both be merged" in answer.content.decode()
    assert not Fault.objects.get(code=one["code"]).archived
    assert take(as_("manager"), content, replace_all="on").status_code == 302
    assert Fault.objects.get(code=one["code"]).merged_into == Fault.objects.get(code=two["code"])


def test_a_merge_that_is_taken_in_is_counted_in_the_records(cast: Cast) -> None:
    content = small_document()
    small_library()
    one, two = content["faults"]
    content["faults"] = [{**one, "archived": True, "merged_into": two["code"]}, two]
    content["drills"][0] |= {"mends": [], "first_for": []}
    lesson = make_lesson(cast.student, cast.coach, status="complete", completed_at=timezone.now())
    skill, fault = Skill.objects.get(), Fault.objects.get(code=one["code"])
    seen = Observation.objects.create(look=make_look(lesson), skill=skill, verdict="not_good")
    SeenFault.objects.create(observation=seen, fault=fault, degree="slight")
    recompute_all()
    assert MonthCount.objects.get(slight=1).fault == fault
    plan = make_plan(content, Library.read(None))
    assert plan.problems == []
    assert len(take_in(plan, [f"faults:{one['code']}"])) == 1
    assert MonthCount.objects.get(slight=1).fault.code == two["code"]


def test_a_row_stays_in_its_area(cast: Cast, as_: Clients) -> None:
    content = small_document()
    make_skill("own-hold", area="chipping")
    problems = upload(as_("manager"), {**content, "faults": [], "drills": []}).context["plan"].problems
    assert problems == ["skill 1 “Hold”, area: It belongs to chipping here, and a row stays in its area."]
    Skill.objects.update(code="own-other")
    make_fault(Skill.objects.get(), "own-loose")
    problems = upload(as_("manager"), {**content, "drills": []}).context["plan"].problems
    assert problems == ["fault 1 “Lead hand loose”, skill: It belongs to chipping here, and a row stays in its area."]


def test_a_hidden_fit_is_neither_shown_nor_lost(cast: Cast, as_: Clients) -> None:
    content = small_document()
    drill = small_library()
    secret = make_fault(Skill.objects.get(), "own-secret", owner=cast.other_coach, name="Secret")
    Fit.objects.create(drill=drill, fault=secret)
    assert "own-secret" not in as_("manager").get(OUT).content.decode()
    assert upload(as_("manager"), content).context["plan"].counts == {"the same": 5}
    Drill.objects.update(name="Ours")
    take(as_("manager"), content, replace_all="on")
    assert Drill.objects.get().name == "Ladder" and drill.fits.filter(fault=secret).exists()


def test_reading_says_why_it_cannot() -> None:
    with pytest.raises(FileProblem, match="Line 3, column 1"):
        read_json('{"a": 1,\n"b": 2\n"c": 3}')


# --- A new version of the program -----------------------------------------------------------------


def test_a_new_version_leaves_what_the_academy_changed(db: None) -> None:
    """Of all four kinds: rows that the academy reworded or refitted stay, those that nobody changed are renewed."""
    load_catalogue()
    load_drills()
    changed = {Skill: "goal", Fault: "feel", Drill: "tip", Design: "note"}
    for model, text in changed.items():
        first, second = model._default_manager.filter(shipped__isnull=False)[:2]
        setattr(first, text, "As we say it here.")
        first.save()
        values = {**second.shipped, text: "As the new version says it."}
        model.ship_all(
            [(row.code, values if row == second else {**row.shipped, text: "New."}, {}) for row in (first, second)]
        )
        first.refresh_from_db()
        second.refresh_from_db()
        assert getattr(first, text) == "As we say it here.", model
        assert getattr(second, text) == "As the new version says it.", model


def test_a_new_version_leaves_fits_that_the_academy_changed(db: None) -> None:
    """A drill of which only the fits were changed is counted as changed, so that its fits stay as well."""
    load_catalogue()
    load_drills()
    changed, untouched = Drill.objects.filter(fits__isnull=False).distinct()[:2]
    for drill in (changed, untouched):
        drill.fits.all().delete()
    changed.edition += 1
    changed.save()
    load_drills()
    assert not changed.fits.exists() and untouched.fits.exists()


def test_what_was_taken_in_edited_is_not_renewed_by_the_next_version(db: None) -> None:
    """A row of a newer version, reworded at the other academy, is met by that version here later."""
    design = next(iter(tables(DESIGNS, "design")))
    content = {"designs": [{**design, "name": "Reworded there", "edited": True}]}
    take_in(make_plan(content, Library.read(None)), ())
    Design.ship_all([(design["code"], without(design, "code"), {})])
    assert Design.objects.get().name == "Reworded there"
    Design.objects.update(edition=0)
    Design.ship_all([(design["code"], without(design, "code"), {})])
    assert Design.objects.get().name == design["name"], "one that nobody changed there is renewed"


def test_fits_are_stored_once_for_each_fault(db: None) -> None:
    drill = small_library()
    for _ in range(2):
        ship_fits([(drill, {"mends": ["own-loose"], "first_for": [], "wrong_for": ["own-tight"]})])
    assert list(drill.fits.order_by("fault__code").values_list("fault__code", "is_first", "is_wrong")) == [
        ("own-loose", False, False),
        ("own-tight", False, True),
    ]
