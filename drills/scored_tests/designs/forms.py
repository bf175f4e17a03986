"""How a test is set up, as the academy edits it: lengths in its own unit, stored in metres."""

import re
from typing import TYPE_CHECKING, Any

from django import forms
from django.core.exceptions import ValidationError
from django.utils.text import slugify

from coachbook.accounts.models import Area
from drills.models import Design
from drills.putting.lengths import tidy
from drills.putting.observations import FARTHEST_M
from drills.putting.units import Unit, from_metres, in_metres
from drills.scored_tests.stations import MOST_BALLS
from lessons.wording import COACH, MARKER, render

if TYPE_CHECKING:  # Django's forms take no type at run time
    DesignModelForm = forms.ModelForm[Design]
else:
    DesignModelForm = forms.ModelForm

LONG: dict[str, Unit] = {"m": "m", "ft": "ft"}  # by the academy's units: what distances are typed in,
SMALL: dict[str, Unit] = {"m": "cm", "ft": "in"}  # and the width of a gate
NAMES: dict[Unit, str] = {"m": "metres", "ft": "feet", "cm": "cm", "in": "inches"}
NEAREST_M, WIDEST_M = 0.1, 1.0  # common practice, no source
BALL_M = 0.0427  # a ball measures 42.67 mm at least: R&A and USGA, Equipment Rules, part 4
MOST_DISTANCES, MOST_IN_ALL = 10, 200  # places and balls of a test; common practice, no source
TEXTS = ("name", "purpose", "setup", "note", "caution")
NUMBER = re.compile(r"[0-9]{1,4}(\.[0-9]{1,4})?|\.[0-9]{1,4}")


class DesignForm(DesignModelForm):
    """One design. What it measures stays as it is once a test was recorded with it."""

    distances = forms.CharField(max_length=120)
    balls = forms.IntegerField(
        label="Balls from each distance",
        min_value=1,
        max_value=MOST_BALLS,
        widget=forms.TextInput({"inputmode": "numeric"}),  # a number field would drop words
    )
    width = forms.CharField(max_length=10, required=False)

    class Meta:
        model = Design
        fields = [
            *("name", "area", "kind", "purpose", "setup", "distances", "balls", "width", "note", "caution"),
            "archived",
        ]
        labels = {"purpose": "Purpose", "setup": "Set up", "caution": "Take care"}
        help_texts = {
            "setup": "Say the distances here, too: students read this. In braces {lead}, {trail}, {push} and {pull} are"
            " read as left or right.",
            "archived": "It is not offered any more. What was recorded with it stays.",
        }
        widgets = {name: forms.Textarea(attrs={"rows": 3}) for name in TEXTS if name != "name"}

    field_order = Meta.fields

    def __init__(self, data: Any = None, *, instance: Design, units: str) -> None:
        self.long, self.small = LONG[units], SMALL[units]
        self.known = {typed_as(each, self.long): each for each in instance.distances_m or []}
        typed = {"distances": ", ".join(self.known)}
        if instance.width_m:
            typed["width"] = typed_as(instance.width_m, self.small)
        super().__init__(data, instance=instance, initial=typed)
        self.ask_for_lengths()
        self.ask_for_what_may_change()

    def ask_for_lengths(self) -> None:
        """Questions and messages that hold for this unit."""
        self.fields["distances"].label = f"Distances, in {NAMES[self.long]}"
        self.fields["distances"].help_text = "With a comma between them, such as 1, 1.5, 2, 3. Ten at most."
        self.fields["width"].label = f"Width of the gate, in {NAMES[self.small]}"
        self.fields["width"].help_text = "Only for a ball gate. A ball is about 4.3 cm (1.7 inches) wide."
        says = f"Type a whole number from 1 to {MOST_BALLS}."
        self.fields["balls"].error_messages |= dict.fromkeys(("invalid", "min_value", "max_value"), says)

    def ask_for_what_may_change(self) -> None:
        """What a design measures stays once a test was recorded; a new one is not put away at once."""
        if not self.instance.pk:
            del self.fields["archived"]
        elif self.instance.scored_tests.exists():
            for name in ("area", "kind"):
                self.fields[name].disabled = True
                self.fields[name].help_text = "Tests were recorded with it, so this stays. Another one may be added."
            if self.instance.kind != Design.Kind.GATE:
                del self.fields["width"]

    # --- What was typed -------------------------------------------------------------------------

    def clean_name(self) -> str:
        """A name that no other test has."""
        name: str = self.cleaned_data["name"]
        if Design.objects.filter(name__iexact=name).exclude(pk=self.instance.pk).exists():
            raise ValidationError("There is a test of this name already.")
        return name

    def clean_distances(self) -> list[float]:
        """Metres. What was not touched stays as it is stored, whatever it was rounded to on the page."""
        if "distances" not in self.changed_data:
            return self.instance.distances_m
        parts = [part.strip() for part in self.cleaned_data["distances"].strip().rstrip(",").split(",")]
        if len(parts) > MOST_DISTANCES:
            raise ValidationError(f"{len(parts)} distances are more than a test takes: {MOST_DISTANCES} at most.")
        found = [self.distance(part) for part in parts]
        if len(set(found)) < len(found):
            raise ValidationError("A distance stands here twice. Type it once, and more balls.")
        return found

    def distance(self, part: str) -> float:
        """One distance in metres; one that was there before stays as it is stored."""
        if part in self.known:
            return self.known[part]
        if not NUMBER.fullmatch(part):
            raise ValidationError(f"“{part}” is no distance. Type numbers with commas between, such as 1, 1.5, 2, 3.")
        metres = round(in_metres(float(part), self.long), 6)
        if not NEAREST_M <= metres <= FARTHEST_M:
            nearest, farthest = (f"{from_metres(end, self.long):.3g}" for end in (NEAREST_M, FARTHEST_M))
            raise ValidationError(f"{part} {self.long} cannot be: from {nearest} to {farthest} {self.long}.")
        return metres

    def clean_width(self) -> float | None:
        """Metres, or nothing where nothing was typed; wider than a ball."""
        if "width" not in self.changed_data:
            return self.instance.width_m
        typed = self.cleaned_data["width"].strip()
        if not typed:
            return None
        metres = round(in_metres(float(typed), self.small), 6) if NUMBER.fullmatch(typed) else 0.0
        if not BALL_M < metres <= WIDEST_M:
            ball, widest = (f"{from_metres(end, self.small):.3g} {NAMES[self.small]}" for end in (BALL_M, WIDEST_M))
            raise ValidationError(f"Type a number above {ball}, a ball, and up to {widest}.")
        return metres

    def clean(self) -> dict[str, Any]:
        """Texts that can be read, and parts that fit each other."""
        typed: dict[str, Any] = super().clean() or self.cleaned_data
        for name in TEXTS:
            if name in typed:
                typed[name] = typed[name].replace("\r\n", "\n")
                self.check_markers(name, typed[name])
        self.check_gate(typed)
        self.check_area(typed)
        if typed.get("balls") and typed.get("distances"):
            self.check_total(typed["balls"] * len(typed["distances"]))
        return typed

    def check_markers(self, name: str, text: str) -> None:
        """Only known words stand in braces: no other can be turned for a side."""
        for marker in MARKER.findall(text):
            if marker.lower() not in COACH:
                known = ", ".join(f"{{{word}}}" for word in COACH)
                self.add_error(name, f"{{{marker}}} is not known. In braces stand only {known}.")
                return

    def check_gate(self, typed: dict[str, Any]) -> None:
        """A gate has a width, and nothing else has."""
        if "kind" not in typed or "width" not in typed:
            return
        is_gate = typed["kind"] == Design.Kind.GATE
        if is_gate and typed["width"] is None:
            self.add_error("width", "Type how wide the gate is.")
        elif not is_gate and typed["width"] is not None:
            self.add_error("width", "Only a ball gate has a width: leave this empty.")

    def check_area(self, typed: dict[str, Any]) -> None:
        """Proximity is a test of what is played from off the green, all others are of putts."""
        kind, area = typed.get("kind"), typed.get("area")
        if kind and area and (kind == Design.Kind.CHIPS) == (area == Area.PUTTING):
            says = "Proximity is for chips, pitches and bunker shots." if area == Area.PUTTING else "This is for putts."
            self.add_error("kind", f"{says} Choose another kind, or another area.")

    def check_total(self, total: int) -> None:
        """Nobody notes so many balls."""
        if total > MOST_IN_ALL:
            self.add_error("balls", f"That makes {total} balls in all; {MOST_IN_ALL} at most.")

    # --- What is stored -------------------------------------------------------------------------

    def save(self, commit: bool = True) -> Design:
        """The design with its lengths; a new one gets its code and the last place of its area."""
        design = self.instance
        design.distances_m, design.width_m = self.cleaned_data["distances"], self.cleaned_data.get("width")
        if not design.pk:
            design.code = fresh_code(design.name)
            last = Design.objects.filter(area=design.area).order_by("position").last()
            design.position = last.position + 1 if last else 0
        return super().save(commit)


def typed_as(length_m: float, unit: Unit) -> str:
    """A stored length as somebody would type it."""
    return tidy(from_metres(length_m, unit))


def fresh_code(name: str) -> str:
    """A code from a name. No code that ships begins with `own-`, so that a new version never takes its row."""
    stem = f"own-{slugify(render(name))}"[:50].rstrip("-")
    taken = set(Design.objects.filter(code__startswith=stem).values_list("code", flat=True))
    numbered = (f"{stem}-{number}" for number in range(2, len(taken) + 3))
    return next(code for code in (stem, *numbered) if code not in taken)
