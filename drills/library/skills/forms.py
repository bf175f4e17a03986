"""The forms for one skill and for one fault."""

from collections.abc import Iterator
from typing import TYPE_CHECKING, Any

from django import forms
from django.core.exceptions import ValidationError
from django.utils.text import capfirst

from drills.library.editing.words import LineField, WordingField, bare_words, question_about
from drills.library.rows.places import name_is_taken
from lessons.models import Fault, Skill

if TYPE_CHECKING:  # Django's forms take no type at run time
    SkillModelForm = forms.ModelForm[Skill]
    FaultModelForm = forms.ModelForm[Fault]
    BaseRowForm = forms.BaseModelForm[Any]
else:
    SkillModelForm = FaultModelForm = forms.ModelForm
    BaseRowForm = forms.BaseModelForm

IS_MEANT = "Lead, trail, left and right are meant as they stand in these texts"
MOVED = "Under another skill, looks at which the skill of before was good say nothing of it any more."
TWO_ROWS = {"rows": 2}


class SidesForm(BaseRowForm):
    """What both forms share: a name of its own, and no word of a side that stands without brackets by mistake."""

    WORDINGS: tuple[str, ...]

    def clean_name(self) -> str:
        """A name that no other of its kind has that is offered to the same people in this area."""
        name: str = self.cleaned_data["name"]
        if name_is_taken(self.instance, name):
            raise ValidationError(f"There is already a {self.instance._meta.verbose_name} with this name in this area.")
        return name

    def clean(self) -> dict[str, Any]:
        """Ask about sides that stand without brackets."""
        typed: dict[str, Any] = super().clean() or self.cleaned_data
        if not typed.get("is_meant"):
            for name, word in self.bare_texts():
                self.add_error(name, question_about(word))
        return typed

    def bare_texts(self) -> Iterator[tuple[str, str]]:
        """The changed texts in which a new word of a side stands without brackets, each with that word."""
        for name in self.WORDINGS:
            words = bare_words(self.cleaned_data.get(name) or "") if name in self.changed_data else []
            stored = bare_words(self.initial.get(name) or "")
            if new := [word for word in words if word not in stored]:
                yield name, new[0]

    @property
    def asks_about_sides(self) -> bool:
        """Whether a side stands without brackets somewhere: then the page offers to put it in."""
        return self.is_bound and hasattr(self, "cleaned_data") and any(True for _ in self.bare_texts())

    @property
    def word_fields(self) -> list[forms.BoundField]:
        """The fields for texts."""
        return [self[name] for name in self.WORDINGS]


class SkillForm(SidesForm, SkillModelForm):
    """One skill. Its area is given and stays."""

    WORDINGS = ("name", "look", "goal")
    is_meant = forms.BooleanField(label=IS_MEANT, required=False)

    class Meta:
        model = Skill
        fields = ("name", "look", "goal", "phase", "house_wish", "child")
        field_classes = {"name": LineField, "look": WordingField, "goal": WordingField}
        widgets = {name: forms.Textarea(attrs=TWO_ROWS) for name in ("look", "goal")}
        labels = {
            "look": "What to look at",
            "goal": "Goal: what it should be",
            "phase": "When it is looked at",
            "house_wish": "A preference of the academy, which costs nothing where it is not so",
            "child": "A child needs to hear of it",
        }


class FaultForm(SidesForm, FaultModelForm):
    """One fault. It may be put under another skill of the same area."""

    WORDINGS = ("name", "goal", "plain", "feel")
    skill = forms.CharField(label="Skill", max_length=60)
    costs = forms.MultipleChoiceField(
        label="Costs",
        required=False,
        help_text="At least one of these, unless it is a preference.",
        choices=[(value, capfirst(name)) for value, name in Fault.Cost.choices],
        widget=forms.CheckboxSelectMultiple,
    )
    is_meant = forms.BooleanField(label=IS_MEANT, required=False)

    class Meta:
        model = Fault
        fields = ("name", "goal", "plain", "feel", "costs", "house_wish")
        field_classes = {"name": LineField, "goal": LineField, "plain": WordingField, "feel": WordingField}
        widgets = {name: forms.Textarea(attrs=TWO_ROWS) for name in ("plain", "feel")}
        labels = {
            "name": "Name, as a coach says it",
            "goal": "Goal: the student’s heading",
            "plain": "What the student does",
            "feel": "Feel",
            "house_wish": "A preference of the academy, which costs nothing",
        }
        help_texts = {
            "name": "The student never reads it.",
            "goal": "What it should be, in a few words.",
            "plain": "Say what to do, not what goes wrong.",
        }

    def __init__(self, *args: Any, skills: list[Skill], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.skills = {skill.code: skill for skill in skills}
        choices = [(code, str(skill)) for code, skill in self.skills.items()]
        self.fields["skill"].widget = forms.Select(choices=choices)
        self.initial["skill"] = self.instance.counted_skill.code
        if self.instance.pk:
            self.fields["skill"].help_text = MOVED

    def clean_skill(self) -> Skill:
        """A skill of the area that the fault has."""
        code = self.cleaned_data["skill"]
        if code not in self.skills:
            area = self.instance.skill.get_area_display().lower()
            raise ValidationError(f"A fault stays in its area: choose a skill of {area}.")
        return self.skills[code]

    def clean(self) -> dict[str, Any]:
        """A preference costs nothing, and anything else costs something."""
        typed = super().clean()
        if typed.get("house_wish") and typed.get("costs"):
            self.add_error("costs", "A preference costs nothing: clear these, or clear the preference.")
        elif not typed.get("house_wish") and not typed.get("costs") and "costs" not in self.errors:
            self.add_error("costs", "Choose what it costs, or say below that it is a preference.")
        return typed
