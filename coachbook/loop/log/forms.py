"""The forms of a lesson's log: the lesson's own fields, and a block for each focus."""

import uuid
from datetime import date
from typing import TYPE_CHECKING, Any, cast

from django import forms
from django.http import QueryDict

from coachbook.accounts.models import Area
from coachbook.forms import LongTextField, set_choices
from coachbook.loop.log.catalogue import CatalogueChoices, CatalogueField
from drills.models import Drill, Prescription
from drills.practice.prescribe import Dose
from lessons.log import NoteVisibility
from lessons.models import Fault, Focus, Lesson, Session
from lessons.wording import render

if TYPE_CHECKING:  # Django's forms take no type at run time
    LessonModelForm = forms.ModelForm[Lesson]
else:
    LessonModelForm = forms.ModelForm

MOST = {"minutes": 120, "balls": 300, "successes": 300}
CHIPS = 6  # as many drills are offered at once; all others are found by name


def link_error_messages(form: forms.BaseForm) -> None:
    """Let `aria-describedby` of each field name the element in which an error may appear later, without a new page."""
    for bound in form:
        ids = [f"{bound.auto_id}_error"] + [f"{bound.auto_id}_helptext"] * bool(bound.help_text)
        bound.field.widget.attrs["aria-describedby"] = " ".join(ids)


class BasicsForm(LessonModelForm):
    """The lesson's own fields."""

    day = forms.DateField(widget=forms.DateInput({"type": "date"}, format="%Y-%m-%d"))
    place = forms.CharField(max_length=80, required=False)
    filmed_on = forms.DateField(required=False, widget=forms.DateInput({"type": "date"}, format="%Y-%m-%d"))
    practice_reported = forms.ChoiceField(
        choices=Lesson.PracticeReported, required=False, widget=forms.RadioSelect, label="Practice reported"
    )
    note_reader = forms.ChoiceField(required=False, widget=forms.RadioSelect, label="Who reads the note")

    class Meta:
        model = Lesson
        fields = [*Area.values, "practice_reported", "keep", "next_time", "note", "note_reader"]
        labels = {
            "keep": "What was good: keep it",
            "next_time": "To look at next time",
            "note": "A note",
        }
        help_texts = {
            "keep": "The student reads this.",
            "next_time": "The student reads this, too.",
            "note": "You choose who reads it. A person may ask to see everything that is written about them.",
        }
        field_classes = dict.fromkeys(("keep", "next_time", "note"), LongTextField)
        widgets = {name: forms.Textarea(attrs={"rows": 2}) for name in field_classes}

    def __init__(self, *args: Any, today: date, visibility: NoteVisibility, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.today, self.visibility = today, visibility
        stored = self.instance.note_reader
        self.is_note_withheld = bool(self.instance.note) and not visibility.can_read(stored)
        self.reader = stored if self.is_note_withheld or visibility.can_read(stored) else visibility.default_reader
        self.initial["note_reader"] = self.reader
        set_choices(self, "note_reader", visibility.choices)
        del self.fields["practice_reported" if self.instance.session.kind == Session.Kind.CLIP else "filmed_on"]
        if self.is_note_withheld and not self.data.get("note", "").strip():
            del self.fields["note"], self.fields["note_reader"]
        link_error_messages(self)

    def clean_note(self) -> str:
        """The note, unless one is stored that this person may not read."""
        if self.is_note_withheld:
            raise forms.ValidationError(self.visibility.refusal)
        note: str = self.cleaned_data["note"]
        return note

    def clean_note_reader(self) -> str:
        """Who reads it: nothing chosen leaves it as it was."""
        if self.is_note_withheld:
            return self.reader
        return self.cleaned_data["note_reader"] or self.reader

    def clean_day(self) -> date:
        """A day that is not in the future."""
        day: date = self.cleaned_data["day"]
        return self.check_day(day)

    def clean_filmed_on(self) -> date | None:
        """A day that is not in the future, or none yet."""
        day: date | None = self.cleaned_data["filmed_on"]
        return day and self.check_day(day)

    def check_day(self, day: date) -> date:
        """The day, unless it is in the future or more than 20 years ago."""
        if day > self.today:
            raise forms.ValidationError("This day is in the future.")
        if day.year < self.today.year - 20:
            raise forms.ValidationError("Type the year in four digits.")
        return day

    def clean(self) -> dict[str, Any]:
        """At least one area, and a clip filmed no later than the day it was looked at."""
        data: dict[str, Any] = super().clean() or self.cleaned_data
        if not any(data.get(area) for area in Area.values):
            self.add_error("putting", "Choose at least one area.")
        filmed, day = data.get("filmed_on"), data.get("day")
        if filmed and day and filmed > day:
            self.add_error("filmed_on", "A clip cannot be filmed after you looked at it: change one of the two days.")
        return data


class FocusForm(forms.Form):
    """A block: something to work on with its feel and its drill, or a trial with its decision day."""

    FIX_DECISIONS = [("open", "keep it open"), ("close", "close it")]
    TRIAL_DECISIONS = [("open", "go on trying"), ("kept", "keep it for good"), ("dropped", "drop it")]

    NEW = "Add a focus or a trial"
    NEW_FOCUS_FIELDS = ("kind", "fault", "what", "area", "reason")
    STARTING_FIELDS = ("fault", "what", "drill", "other_drill")

    decision = forms.ChoiceField(required=False, widget=forms.RadioSelect, label="Decision")
    kind = forms.ChoiceField(choices=Focus.Kind, required=False, widget=forms.RadioSelect)
    fault = CatalogueField(
        label="What to work on",
        names="fault-names",
        message="Not in the catalogue. Choose from the list, or use your own words.",
    )
    what = forms.CharField(max_length=200, required=False, label="Or in your own words")
    area = forms.ChoiceField(choices=Area, required=False, label="Area of your own words")
    feel = forms.CharField(max_length=300, required=False, label="Feel, as the student reads it")
    reason = forms.CharField(max_length=200, required=False, label="Reason for a third focus")
    drill = forms.ChoiceField(required=False)
    other_drill = CatalogueField(
        label="Another drill", names="drill-names", message="Not in the library. Choose a drill from the list."
    )
    amount = forms.IntegerField(required=False, label="A session", help_text="Empty: the usual dose of the drill.")
    unit = forms.ChoiceField(choices=Drill.Unit, required=False, initial=Drill.Unit.MINUTES)
    per_week = forms.IntegerField(required=False, label="Sessions a week", min_value=1, max_value=7)
    days = forms.IntegerField(required=False, min_value=1, max_value=365)
    mark = forms.CharField(
        max_length=200,
        required=False,
        label="Counts as done well",
        help_text="Empty: the usual target of the drill.",
    )
    decide_on = forms.DateField(
        required=False, label="Decision day of a trial", widget=forms.DateInput({"type": "date"}, format="%Y-%m-%d")
    )

    def __init__(
        self,
        data: QueryDict | None,
        *,
        key: uuid.UUID,
        catalogue: "CatalogueChoices",
        focus: Focus | None = None,
        continues: bool = False,
        given: Prescription | None = None,
        initial: dict[str, Any] | None = None,
    ) -> None:
        super().__init__(data, prefix=f"focus-{key}", initial=initial)
        self.key, self.catalogue, self.focus, self.continues = key, catalogue, focus, continues
        self.given = given
        set_choices(self, "drill", [("", "none"), *catalogue.drill_names.items()])
        for name, names in (("fault", catalogue.fault_names), ("other_drill", catalogue.drill_names)):
            cast(CatalogueField, self.fields[name]).offer(names)
        trial = self.is_trial = focus is not None and focus.kind == Focus.Kind.TRIAL
        set_choices(self, "decision", self.TRIAL_DECISIONS if trial else self.FIX_DECISIONS)
        for name in ("amount", "per_week", "days"):
            self.fields[name].widget.attrs["inputmode"] = "numeric"
        self.fields["mark"].widget.attrs["list"] = "targets"  # targets that follow from their recent tests

        for name in self.NEW_FOCUS_FIELDS if continues else ("decision",):
            del self.fields[name]
        if continues and not trial:
            del self.fields["decide_on"]
        link_error_messages(self)

    @property
    def is_blank(self) -> bool:
        """Whether nothing was chosen or written, so that nothing is stored."""
        pressed = self.data.get("usual") == str(self.key)
        return not self.continues and not pressed and not any(self.typed(name) for name in self.STARTING_FIELDS)

    def typed(self, name: str) -> Any:
        """What was posted in a field, or else what it begins with."""
        return self.data.get(self.add_prefix(name)) if self.is_bound else self.initial.get(name)

    @property
    def about(self) -> Fault | None:
        """The fault that it is about, if it is one of the catalogue."""
        if self.continues and self.focus:
            return self.focus.fault and self.focus.fault.counted
        field = cast(CatalogueField, self.fields["fault"])
        return self.catalogue.faults.get(field.codes.get(str(self.typed("fault") or "").casefold(), ""))

    @property
    def title(self) -> str:
        """What the page calls the focus."""
        return str(self.focus or self.about or self.typed("what") or self.NEW)

    @property
    def feel_words(self) -> str:
        """The feel that is handed out: the coach's words, or else those of the catalogue."""
        return self.typed("feel") or self.usual_feel

    @property
    def usual_feel(self) -> str:
        """The feel that the catalogue has for the fault."""
        return render(self.about.feel) if self.about else ""

    @property
    def drills(self) -> list[Drill]:
        """The drills that are offered at once: those that fit, and the one that was chosen."""
        fitting = self.catalogue.drills_for(self.about)[:CHIPS]
        chosen = self.catalogue.drills.get(self.drill_code)
        return fitting if chosen is None or chosen in fitting else [chosen, *fitting]

    @property
    def drill_code(self) -> str:
        """The code of the drill that was chosen."""
        field = cast(CatalogueField, self.fields["other_drill"])
        return field.codes.get(str(self.typed("other_drill") or "").casefold(), "") or self.typed("drill") or ""

    @property
    def dose_words(self) -> str:
        """The dose as it stands in the fields, in one line."""
        amount, unit, often, long = (self.typed(name) for name in ("amount", "unit", "per_week", "days"))
        unit = dict(Drill.Unit.choices).get(unit, "")
        return f"{amount} {unit.lower()}, {often} times a week, for {long} days" if amount and often and long else ""

    @property
    def is_shown(self) -> bool:
        """Whether this is a focus that begins here."""
        return not self.continues and (self.focus is not None or (self.is_bound and not self.is_blank))

    @property
    def is_dose_open(self) -> bool:
        """Whether the dose is unfolded: where something has an error, or a new focus has no drill."""
        names = ("feel", "drill", "other_drill", "amount", "per_week", "days", "mark")
        return any(name in self.errors for name in names) or (not self.continues and not self.drill_code)

    @property
    def is_more_open(self) -> bool:
        """Whether the rarer fields are unfolded: not where a fault of the catalogue says it all."""
        names = ("what", "area", "kind", "decide_on")
        return (
            not self.about
            or any(self.typed(name) for name in ("what", "reason"))
            or any(n in self.errors for n in names)
        )

    def clean(self) -> dict[str, Any]:
        """A focus names something to work on, a trial its decision day, and a dose is within bounds."""
        data: dict[str, Any] = super().clean() or self.cleaned_data
        if self.is_blank:
            return data
        data["drill"] = data.get("other_drill") or data.get("drill", "")
        data["feel"] = "" if data.get("feel") == self.usual_feel else data.get("feel", "")
        trial = self.is_trial if self.continues else data.get("kind") == Focus.Kind.TRIAL
        if not self.continues and not (data.get("fault") or data.get("what") or self.errors):
            self.add_error("fault", "Choose what to work on, or write it in your own words.")
        if trial and not data.get("decide_on") and "decide_on" not in self.errors:
            self.add_error("decide_on", "A trial needs the day on which you decide.")
        if data.get("decide_on") and not 2000 <= data["decide_on"].year < 2100:
            self.add_error("decide_on", "Type the year in four digits.")
        self.check_amount(data)
        return data

    def check_amount(self, data: dict[str, Any]) -> None:
        """The dose of one session, between 1 and the most that is sensible for its unit."""
        amount, unit = data.get("amount"), data.get("unit") or Drill.Unit.MINUTES
        if amount is not None and not 1 <= amount <= MOST[unit]:
            self.add_error("amount", f"Type a number from 1 to {MOST[unit]} ({unit}).")

    def focus_values(self) -> dict[str, Any]:
        """The values of the focus to store."""
        data = self.cleaned_data
        if self.continues:
            return {"feel": data["feel"]} | ({"decide_on": data["decide_on"]} if self.is_trial else {})
        fault = self.catalogue.faults.get(data["fault"])
        trial = data["kind"] == Focus.Kind.TRIAL
        return {
            "kind": Focus.Kind.TRIAL if trial else Focus.Kind.FIX,
            "fault": fault,
            "what": data["what"],
            "area": fault.skill.area if fault else data["area"] or Area.PUTTING,
            "feel": data["feel"],
            "reason": data["reason"],
            "decide_on": data["decide_on"] if trial else None,
        }

    def drill_and_dose(self) -> tuple[Drill | None, Dose | None]:
        """The drill that was chosen; a dose left empty is the usual one of the drill."""
        drill = self.catalogue.drills.get(self.cleaned_data["drill"])
        if drill is None:
            return None, None
        usual, data = Dose.usual_of(drill), self.cleaned_data
        amount = data["amount"] or usual.amount
        unit = (data["unit"] or usual.unit) if data["amount"] else usual.unit
        often, long = data["per_week"] or usual.per_week, data["days"] or usual.days
        return drill, Dose(amount, unit, often, long, data["mark"])
