"""The form for a design: lengths are typed in the academy's unit and stored in metres."""

import re
from math import inf
from typing import TYPE_CHECKING, Any

from django import forms
from django.core.exceptions import ValidationError
from django.db.models import Q

from coachbook.accounts.models import Area
from drills.library.editing.words import LineField, WordingField
from drills.library.rows.editions import add_row, save_changes
from drills.models import Design
from drills.putting.lengths import format_number
from drills.putting.observations import FURTHEST_M
from drills.putting.units import Unit, from_metres, in_metres
from drills.scored_tests.models import FURTHEST_PAST_M
from drills.scored_tests.stations import MOST_BALLS

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
TEXTS = ("purpose", "setup", "note", "caution")
STORED = ("name", "area", "kind", *TEXTS, "distances_m", "balls", "width_m", "past_m", "archived")
AIM = "Past a hole {foot} is usual; at a line type 0; for a zone type how far away its middle is."
AIM_HELP: dict[Unit, str] = {"cm": AIM.format(foot=30), "in": AIM.format(foot=12)}
NUMBER = re.compile(r"[0-9]{1,4}(\.[0-9]{1,4})?|\.[0-9]{1,4}")


class DesignForm(DesignModelForm):
    """One design. Its kind and area cannot change once a test was recorded with it."""

    distances = forms.CharField(max_length=120)
    balls = forms.IntegerField(
        label="Balls from each distance",
        min_value=1,
        max_value=MOST_BALLS,
        widget=forms.TextInput({"inputmode": "numeric"}),  # a number field would drop words
    )
    width = forms.CharField(max_length=10, required=False)
    past = forms.CharField(max_length=10, required=False)

    class Meta:
        model = Design
        fields = [
            *("name", "area", "kind", "purpose", "setup", "distances", "balls", "past", "width", "note", "caution"),
            "archived",
        ]
        labels = {"purpose": "Purpose", "setup": "Set up", "caution": "Take care"}
        help_texts = {
            "setup": "Name the distances here, too: students read this. In square brackets, [lead], [trail], [push] and"
            " [pull] become left or right.",
            "archived": "No longer offered. Tests recorded with it stay.",
        }
        field_classes = {"name": LineField, **dict.fromkeys(TEXTS, WordingField)}
        widgets = {name: forms.Textarea(attrs={"rows": 3}) for name in TEXTS}

    field_order = Meta.fields

    def __init__(self, data: Any = None, *, instance: Design, units: str) -> None:
        self.long, self.small = LONG[units], SMALL[units]
        self.known = {typed_as(each, self.long): each for each in instance.distances_m or []}
        typed = {"distances": ", ".join(self.known)}
        if instance.width_m:
            typed["width"] = typed_as(instance.width_m, self.small)
        if instance.past_m is not None:
            typed["past"] = typed_as(instance.past_m, self.small)
        super().__init__(data, instance=instance, initial=typed)
        self.set_length_texts()
        self.limit_changes()

    def set_length_texts(self) -> None:
        """Labels, help and messages in the academy's unit."""
        self.fields["distances"].label = f"Distances, in {NAMES[self.long]}"
        self.fields["distances"].help_text = "With a comma between them, such as 1, 1.5, 2, 3. Ten at most."
        self.fields["width"].label = f"Width of the gate, in {NAMES[self.small]}"
        self.fields["width"].help_text = "Only for a ball gate. A ball is about 4.3 cm (1.7 inches) wide."
        self.fields["past"].label = f"Where a putt is meant to stop, in {NAMES[self.small]} past the hole or line"
        self.fields["past"].help_text = AIM_HELP[self.small]
        message = f"Type a whole number from 1 to {MOST_BALLS}."
        self.fields["balls"].error_messages |= dict.fromkeys(("invalid", "min_value", "max_value"), message)

    def limit_changes(self) -> None:
        """Fix kind and area once a test was recorded; a new design cannot be archived."""
        if not self.instance.pk:
            del self.fields["archived"]
        elif self.instance.scored_tests.exists():
            for name in ("area", "kind"):
                self.fields[name].disabled = True
                self.fields[name].help_text = "Tests were recorded with it, so this is fixed. You can add another test."
            if self.instance.kind != Design.Kind.GATE:
                del self.fields["width"]

    # --- Validation -----------------------------------------------------------------------------

    def clean_name(self) -> str:
        """A name that no other test has which is offered to the same people."""
        name: str = self.cleaned_data["name"]
        seen = Q(owner=None) | Q(owner=self.instance.owner, owner__isnull=False)
        if Design.objects.filter(seen, name__iexact=name).exclude(pk=self.instance.pk).exists():
            raise ValidationError("There is already a test with this name.")
        return name

    def clean_distances(self) -> list[float]:
        """Metres. An unchanged field keeps its stored values, whatever the page rounded them to."""
        if "distances" not in self.changed_data:
            return self.instance.distances_m
        parts = [part.strip() for part in self.cleaned_data["distances"].strip().rstrip(",").split(",")]
        if len(parts) > MOST_DISTANCES:
            raise ValidationError(f"{len(parts)} distances are too many: {MOST_DISTANCES} at most.")
        found = [self.distance(part) for part in parts]
        if len(set(found)) < len(found):
            raise ValidationError("One distance is here twice. Type it once, with more balls.")
        return found

    def distance(self, part: str) -> float:
        """One distance in metres; a distance that was there before keeps its stored value."""
        if part in self.known:
            return self.known[part]
        if not NUMBER.fullmatch(part):
            raise ValidationError(f"“{part}” is not a distance. Type numbers with commas, such as 1, 1.5, 2, 3.")
        metres = round(in_metres(float(part), self.long), 6)
        if not NEAREST_M <= metres <= FURTHEST_M:
            nearest, furthest = (f"{from_metres(end, self.long):.3g}" for end in (NEAREST_M, FURTHEST_M))
            raise ValidationError(f"{part} {self.long} is out of range: from {nearest} to {furthest} {self.long}.")
        return metres

    def clean_width(self) -> float | None:
        """Metres, or None if left empty; wider than a ball."""
        if "width" not in self.changed_data:
            return self.instance.width_m
        typed = self.cleaned_data["width"].strip()
        if not typed:
            return None
        metres = round(in_metres(float(typed), self.small), 6) if NUMBER.fullmatch(typed) else 0.0
        if not BALL_M < metres <= WIDEST_M:
            ball, widest = (f"{from_metres(end, self.small):.3g} {NAMES[self.small]}" for end in (BALL_M, WIDEST_M))
            raise ValidationError(f"Type a width above {ball}, the width of a ball, and up to {widest}.")
        return metres

    def clean_past(self) -> float | None:
        """Metres, or None if left empty."""
        if "past" not in self.changed_data:
            return self.instance.past_m
        typed = self.cleaned_data["past"].strip()
        if not typed:
            return None
        metres = round(in_metres(float(typed), self.small), 6) if NUMBER.fullmatch(typed) else inf
        if metres > FURTHEST_PAST_M:
            furthest = f"{from_metres(FURTHEST_PAST_M, self.small):.3g} {NAMES[self.small]}"
            raise ValidationError(f"Type a number from 0 to {furthest}.")
        return metres

    def clean(self) -> dict[str, Any]:
        """Check the fields against each other."""
        typed: dict[str, Any] = super().clean() or self.cleaned_data
        self.check_gate(typed)
        self.check_aim(typed)
        self.check_area(typed)
        if typed.get("balls") and typed.get("distances"):
            self.check_total(typed["balls"] * len(typed["distances"]))
        return typed

    def check_gate(self, typed: dict[str, Any]) -> None:
        """Only a gate has a width, and it must have one."""
        if "kind" not in typed or "width" not in typed:
            return
        is_gate = typed["kind"] == Design.Kind.GATE
        if is_gate and typed["width"] is None:
            self.add_error("width", "Type how wide the gate is.")
        elif not is_gate and typed["width"] is not None:
            self.add_error("width", "Only a ball gate has a width: leave this empty.")

    def check_aim(self, typed: dict[str, Any]) -> None:
        """Only putts to a hole, a line or a zone have an aim."""
        if typed.get("past") is not None and "kind" in typed and not Design(kind=typed["kind"]).has_aim:
            self.add_error("past", "Only putts to a hole, a line or a zone have an aim: leave this empty.")

    def check_area(self, typed: dict[str, Any]) -> None:
        """Proximity tests shots from off the green; all other kinds test putts."""
        kind, area = typed.get("kind"), typed.get("area")
        if kind and area and (kind == Design.Kind.CHIPS) == (area == Area.PUTTING):
            message = "Proximity is for shots from off the green." if area == Area.PUTTING else "This is for putts."
            self.add_error("kind", f"{message} Choose another kind, or another area.")

    def check_total(self, total: int) -> None:
        """Limit the number of balls in all."""
        if total > MOST_IN_ALL:
            self.add_error("balls", f"That makes {total} balls in all; {MOST_IN_ALL} at most.")

    # --- Saving ---------------------------------------------------------------------------------

    def store(self, edition: str) -> None:
        """Save the design with its lengths; within a transaction. Raises Overtaken if this edition is past."""
        design = self.instance
        design.distances_m, design.width_m = self.cleaned_data["distances"], self.cleaned_data.get("width")
        design.past_m = self.cleaned_data["past"]
        if design.pk is None:
            add_row(design)
        else:
            save_changes(design, edition, STORED)


def typed_as(length_m: float, unit: Unit) -> str:
    """A stored length as text for the field."""
    return format_number(from_metres(length_m, unit))
