"""The chart to zoom into: the numbers of a history's picture as a figure. The only module that imports plotly."""

from dataclasses import dataclass
from typing import Any

from lessons.progress.picture import Line, Row
from lessons.progress.points import WINDOW
from lessons.progress.words import Voice, on

HEIGHT = 420
CLEAN_AT, HALF, FULL = 0.25, 1, 2
HEIGHTS = {"1": HALF, "2": FULL, "any": FULL}
FONT = "system-ui, -apple-system, Segoe UI, Roboto, Noto Sans, Helvetica Neue, Arial, sans-serif"
CONFIG = {
    "displaylogo": False,
    "responsive": True,
    "displayModeBar": True,  # a thumb cannot hover
    "modeBarButtonsToRemove": ["select2d", "lasso2d", "autoScale2d"],
    # Nothing of a student's record leaves for a chart service: neither a button for it nor an address.
    "showSendToCloud": False,
    "plotlyServerURL": "",
}


@dataclass(frozen=True)
class Colours:
    """The colours of tokens.css that a chart needs."""

    paper: str
    leaf: str
    ink: str
    soft: str
    line: str
    accent: str


LIGHT = Colours("#f7f3e7", "#fffdf6", "#1d1a15", "#484136", "#d8cfba", "#57296b")
DARK = Colours("#1a1815", "#24211c", "#efe8d8", "#c9bfac", "#443e35", "#d9b4e6")


def figures(rows: list[Row], lines: list[Line], voice: Voice) -> dict[str, Any]:
    """The figure in both schemes, and how plotly is to show it, ready for JSON."""
    schemes = {"light": LIGHT, "dark": DARK}
    return {name: figure(rows, lines, voice, colours) for name, colours in schemes.items()} | {"config": CONFIG}


def figure(rows: list[Row], lines: list[Line], voice: Voice, colours: Colours) -> dict[str, Any]:
    """Marks above, counts below, over the same arrivals; scatter and bar only."""
    import plotly.graph_objects as go

    days = labels(rows)
    traces = [
        go.Bar(**bars(rows, days, colours)),
        go.Scatter(**dots(rows, days, "0", CLEAN_AT, "circle-open", 11, colours.ink)),
        go.Scatter(**dots(rows, days, "none", 0, "circle", 4, colours.soft)),
        go.Bar(**counts(rows, days, "looked", "rgba(0,0,0,0)", colours)),
        go.Bar(**counts(rows, days, "seen", colours.accent, colours)),
    ]
    drawn: dict[str, Any] = go.Figure(traces, layout(days, lines, voice, colours)).to_plotly_json()
    return drawn


def labels(rows: list[Row]) -> list[str]:
    """Each arrival's day; a second one on the same day is told apart, or plotly would draw both in one place."""
    found: list[str] = []
    for row in rows:
        day = on(row.point.day)
        found.append(f"{day}, again" if day in found else day)
    return found


def bars(rows: list[Row], days: list[str], colours: Colours) -> dict[str, Any]:
    """Half bars and full bars; one whose height was not said is an outline."""
    seen = [(day, row) for day, row in zip(days, rows, strict=True) if row.point.seen]
    return {
        "x": [day for day, _ in seen],
        "y": [HEIGHTS[row.point.level] for _, row in seen],
        "customdata": [row.word for _, row in seen],
        "marker": {
            "color": [colours.paper if row.point.level == "any" else colours.ink for _, row in seen],
            "line": {"color": colours.ink, "width": 1.5},
        },
        "width": 0.4,
        "hovertemplate": "%{x}<br>%{customdata}<extra></extra>",
    }


def dots(
    rows: list[Row], days: list[str], level: str, height: float, symbol: str, size: int, colour: str
) -> dict[str, Any]:
    """One kind of mark that has no height of its own."""
    shown = [(day, row.word) for day, row in zip(days, rows, strict=True) if row.point.level == level]
    return {
        "x": [day for day, _ in shown],
        "y": [height] * len(shown),
        "customdata": [word for _, word in shown],
        "mode": "markers",
        "marker": {"symbol": symbol, "size": size, "color": colour, "line": {"width": 2, "color": colour}},
        "cliponaxis": False,
        "hovertemplate": "%{x}<br>%{customdata}<extra></extra>",
    }


def counts(rows: list[Row], days: list[str], which: str, fill: str, colours: Colours) -> dict[str, Any]:
    """One half of each count: the arrivals that were looked at, or those on which it was seen."""
    counted = [(day, row.count) for day, row in zip(days, rows, strict=True) if row.count]
    return {
        "x": [day for day, _ in counted],
        "y": [getattr(count, which) for _, count in counted],
        "customdata": [f"{count.seen}/{count.looked}" for _, count in counted],
        "yaxis": "y2",
        "width": 0.5,
        "marker": {"color": fill, "line": {"color": colours.soft, "width": 1}},
        "hovertemplate": "%{x}<br>%{customdata}<extra></extra>",
    }


def layout(days: list[str], lines: list[Line], voice: Voice, colours: Colours) -> dict[str, Any]:
    """Two parts over one axis of arrivals, as far apart as they follow each other; only along it can one zoom."""
    across = {"showgrid": False, "zeroline": False, "automargin": True, "fixedrange": True}
    names = [voice.marks[level] for level in ("0", "1", "2")]
    return {
        "template": "none",
        "height": HEIGHT,
        "barmode": "overlay",
        "showlegend": False,
        "paper_bgcolor": colours.paper,
        "plot_bgcolor": colours.paper,
        "font": {"family": FONT, "size": 13, "color": colours.ink},
        "hoverlabel": {"bgcolor": colours.leaf, "bordercolor": colours.ink, "font": {"color": colours.ink}},
        "modebar": {"bgcolor": colours.paper, "color": colours.soft, "activecolor": colours.accent},
        "margin": {"l": 8, "r": 16, "t": 76, "b": 8},
        "xaxis": {
            "type": "category",
            "categoryorder": "array",
            "categoryarray": days,
            "range": [-0.6, len(days) - 0.4],
            "anchor": "y2",
            "nticks": 8,
            "automargin": True,
            "linecolor": colours.line,
        },
        "yaxis": across
        | {"domain": [0.5, 1], "range": [-0.15, 2.1], "tickvals": [CLEAN_AT, HALF, FULL], "ticktext": names},
        "yaxis2": across | {"domain": [0, 0.34], "range": [0, WINDOW + 0.2], "dtick": 1},
        "shapes": [rule(line, colours) for line in lines if line.after],
        "annotations": [
            heading(voice.often, colours),
            *(note(line, len(days), colours) for line in lines if line.after),
        ],
    }


def rule(line: Line, colours: Colours) -> dict[str, Any]:
    """A day that matters, as a line over both parts."""
    place = {"x0": line.after - 0.5, "x1": line.after - 0.5, "yref": "paper", "y0": 0, "y1": 1}
    return place | {"type": "line", "line": {"color": colours.accent, "width": 1.5, "dash": "dash"}}


def note(line: Line, arrivals: int, colours: Colours) -> dict[str, Any]:
    """The label of such a line, on the side where there is more room; each stands on a height of its own."""
    words = {"text": line.text, "showarrow": False, "font": {"color": colours.accent}}
    side = "left" if line.after <= arrivals / 2 else "right"
    place = {"x": line.after - 0.5, "yref": "paper", "y": 1, "yshift": line.y, "yanchor": "bottom", "xanchor": side}
    return words | place


def heading(text: str, colours: Colours) -> dict[str, Any]:
    """What the lower part counts."""
    words = {"text": text, "showarrow": False, "font": {"color": colours.soft}}
    return words | {"xref": "paper", "yref": "paper", "x": 1, "y": 0.36, "xanchor": "right", "yanchor": "bottom"}
