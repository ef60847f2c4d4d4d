"""The curve of asks as SVG: what each is expected to leave, and its chance of a sale in 30 days."""

from __future__ import annotations

from html import escape
from typing import Any

import vl_convert

from pricing.records.asking import AskAdvice

_INK, _FAINT = "#1a1a1a", "#cccccc"
_WIDTH, _HEIGHT = 420, 160
_DAYS = 30


def ask_chart(found: AskAdvice) -> str:
    """Return the curve as SVG text, readable without colour, with a title and description for the blind."""
    currency = found.estimate.currency
    values = [
        {
            "ask": float(point.ask.amount),
            "expected": float(point.expected.amount),
            "chance": 100 * next(each.chance for each in point.chances if each.days == _DAYS),
        }
        for point in found.curve
    ]
    best, worth = float(found.best.ask.amount), float(found.estimate.amount)
    drawn = str(vl_convert.vegalite_to_svg(_specification(values, best, worth, currency)))
    opening, body = drawn.split(">", 1)
    title = f"What to ask: {found.best.ask.amount} {currency}"
    told = (
        f"Expected net and chance of a sale in {_DAYS} days for asks from {values[0]['ask']:g} to "
        f"{values[-1]['ask']:g} {currency}. {found.basis.words}."
    )
    return (
        f'{opening} role="img" aria-labelledby="ask-title ask-desc"><title id="ask-title">{escape(title)}</title>'
        f'<desc id="ask-desc">{escape(told)}</desc>{body}'
    )


def _specification(values: list[dict[str, float]], best: float, worth: float, currency: str) -> dict[str, Any]:
    return {
        "background": None,
        "data": {"values": values},
        "config": {
            "font": "sans-serif",
            "view": {"stroke": None},
            "axis": {"labelColor": _INK, "titleColor": _INK, "gridColor": _FAINT, "labelFontSize": 11},
        },
        "vconcat": [
            _plot("expected", f"expected net, {currency}", best, worth, currency),
            _plot("chance", f"sold in {_DAYS} days, %", best, worth, currency),
        ],
    }


def _plot(field: str, title: str, best: float, worth: float, currency: str) -> dict[str, Any]:
    across = {
        "field": "ask",
        "type": "quantitative",
        "scale": {"zero": False},
        "axis": {"title": f"ask, {currency} (solid line: best ask; dashes: estimate)"},
    }
    line = {"mark": {"type": "line", "color": _INK, "point": {"color": _INK, "size": 20}, "aria": False}}
    upright = {"type": "rule", "color": _INK, "aria": False}
    return {
        "width": _WIDTH,
        "height": _HEIGHT,
        "layer": [
            {**line, "encoding": {
                "x": across,
                "y": {"field": field, "type": "quantitative", "scale": {"zero": False}, "axis": {"title": title}},
            }},
            {"mark": upright, "data": {"values": [{}]}, "encoding": {"x": {"datum": best}}},
            {"mark": {**upright, "strokeDash": [4, 4]}, "data": {"values": [{}]}, "encoding": {"x": {"datum": worth}}},
        ],
    }  # fmt: skip
