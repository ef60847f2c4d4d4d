"""Charts as SVG text, drawn without a browser: self-contained, black on white, legible without colour.

A chart is a Vega-Lite specification as plain values, turned into SVG by vl-convert, which carries its own renderer.
"""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import dataclass
from html import escape
from typing import Any

import vl_convert

_INK, _FAINT = "#1a1a1a", "#cccccc"
_PLOT_WIDTH, _ROW_HEIGHT, _LABEL_WIDTH = 420, 17, 300
_WIDEST_LABEL = 52


@dataclass(frozen=True)
class IntervalRow:
    """One row of an interval chart.

    Attributes:
        label: What stands to the left of it.
        middle, low, high: Where the dot and the ends of the line are.
        hollow: Draw the dot hollow, for a row that rests on little.
    """

    label: str
    middle: float
    low: float
    high: float
    hollow: bool = False


def interval_chart(name: str, rows: Sequence[IntervalRow], *, title: str, description: str, axis: str) -> str:
    """Return dots on their intervals, one row each from the top, as SVG text.

    Args:
        name: Letters only; keeps the ids of several charts on one page apart.
        rows: At least one.
        title, description: Read aloud instead of the picture.
        axis: Title of the horizontal axis, with its unit.
    """
    values = [
        {
            "place": f"{place:04d}",
            "label": _clipped(row.label),
            "middle": row.middle,
            "low": row.low,
            "high": row.high,
            "fill": "#ffffff" if row.hollow else _INK,
        }
        for place, row in enumerate(rows)
    ]
    drawn = str(vl_convert.vegalite_to_svg(_specification(values, axis)))
    opening, body = drawn.split(">", 1)
    told = f'<title id="{name}-title">{escape(title)}</title><desc id="{name}-desc">{escape(description)}</desc>'
    return f'{opening} role="img" aria-labelledby="{name}-title {name}-desc">{told}{body}'


def _specification(values: list[dict[str, Any]], axis: str) -> dict[str, Any]:
    labels = {value["place"]: value["label"] for value in values}
    rows = {
        "field": "place",
        "type": "nominal",
        "title": None,
        "axis": {
            "labelExpr": f"({_quoted(labels)})[datum.value]",
            "labelLimit": _LABEL_WIDTH,
            "ticks": False,
            "domain": False,
            "grid": False,
        },
    }
    across = {"type": "quantitative", "scale": {"zero": True}, "axis": {"title": axis, "grid": True}}
    # The whole is one picture with a title; its parts are not read aloud one by one.
    line = {"mark": {"type": "rule", "color": _INK, "strokeWidth": 1.5, "aria": False}}
    dot = {"mark": {"type": "point", "filled": True, "size": 36, "opacity": 1, "stroke": _INK, "strokeWidth": 1.2,
                    "aria": False}}
    return {
        "width": _PLOT_WIDTH,
        "height": {"step": _ROW_HEIGHT},
        "background": None,
        "data": {"values": values},
        "config": {
            "font": "sans-serif",
            "view": {"stroke": None},
            "axis": {"labelColor": _INK, "titleColor": _INK, "gridColor": _FAINT, "labelFontSize": 11},
        },
        "layer": [
            {"mark": {"type": "rule", "color": _INK, "strokeDash": [3, 3], "aria": False},
             "encoding": {"x": {"datum": 0}}},
            {**line, "encoding": {"y": rows, "x": {"field": "low", **across}, "x2": {"field": "high"}}},
            {**dot, "encoding": {"y": rows, "x": {"field": "middle", **across},
                                 "fill": {"field": "fill", "type": "nominal", "scale": None}}},
        ],
    }  # fmt: skip


def _quoted(labels: dict[str, str]) -> str:
    """Return the labels as an object of Vega's expression language."""
    return json.dumps(labels)


def _clipped(label: str) -> str:
    return label if len(label) <= _WIDEST_LABEL else label[: _WIDEST_LABEL - 1] + "…"
