"""The forms beside a pair: the same two points in each picture, and the focus that it shows."""

from collections.abc import Iterable, Iterator
from typing import Any

from django import forms

from coachbook.forms import set_choices
from coachbook.loop.stills.beside.align import CannotAlign, check, pixels
from coachbook.loop.stills.beside.gather import Pair, size_of
from lessons.models import Alignment, Focus, FocusView
from lessons.wording import render_typed

MOMENTS, NUMBERS, WAYS = ("arrival", "departure"), (1, 2), ("across", "down")
Points = list[list[float]]


class AlignForm(forms.Form):
    """Two points in each of two pictures, each so many percent across and down."""

    def __init__(self, data: Any = None, *, pair: Pair) -> None:
        super().__init__(data, initial=initial_points(pair.alignment))
        self.pair = pair
        for moment in MOMENTS:
            for name, label in point_names(moment):
                self.fields[name] = forms.FloatField(
                    label=label,
                    min_value=0,
                    max_value=100,
                    widget=forms.NumberInput({"step": "any"}),
                    error_messages={"required": "Type a number from 0 to 100, or tap the picture."},
                )

    def points(self, moment: str) -> Points:
        """The two points of one picture."""
        return [[self.cleaned_data[f"{moment}_{number}_{way}"] for way in WAYS] for number in NUMBERS]

    def clean(self) -> dict[str, Any]:
        """Points that are far enough apart, and that can be the same."""
        data = super().clean() or self.cleaned_data
        if not self.errors and self.pair.arrival and self.pair.departure:
            arrival, departure = map(size_of, (self.pair.arrival, self.pair.departure))
            points, onto = pixels(self.points("departure"), departure), pixels(self.points("arrival"), arrival)
            try:
                check(points, departure, onto, arrival)
            except CannotAlign as problem:
                self.add_error("departure_2_down", str(problem))
        return data

    def save(self) -> Alignment:
        """Keep the points of this pair, or put them in the place of those that it had."""
        points = {f"{moment}_points": self.points(moment) for moment in MOMENTS}
        kept, _ = Alignment.objects.update_or_create(
            arrival=self.pair.arrival, departure=self.pair.departure, defaults=points
        )
        return kept

    @property
    def moments(self) -> Iterator[tuple[str, list[list[forms.BoundField]]]]:
        """The fields of each picture, a pair of them for each point."""
        for moment in MOMENTS:
            yield moment, [[self[f"{moment}_{number}_{way}"] for way in WAYS] for number in NUMBERS]


def point_names(moment: str) -> Iterator[tuple[str, str]]:
    """The names and labels of the fields of one picture."""
    for number in NUMBERS:
        for way in WAYS:
            yield f"{moment}_{number}_{way}", f"Point {number}, % {way}"


def initial_points(alignment: Alignment | None) -> dict[str, float]:
    """The points that were kept."""
    if alignment is None:
        return {}
    found = {"arrival": alignment.arrival_points, "departure": alignment.departure_points}
    return {
        f"{moment}_{number}_{way}": round(points[number - 1][place], 2)
        for moment, points in found.items()
        for number in NUMBERS
        for place, way in enumerate(WAYS)
    }


class FocusForm(forms.Form):
    """The open focus that is seen at this checkpoint, from this view."""

    focus = forms.ChoiceField(
        label="Focus",
        help_text="The pair stands beside this focus on sheets that are issued from now on.",
        error_messages={"required": "Choose a focus."},
    )

    def __init__(self, *args: Any, focuses: Iterable[Focus], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.offered = {str(focus.key): focus for focus in focuses}
        set_choices(self, "focus", [(key, render_typed(str(focus))) for key, focus in self.offered.items()])

    def save(self, pair: Pair) -> Focus:
        """Keep that the focus is seen here."""
        focus = self.offered[self.cleaned_data["focus"]]
        seen_in = {"checkpoint": pair.checkpoint, "view": pair.view}
        FocusView.objects.update_or_create(focus=focus, defaults=seen_in)
        return focus
