"""What stands beside what: pairs of stills, each with its alignment and the academy's own reference."""

import base64
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, replace

from django.core.files.storage import default_storage
from django.db.models import Q
from django.urls import reverse

from coachbook.accounts.models import Side
from coachbook.loop.stills.beside.align import Similarity, Size, align, fit, mirror, pixels
from lessons.models import Alignment, Checkpoint, ReferenceStill, Still, View
from lessons.models.stills import Picture, seen_words, stroke_order

Source = Callable[[Picture], str]  # the address from which a drawing loads a picture; empty where there is none
SHOULD = "How it should look"


@dataclass(frozen=True)
class Panel:
    """One picture in its frame: the words above it, what it shows in words, and how it lies in the frame."""

    label: str
    words: str
    picture: Picture
    frame: Size
    matrix: str = ""
    note: str = ""
    source: str = ""


@dataclass(frozen=True)
class Pair:
    """One checkpoint from one view in one lesson: the latest still of each moment, and how it should look."""

    checkpoint: Checkpoint
    view: View
    arrival: Still | None = None
    departure: Still | None = None
    reference: ReferenceStill | None = None
    alignment: Alignment | None = None
    side: Side = Side.RIGHT
    plain: bool = False  # in the words of a student
    among_areas: bool = False  # whether pairs of another area stand beside it

    @property
    def name(self) -> str:
        """What it shows: "Address, face-on"."""
        return seen_words(self.checkpoint, self.view, plain=self.plain)

    @property
    def heading(self) -> str:
        """The same, with its area where there are several."""
        return heading(self.checkpoint, self.view, plain=self.plain, among_areas=self.among_areas)

    @property
    def is_whole(self) -> bool:
        """Whether there is an arrival and a departure."""
        return self.arrival is not None and self.departure is not None

    @property
    def latest(self) -> Still:
        """The still that was taken last."""
        return max(filter(None, (self.arrival, self.departure)), key=lambda still: (still.taken_at, still.pk))

    @property
    def panels(self) -> list[Panel]:
        """Arrival, departure and reference, as far as there are any, from left to right."""
        return list(filter(None, (self.arrival_panel, self.departure_panel, self.reference_panel)))

    @property
    def arrival_panel(self) -> Panel | None:
        """The arrival, as it was taken."""
        return still_panel(self.arrival, self.plain, self.arrival) if self.arrival else None

    @property
    def departure_panel(self) -> Panel | None:
        """The departure in the frame of the arrival, at its scale once the two are aligned."""
        if self.departure is None:
            return None
        return still_panel(self.departure, self.plain, self.arrival or self.departure, self.alignment)

    @property
    def reference_panel(self) -> Panel | None:
        """How it should look, for the side that the student plays from."""
        return reference_panel(self.reference, self.side, self.plain) if self.reference else None


def heading(checkpoint: Checkpoint, view: str, *, plain: bool, among_areas: bool) -> str:
    """A checkpoint and a view in words, with the area where there are several."""
    name = seen_words(checkpoint, view, plain=plain)
    return f"{checkpoint.get_area_display()}: {name}" if among_areas else name


def size_of(picture: Picture) -> Size:
    """Its width and height in pixels."""
    return picture.width, picture.height


def still_panel(still: Still, plain: bool, framed: Still, alignment: Alignment | None = None) -> Panel:
    """A still in the frame of another, or in its own."""
    matrix = "" if still == framed else placed(still, framed, alignment).matrix
    words, label = still.words_for(plain=plain), still.get_moment_display().capitalize()
    return Panel(label, words, still, size_of(framed), matrix, still.caption)


def placed(departure: Still, arrival: Still, alignment: Alignment | None) -> Similarity:
    """How a departure lies in the frame of an arrival: by their points, or as a whole where nobody aligned them."""
    if alignment is None:
        return fit(size_of(departure), size_of(arrival))
    points = pixels(alignment.departure_points, size_of(departure))
    return align(points, onto=pixels(alignment.arrival_points, size_of(arrival)))


def reference_panel(still: ReferenceStill, side: Side, plain: bool = False) -> Panel:
    """The academy's own reference, mirrored for a player of the other side, which it says."""
    is_mirrored = still.side != side
    name = f"{seen_words(still.checkpoint, still.view, plain=plain)}, how it should look"
    words = f"{name}: {still.caption}" if still.caption else name
    note = mirrored_words(still.side, side) if is_mirrored else ""
    notes = " ".join(filter(None, (still.caption and f"{still.caption.rstrip('.')}.", club_words(still), note)))
    size = size_of(still)
    words = f"{words} ({note.rstrip('.')})" if note else words
    return Panel(SHOULD, words, still, size, mirror(size) if is_mirrored else "", notes)


def mirrored_words(of: str, side: Side) -> str:
    """That a picture is mirrored, and why."""
    return f"Mirrored for a {side}-side player: it was taken of a {of}-side player."


def club_words(still: ReferenceStill) -> str:
    """With which club, where it says so."""
    return f"Club: {still.club}." if still.club else ""


# --- Reading them ---------------------------------------------------------------------------------


def pairs_of(stills: Iterable[Still], *, plain: bool = False) -> list[Pair]:
    """The pairs of one lesson's stills, in the order of checkpoints and views; asks for alignments and references."""
    found: dict[tuple[Checkpoint, str], dict[str, Still]] = {}
    for still in sorted(stills, key=lambda still: (still.taken_at, still.pk)):
        found.setdefault((still.checkpoint, still.view), {})[still.moment] = still
    ordered = sorted(found.items(), key=lambda each: stroke_order(*each[0]))
    among_areas = len({checkpoint.area for checkpoint, _ in found}) > 1
    pairs = [
        Pair(
            checkpoint,
            View(view),
            moments.get("arrival"),
            moments.get("departure"),
            plain=plain,
            among_areas=among_areas,
        )
        for (checkpoint, view), moments in ordered
    ]
    return completed(pairs)


def completed(pairs: list[Pair]) -> list[Pair]:
    """The pairs with alignments and references, in two queries."""
    return list(with_references(with_alignments(pairs)))


def with_alignments(pairs: list[Pair]) -> list[Pair]:
    """The pairs with what was aligned of them, in one query."""
    departures = [pair.departure for pair in pairs if pair.is_whole]
    rows = Alignment.objects.filter(departure__in=departures) if departures else ()
    known = {(row.arrival_id, row.departure_id): row for row in rows}
    return [
        replace(pair, alignment=known.get((pair.arrival.pk, pair.departure.pk)))
        if pair.arrival and pair.departure
        else pair
        for pair in pairs
    ]


def with_references(pairs: list[Pair]) -> Iterator[Pair]:
    """The pairs with the reference for checkpoint, view and club, and the side that the student played from."""
    wanted = {pair.checkpoint.pk for pair in pairs}
    rows = ReferenceStill.objects.filter(checkpoint__in=wanted, archived=False)
    offered = list(rows.select_related("checkpoint"))
    for pair in pairs:
        side = pair.latest.lesson.side(pair.checkpoint.area)
        yield replace(pair, side=side, reference=best_reference(pair.latest, side, offered))


def best_reference(still: Still, side: Side, offered: Iterable[ReferenceStill]) -> ReferenceStill | None:
    """The newest reference of a checkpoint and view: of this club before of no club, of this side before the other.

    One of another club is none; where the still names no club, one of any club will do.
    """
    club = still.club.strip().casefold()
    fitting = [
        row
        for row in offered
        if (row.checkpoint_id, row.view) == (still.checkpoint_id, still.view)
        and (not club or row.club.strip().casefold() in ("", club))
    ]

    def fit_of(row: ReferenceStill) -> tuple[bool, bool, int]:
        return row.club.strip().casefold() == club, row.side == side, row.pk

    return max(fitting, key=fit_of, default=None)


# --- Where a drawing loads its pictures from ------------------------------------------------------


def with_sources(pair: Pair, source: Source) -> list[Panel]:
    """The panels of a pair with the addresses of their pictures; one whose file is gone is left out."""
    panels = (replace(panel, source=source(panel.picture)) for panel in pair.panels)
    return [panel for panel in panels if panel.source]


def page_address(picture: Picture) -> str:
    """The address of a picture on a page, which asks the gate."""
    if isinstance(picture, Still):
        lesson = picture.lesson
        return reverse("still_picture", args=[lesson.student.key, lesson.key, picture.key])
    return reverse("reference_picture", args=[picture.key])


def small_address(picture: Picture) -> str:
    """The same of its thumbnail."""
    if isinstance(picture, Still):
        lesson = picture.lesson
        return reverse("still_thumbnail", args=[lesson.student.key, lesson.key, picture.key])
    return reverse("reference_thumbnail", args=[picture.key])


def in_the_document(picture: Picture) -> str:
    """The picture itself as an address that holds it, read from the storage; empty where its file is gone."""
    try:
        with default_storage.open(picture.path) as file:
            return f"data:image/jpeg;base64,{base64.b64encode(file.read()).decode()}"
    except OSError:
        return ""


def of_pair(checkpoint: Checkpoint, view: str) -> Q:
    """The condition that a still shows this checkpoint from this view."""
    return Q(checkpoint=checkpoint, view=view)
