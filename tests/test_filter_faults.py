"""The tool that leaves out every filter: which faults it finds, and that its list of second walls is of today."""

from textwrap import dedent

import pytest

from tests.mutants.filters import Names, filter_faults
from tests.mutants.targets import ROOT, equivalents, read_filters, stale

NAMES = Names(
    [
        dedent("""
        class RowQuerySet(models.QuerySet):
            def open(self):
                return self.filter(closed=None)

            def latest_first(self):
                return self.order_by("-at")

        class Row(models.Model):
            student = models.ForeignKey(Student, on_delete=models.PROTECT, related_name="rows")
            user = models.OneToOneField(User, on_delete=models.PROTECT, related_name="profile")
        """)
    ]
)
ALL = ".model._default_manager"


def changes(line: str) -> set[str]:
    """What each fault makes of a line inside a function."""
    return {fault.after for fault in filter_faults("m.py", f"def f():\n    {line}\n".encode(), NAMES)}


@pytest.mark.parametrize(
    ("line", "after"),
    [
        ("a.filter(b=1)", {"a.filter()"}),
        ("a.filter(b=1, c=2)", {"a.filter(c=2)", "a.filter(b=1)", "a.all()"}),
        ("a.exclude(b)", {"a.exclude()"}),
        ("a.filter(Q(b=1) | Q(c=2))", {"a.filter()", "a.filter(Q() | Q(c=2))", "a.filter(Q(b=1) | Q())"}),
        ("a.open()", {"a.all()"}),
        ("a.latest_first()", set()),
        ("student.rows.all()", {f"student.rows{ALL}.all()"}),
        ("user.profile.save()", set()),
        ("get_object_or_404(student.rows, key=1)", {f"get_object_or_404(student.rows{ALL}, key=1)"}
         | {"get_object_or_404(student.rows)"}),
        ("get_object_or_404(A, b=1, c=2)", {"get_object_or_404(A, c=2)", "get_object_or_404(A, b=1)"}),
        ("gate.get_student(r, Permission.CORRECT, k)", {"gate.get_student(r, Permission.READ_RECORD, k)"}),
        ("gate.get_student(r, Permission.READ_RECORD, k)", set()),
        ("gate.require(r, Permission.ADD_STUDENT)", {"gate.require(r, Permission.USE_SITE)"}),
        ("if a != b: raise Http404", {"if False: raise Http404"}),
        ("if a != b: return 1", set()),
        ("x = a if b in reachable else c", {"x = a if True else c"}),
        ("x = [b for b in c if b.pk not in reachable]", {"x = [b for b in c if False]"}),
    ],
)  # fmt: skip
def test_the_faults_of_a_line(line: str, after: set[str]) -> None:
    assert changes(line) == after


def test_a_gate_that_lets_every_student_through() -> None:
    [fault] = changes("gate.get_students(request)")
    assert fault.endswith("Student.objects.present()")


def test_what_stands_outside_of_functions_is_left_alone() -> None:
    assert filter_faults("m.py", b"ROWS = a.filter(b=1)\n", NAMES) == []


def test_the_models_say_what_their_filters_and_rows_are_called() -> None:
    names = Names.of(ROOT)
    assert {"open", "agreed", "complete", "valid", "present", "in_force", "usable"} <= names.verbs
    assert {"lessons", "focuses", "scored_tests", "appointments", "messages"} <= names.related
    assert not {"latest_first", "for_list"} & names.verbs and not {"student", "coach"} & names.related


def test_every_module_of_views_is_searched_and_no_second_wall_is_of_yesterday() -> None:
    group = read_filters()
    views = {path for path in ROOT.glob("*/**/*.py") if path.stem == "views" or path.parent.name == "views"}
    views = {path for path in views if path.parts[len(ROOT.parts)] in ("coachbook", "drills") and path.stat().st_size}
    assert views <= set(group.paths)
    assert len(group.population) >= 300
    assert stale(equivalents("second_walls"), [group]) == []
    assert all(len(reason) > 30 for reason in equivalents("second_walls").values())
