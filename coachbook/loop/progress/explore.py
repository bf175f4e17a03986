"""The chart to zoom into: the numbers of a history's picture as a figure. The only module that imports plotly."""

from collections import Counter
from dataclasses import dataclass
from typing import Any

from lessons.progress.picture import Line, Row
from lessons.progress.points import Level
from lessons.progress.words import HistoryLabels, on

HEIGHT = 480
GOOD_AT, HALF, FULL = 0.25, 1, 2
HEIGHTS: dict[Level, float] = {"0": GOOD_AT, "1": HALF, "2": FULL, "any": 1.5}
DEPARTURE_SYMBOLS: dict[Level, str] = {
    "0": "circle-open",
    "1": "triangle-up",
    "2": "square",
    "any": "diamond-tall-open",
}
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
    edge: str
    rule: str
    accent: str


LIGHT = Colours("#f7f3e7", "#fffdf6", "#1d1a15", "#484136", "#d8cfba", "#786d5b", "#b08fc0", "#57296b")
DARK = Colours("#1a1815", "#24211c", "#efe8d8", "#c9bfac", "#443e35", "#978b78", "#6d5578", "#d9b4e6")


def figures(rows: list[Row], lines: list[Line], labels: HistoryLabels) -> dict[str, Any]:
    """The figure in both schemes, and how plotly is to show it, ready for JSON."""
    schemes = {"light": LIGHT, "dark": DARK}
    return {name: figure(rows, lines, labels, colours) for name, colours in schemes.items()} | {"config": CONFIG}


def figure(rows: list[Row], lines: list[Line], labels: HistoryLabels, colours: Colours) -> dict[str, Any]:
    """Levels above, how often below, over the same arrivals; scatter and bar only."""
    import plotly.graph_objects as go

    days = day_labels(rows)
    traces = [
        go.Bar(**bars(rows, days, colours)),
        go.Scatter(**dots(rows, days, "0", "circle-open", 11, colours.ink)),
        go.Scatter(**dots(rows, days, "any", "diamond-tall-open", 13, colours.ink)),
        go.Scatter(**dots(rows, days, "none", "circle", 4, colours.soft)),
    ]
    traces += [go.Scatter(**departures(rows, days, colours))]
    traces += [go.Scatter(**edge(rows, days, which, colours)) for which in ("low", "high")]
    traces += [go.Scatter(**rates(rows, days, colours))]
    drawn: dict[str, Any] = go.Figure(traces, layout(days, lines, labels, colours)).to_plotly_json()
    return drawn


def day_labels(rows: list[Row]) -> list[str]:
    """Each arrival's day; a second one on a day gets another label, or plotly would draw both in one place."""
    found: list[str] = []
    before: Counter[str] = Counter()
    for row in rows:
        day = on(row.point.day)
        found.append(day + ", again" * before[day])
        before[day] += 1
    return found


# --- Levels -------------------------------------------------------------------------------------


def bars(rows: list[Row], days: list[str], colours: Colours) -> dict[str, Any]:
    """A half bar for each slight look and a full bar for each clear one."""
    seen = [(day, row) for day, row in zip(days, rows, strict=True) if row.point.level in ("1", "2")]
    return {
        "x": [day for day, _ in seen],
        "y": [HEIGHTS[row.point.level] for _, row in seen],
        "customdata": [row.word for _, row in seen],
        "marker": {"color": colours.ink},
        "width": 0.4,
        "hovertemplate": "%{x}<br>%{customdata}<extra></extra>",
    }


def dots(rows: list[Row], days: list[str], level: Level, symbol: str, size: int, colour: str) -> dict[str, Any]:
    """A symbol for each look of one level."""
    shown = [(day, row.word) for day, row in zip(days, rows, strict=True) if row.point.level == level]
    return {
        "x": [day for day, _ in shown],
        "y": [HEIGHTS.get(level, 0)] * len(shown),
        "customdata": [word for _, word in shown],
        "mode": "markers",
        "marker": {"symbol": symbol, "size": size, "color": colour, "line": {"width": 2, "color": colour}},
        "cliponaxis": False,
        "hovertemplate": "%{x}<br>%{customdata}<extra></extra>",
    }


def departures(rows: list[Row], days: list[str], colours: Colours) -> dict[str, Any]:
    """The levels on departure, in a row of their own."""
    seen = [(day, row) for day, row in zip(days, rows, strict=True) if row.departure_word]
    return {
        "x": [day for day, _ in seen],
        "y": [HEIGHTS[row.point.departure] for _, row in seen],
        "customdata": [row.departure_word for _, row in seen],
        "yaxis": "y3",
        "mode": "markers",
        "marker": {
            "symbol": [DEPARTURE_SYMBOLS[row.point.departure] for _, row in seen],
            "size": 10,
            "color": colours.ink,
        },
        "cliponaxis": False,
        "hovertemplate": "%{x}<br>on departure: %{customdata},<br>rated by the coach who taught it<extra></extra>",
    }


# --- How often ----------------------------------------------------------------------------------


def edge(rows: list[Row], days: list[str], which: str, colours: Colours) -> dict[str, Any]:
    """One edge of the band, the lower one first; the upper one fills the area between."""
    found = [(day, row.interval) for day, row in zip(days, rows, strict=True) if row.interval]
    return {
        "x": [day for day, _ in found],
        "y": [round(getattr(interval, which), 3) for _, interval in found],
        "yaxis": "y2",
        "mode": "lines",
        "line": {"color": colours.edge, "width": 1, "dash": "dot" if which == "low" else "dash"},
        "fill": "none" if which == "low" else "tonexty",
        "fillcolor": f"{colours.rule}4d",
        "hoverinfo": "skip",
    }


def rates(rows: list[Row], days: list[str], colours: Colours) -> dict[str, Any]:
    """The rate at every look, with its count."""
    found = [(day, row.count) for day, row in zip(days, rows, strict=True) if row.count]
    return {
        "x": [day for day, _ in found],
        "y": [round(count.share.rate, 3) for _, count in found],
        "customdata": [f"seen on {count.seen} of the last {count.looked} looks" for _, count in found],
        "yaxis": "y2",
        "mode": "lines+markers",
        "line": {"color": colours.accent, "width": 2},
        "marker": {"color": colours.accent, "size": 7},
        "cliponaxis": False,
        "hovertemplate": "%{x}<br>%{customdata}<extra></extra>",
    }


# --- Layout -------------------------------------------------------------------------------------


def layout(days: list[str], lines: list[Line], labels: HistoryLabels, colours: Colours) -> dict[str, Any]:
    """The parts over one axis of arrivals at equal distances; only that axis can be zoomed."""
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
        **y_axes(labels, colours),
        "shapes": [rule(line, colours) for line in lines if line.after],
        "annotations": [
            *(heading(text, y, colours) for text, y in headings(labels)),
            *(note(line, len(days), colours) for line in lines if line.after),
        ],
    }


def y_axes(labels: HistoryLabels, colours: Colours) -> dict[str, Any]:
    """The vertical axes: arrivals, departures, how often."""
    across: dict[str, Any] = {"showgrid": False, "zeroline": False, "automargin": True, "fixedrange": True}
    names = [labels.levels[level] for level in ("0", "1", "2")]
    levels = across | {"range": [-0.15, 2.1], "tickvals": [GOOD_AT, HALF, FULL], "ticktext": names}
    share: dict[str, Any] = {"range": [-0.03, 1.03], "tickvals": [0, 0.5, 1], "ticktext": ["none", "half", "all"]}
    return {
        "yaxis": levels | {"domain": [0.74, 0.98]},
        "yaxis3": levels | {"domain": [0.42, 0.62]},
        "yaxis2": across | share | {"domain": [0, 0.32], "showgrid": True, "gridcolor": colours.line},
    }


def headings(labels: HistoryLabels) -> list[tuple[str, float]]:
    """The heading of each part, and its height."""
    return [(labels.arrival, 0.985), (labels.departure, 0.645), (f"{labels.often}; band: likely range", 0.33)]


def rule(line: Line, colours: Colours) -> dict[str, Any]:
    """The day on which a focus was opened or closed, as a line over all parts."""
    place = {"x0": line.after - 0.5, "x1": line.after - 0.5, "yref": "paper", "y0": 0, "y1": 1}
    return place | {"type": "line", "line": {"color": colours.accent, "width": 1.5, "dash": "dash"}}


def note(line: Line, arrivals: int, colours: Colours) -> dict[str, Any]:
    """The label of such a line, on the side with more space; each has a height of its own."""
    words = {"text": line.text, "showarrow": False, "font": {"color": colours.accent}}
    side = "left" if line.after <= arrivals / 2 else "right"
    place = {"x": line.after - 0.5, "yref": "paper", "y": 1, "yshift": line.y, "yanchor": "bottom", "xanchor": side}
    return words | place


def heading(text: str, y: float, colours: Colours) -> dict[str, Any]:
    """The heading of a part."""
    words = {"text": text, "showarrow": False, "font": {"color": colours.soft}, "bgcolor": colours.paper}
    return words | {"xref": "paper", "yref": "paper", "x": 1, "y": y, "xanchor": "right", "yanchor": "bottom"}
