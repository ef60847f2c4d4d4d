"""A plan's tree as SVG: what to do in boxes of words, what may follow on the lines between them."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from html import escape
from typing import Any

import vl_convert

from pricing.records.plan import Plan, PlanNode

_INK, _FAINT = "#1a1a1a", "#767676"
_COLUMN_WIDTH, _ROW_HEIGHT, _MARGIN = 300, 58, 210
_WIDEST_LABEL = 40


@dataclass(frozen=True)
class _Spot:
    """Where a node stands: column from the left, row from the top."""

    node: PlanNode
    column: int
    row: float


@dataclass(frozen=True)
class _Line:
    """A line from one spot to another with its words."""

    start: _Spot
    end: _Spot
    words: str


def plan_picture(plan: Plan) -> str:
    """Return the tree of a plan as SVG text, readable without colour, with a title and description for the blind."""
    spots, lines = _laid_out(plan.tree)
    columns = 1 + max(spot.column for spot in spots)
    rows = 1 + max(spot.row for spot in spots)
    drawn = str(vl_convert.vegalite_to_svg(_specification(spots, lines, columns, rows), vl_version="5.20"))
    opening, body = drawn.split(">", 1)
    title = f"Plan: {plan.tree.words}"
    figures = f"Expected net {plan.value.amount} {plan.value.currency}, gain {plan.gain.amount}"
    told = f"{figures}. {'; '.join(_told(lines))}"
    named = f'<title id="plan-title">{escape(title)}</title><desc id="plan-desc">{escape(told)}</desc>'
    return f'{opening} role="img" aria-labelledby="plan-title plan-desc">{named}{body}'


def _laid_out(tree: PlanNode) -> tuple[list[_Spot], list[_Line]]:
    """Return every node in its place: ends one below the other, others in the middle of what follows."""
    spots: list[_Spot] = []
    lines: list[_Line] = []
    ends = 0

    def place(node: PlanNode, column: int) -> _Spot:
        """Place a node and all that follows it."""
        nonlocal ends
        if not node.outcomes:
            spot = _Spot(node, column, float(ends))
            ends += 1
        else:
            after = [(outcome, place(outcome.then, column + 1)) for outcome in node.outcomes]
            spot = _Spot(node, column, (after[0][1].row + after[-1][1].row) / 2)
            lines.extend(_Line(spot, below, f"{outcome.words} ({outcome.chance:.0%})") for outcome, below in after)
        spots.append(spot)
        return spot

    place(tree, 0)
    return spots, lines


def _specification(spots: list[_Spot], lines: list[_Line], columns: int, rows: float) -> dict[str, Any]:
    size = {"width": _COLUMN_WIDTH * max(columns - 1, 1) + _MARGIN, "height": int(_ROW_HEIGHT * max(rows, 1))}
    domain = [0, max(columns - 1, 1) + _MARGIN / _COLUMN_WIDTH]

    def axes(across: str, down: str) -> dict[str, Any]:
        """Return the two positions without axes."""
        return {
            "x": {"field": across, "type": "quantitative", "axis": None, "scale": {"domain": domain, "nice": False}},
            "y": {
                "field": down, "type": "quantitative", "axis": None,
                "scale": {"domain": [-0.5, max(rows, 1) - 0.5], "reverse": True, "nice": False, "zero": False},
            },
        }  # fmt: skip

    def text(values: list[dict[str, Any]], field: str, **mark: object) -> dict[str, Any]:
        """Return a layer of words."""
        shown = {"type": "text", "align": "left", "baseline": "middle", "aria": False, **mark}
        return {"data": {"values": values}, "mark": shown, "encoding": {**axes("x", "y"), "text": {"field": field}}}

    nodes = [
        {
            "x": spot.column, "y": spot.row, "do": _clipped(spot.node.words),
            "value": f"{spot.node.value.amount} {spot.node.value.currency}",
        }
        for spot in spots
    ]  # fmt: skip
    edges = [
        {"x": line.start.column + 0.72, "y": line.start.row, "x2": line.end.column - 0.02, "y2": line.end.row}
        for line in lines
    ]
    ends = {"x2": {"field": "x2"}, "y2": {"field": "y2"}}
    words = [{"x": line.end.column, "y": line.end.row, "words": _clipped(line.words)} for line in lines]
    layers = [
        text(nodes, "do", dy=-7, fontSize=11, fontWeight="bold", color=_INK),
        text(nodes, "value", dy=7, fontSize=10, color=_INK),
    ]
    if edges:
        rule = {"type": "rule", "color": _FAINT, "aria": False}
        layers.insert(0, {"data": {"values": edges}, "mark": rule, "encoding": {**axes("x", "y"), **ends}})
        layers.append(text(words, "words", dy=-21, fontSize=10, fontStyle="italic", color=_INK))
    return {"background": "white", "config": {"view": {"stroke": None}}, **size, "layer": layers}


def _told(lines: list[_Line]) -> Iterator[str]:
    for line in lines[:20]:
        yield f"{line.start.node.words}: {line.words}, then {line.end.node.words}"


def _clipped(label: str) -> str:
    return label if len(label) <= _WIDEST_LABEL else f"{label[: _WIDEST_LABEL - 1]}…"
