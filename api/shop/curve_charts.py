"""Curves of asks and of bids as SVG: plots one above the other over the same amounts, readable without colour."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from html import escape
from typing import Any

import vl_convert

from pricing.records.asking import AskAdvice
from pricing.records.lot import LotBid

_INK, _FAINT = "#1a1a1a", "#cccccc"
_WIDTH, _HEIGHT = 420, 160
_DAYS = 30


@dataclass(frozen=True)
class _Plot:
    """One plot: its vertical axis, and (amount, value) points from left to right."""

    axis: str
    points: Sequence[tuple[float, float]]


def ask_chart(found: AskAdvice) -> str:
    """Return the curve of asks as SVG text, with a title and description for the blind."""
    currency = found.estimate.currency
    asks = [float(point.ask.amount) for point in found.curve]
    expected = [float(point.expected.amount) for point in found.curve]
    sold = [100 * next(each.chance for each in point.chances if each.days == _DAYS) for point in found.curve]
    plots = (
        _Plot(f"expected net, {currency}", list(zip(asks, expected, strict=True))),
        _Plot(f"sold in {_DAYS} days, %", list(zip(asks, sold, strict=True))),
    )
    marks = ((float(found.best.ask.amount), False), (float(found.estimate.amount), True))
    told = (
        f"Expected net and chance of a sale in {_DAYS} days for asks from {asks[0]:g} to {asks[-1]:g} {currency}. "
        f"{found.basis.words}."
    )
    title = f"What to ask: {found.best.ask.amount} {currency}"
    return _drawn("ask", plots, marks, f"ask, {currency} (solid line: best ask; dashes: estimate)", title, told)


def bid_chart(found: LotBid) -> str:
    """Return the curve of bids as SVG text, with a title and description for the blind."""
    currency = found.bid.currency
    hammers = [float(point.hammer.amount) for point in found.curve]
    plots = (
        _Plot(f"expected profit, {currency}", [
            (hammer, float(point.profit.amount)) for hammer, point in zip(hammers, found.curve, strict=True)
        ]),
        _Plot("chance of loss, %", [
            (hammer, 100 * point.loss) for hammer, point in zip(hammers, found.curve, strict=True)
        ]),
    )  # fmt: skip
    marks = ((float(found.bid.amount), False), (float(found.unshaded.amount), True))
    told = (
        f"Expected profit and chance of loss for hammer prices from {hammers[0]:g} to {hammers[-1]:g} {currency}, "
        f"when the lot is won against {found.rivals} rivals."
    )
    title = f"Highest bid: {found.bid.amount} {currency}"
    axis = f"hammer price, {currency} (solid line: bid; dashes: without rivals)"
    return _drawn("bid", plots, marks, axis, title, told)


def _drawn(
    name: str, plots: Sequence[_Plot], marks: Sequence[tuple[float, bool]], axis: str, title: str, told: str
) -> str:
    specification = {
        "background": None,
        "config": {
            "font": "sans-serif",
            "view": {"stroke": None},
            "axis": {"labelColor": _INK, "titleColor": _INK, "gridColor": _FAINT, "labelFontSize": 11},
        },
        "vconcat": [_plot(plot, marks, axis) for plot in plots],
    }
    opening, body = str(vl_convert.vegalite_to_svg(specification)).split(">", 1)
    return (
        f'{opening} role="img" aria-labelledby="{name}-title {name}-desc"><title id="{name}-title">{escape(title)}'
        f'</title><desc id="{name}-desc">{escape(told)}</desc>{body}'
    )


def _plot(plot: _Plot, marks: Sequence[tuple[float, bool]], axis: str) -> dict[str, Any]:
    scale = {"type": "quantitative", "scale": {"zero": False}}
    upright = {"type": "rule", "color": _INK, "aria": False}
    lines = [
        {
            "mark": upright | ({"strokeDash": [4, 4]} if dashed else {}),
            "data": {"values": [{}]},
            "encoding": {"x": {"datum": amount}},
        }
        for amount, dashed in marks
    ]
    curve = {
        "data": {"values": [{"amount": amount, "value": value} for amount, value in plot.points]},
        "mark": {"type": "line", "color": _INK, "point": {"color": _INK, "size": 20}, "aria": False},
        "encoding": {
            "x": {"field": "amount", **scale, "axis": {"title": axis}},
            "y": {"field": "value", **scale, "axis": {"title": plot.axis}},
        },
    }
    return {"width": _WIDTH, "height": _HEIGHT, "layer": [curve, *lines]}
