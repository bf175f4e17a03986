"""The form for a student's details, with a check for others of the same name."""

import unicodedata
import uuid
from copy import copy
from datetime import date
from typing import TYPE_CHECKING, Any

from django import forms
from django.db import transaction

from coachbook.accounts.ages import changes_who_decides
from coachbook.accounts.models import Area, Care, Coach, Student, StudentQuerySet, User, with_coaches
from coachbook.forms import set_queryset

if TYPE_CHECKING:  # Django's forms take no type at run time
    StudentModelForm = forms.ModelForm[Student]
else:
    StudentModelForm = forms.ModelForm

HIDDEN_NAMESAKE = "Somebody else at the academy has this name."
SMART_APOSTROPHE = str.maketrans("’", "'")  # a phone writes the one, a desk the other


def normalize_name(name: str) -> str:
    """A name without what people type in different ways: capitals, spaces, accents, apostrophes."""
    letters = unicodedata.normalize("NFKD", name.translate(SMART_APOSTROPHE).casefold())
    return "".join(letter for letter in letters if not unicodedata.combining(letter) and not letter.isspace())


def find_namesakes(name: str, *, but: uuid.UUID) -> list[int]:
    """The primary keys of all other students of this name."""
    sought = normalize_name(name)
    everybody = Student.objects.present().exclude(key=but).order_by().values_list("pk", "name")
    return [pk for pk, theirs in everybody if normalize_name(theirs) == sought] if sought else []


def describe(student: Student) -> str:
    """Enough about a student to tell them from another one of their name."""
    sides = set(student.sides.values())
    plays = f"plays from the {sides.pop()}" if len(sides) == 1 else "plays from both sides"
    coaches = ", ".join(str(care.coach) for care in student.cares.all()) or "no coach at present"
    left = ", has left" if student.status == Student.Status.LEFT else ""
    return f"{student.name}, {plays}, with {coaches}{left}"


class DatedForm(StudentModelForm):
    """A form that knows the academy's date."""

    def __init__(self, *args: Any, today: date, **kwargs: Any) -> None:
        self.today = today
        super().__init__(*args, **kwargs)


class NamedForm(DatedForm):
    """A form with a student's name: if others have it, it lists them and asks whether this is another person."""

    another = forms.BooleanField(required=False, label="Another person", template_name="loop/students/namesakes.html")

    def __init__(self, *args: Any, visible: StudentQuerySet, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        name = str(self.data.get("name") or "")
        is_theirs = normalize_name(name) == normalize_name(self.instance.name)
        found = [] if is_theirs else find_namesakes(name, but=self.instance.key)
        self.namesakes = list(with_coaches(visible.filter(pk__in=found), self.today)) if found else []
        self.hidden_namesakes = len(found) - len(self.namesakes)
        if not found:
            del self.fields["another"]

    def clean(self) -> dict[str, Any]:
        """A second person of the same name needs the box ticked."""
        data: dict[str, Any] = super().clean() or self.cleaned_data
        if "another" in self.fields and not data.get("another") and "name" not in self.errors:
            self.add_error("name", " ".join([*self.known, "If this is another person, tick the box below."]))
        return data

    @property
    def known(self) -> list[str]:
        """Who has the typed name already, as far as this person may know."""
        seen = f"Already here: {'; '.join(map(describe, self.namesakes))}."
        return [*([seen] if self.namesakes else []), *([HIDDEN_NAMESAKE] if self.hidden_namesakes else [])]


class AgeForm(DatedForm):
    """The year of birth, and what is known where nobody knows it."""

    age_group = forms.ChoiceField(
        label="Child or adult",
        choices=[*Student.AgeGroup.choices, ("", "not known")],
        required=False,
        widget=forms.RadioSelect,
        help_text="Needed only without a year of birth. While neither is known, a guardian decides.",
    )

    class Meta:
        model = Student
        fields = ["birth_year", "age_group"]

    def clean_birth_year(self) -> int | None:
        """A plausible year of birth."""
        year: int | None = self.cleaned_data["birth_year"]
        if year is not None and not self.today.year - 110 <= year < self.today.year:
            raise forms.ValidationError(f"Type the year in four digits, before {self.today.year}.")
        return year


def check_phone_owner(form: AgeForm, data: dict[str, Any], today: date, adult_at: int) -> None:
    """Report a number without an owner where it is a junior's, and an owner without a number."""
    has_owner, has_number = bool(data.get("phone_of")), bool(data.get("phone"))
    age = Student(birth_year=data.get("birth_year"), age_group=data.get("age_group") or "")
    if has_owner and not has_number and "phone" not in form.errors:
        form.add_error("phone", "Type the number, or clear whose it is.")
    elif has_number and not has_owner and age.is_known_junior(today, adult_at):
        form.add_error("phone_of", "Say whose number it is: the junior’s own, or which guardian’s.")


class StudentForm(AgeForm, NamedForm):
    """A student's details; only the name must be known.

    Where another age changes who decides for the student, everything else is saved, and `asked_age` holds the age.
    """

    coach = forms.ModelChoiceField(Coach.objects.none(), required=False, label="Main coach")
    field_order = ["name", "another"]

    class Meta:
        model = Student
        fields = [
            "name",
            *(f"{area}_side" for area in Area.values),
            *AgeForm.Meta.fields,
            "phone",
            "phone_of",
            "status",
        ]
        widgets = {
            **{f"{area}_side": forms.RadioSelect for area in Area.values},
            "name": forms.TextInput({"autocomplete": "off"}),
            "birth_year": forms.TextInput({"inputmode": "numeric"}),
            "phone": forms.TextInput({"type": "tel", "autocomplete": "off"}),
            "phone_of": forms.TextInput({"autocomplete": "off"}),
        }
        help_texts = {
            "putting_side": "Ask which side they play from, area by area: some putt left and chip right.",
            "birth_year": "The year only. Until the year they come of age is over, a guardian decides with them.",
            "phone": "Read by the student, guardians, the coaches who teach them and managers.",
            "phone_of": "Such as: mother. Empty: the student’s own; of a junior, say whose it is.",
        }

    def __init__(self, *args: Any, user: User, adult_at: int, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.user, self.adult_at = user, adult_at
        self.is_new = self.instance.pk is None
        self.before = copy(self.instance)
        self.asked_age: dict[str, Any] = {}
        if self.is_new and not user.is_coach:
            set_queryset(self, "coach", Coach.objects.named().teaching())
            self.fields["coach"].required = True
        else:
            del self.fields["coach"]

    def clean(self) -> dict[str, Any]:
        """Whose number it is stands beside a number, and beside that of a junior always."""
        data = super().clean()
        check_phone_owner(self, data, self.today, self.adult_at)
        return data

    @transaction.atomic
    def save(self, commit: bool = True) -> Student:
        """Save the student, no longer a walk-in; a new one gets their coach from today."""
        self.instance.walked_in = False
        if not self.is_new and changes_who_decides(self.before, self.instance, self.today, self.adult_at):
            self.set_age_aside()
        student: Student = super().save(commit)
        if self.is_new:
            coach = self.cleaned_data.get("coach") or self.user.coach
            Care.objects.create(coach=coach, student=student, since=self.today)
        if student.user and student.user.name != student.name:
            student.user.name = student.name
            student.user.save(update_fields=["name"])
        return student

    def set_age_aside(self) -> None:
        """Keep the age that is stored; the one that was typed is asked of a second person."""
        self.asked_age = {name: self.cleaned_data[name] for name in AgeForm.Meta.fields}
        for name in self.asked_age:
            setattr(self.instance, name, getattr(self.before, name))
