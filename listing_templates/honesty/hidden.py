"""What a page hides from its reader: elements that are not shown, too small, or in the colour of their ground.

Styles are read from the element itself and from the page's own style sheet, as far as its selectors name an element,
a class or an id. A page that is styled from elsewhere cannot be judged, and is taken as shown.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field, replace

import tinycss2
from tinycss2.ast import Declaration, DimensionToken, IdentToken, Node, NumberToken, PercentageToken, QualifiedRule
from tinycss2.color3 import RGBA, parse_color

_ATTRIBUTE = re.compile(r"""([a-zA-Z-]+)(?:\s*=\s*(?:"([^"]*)"|'([^']*)'|([^\s"'>]+)))?""")
_NAME = re.compile(r"</?([a-zA-Z][a-zA-Z0-9]*)")
_SHEET = re.compile(r"<style\b[^>]*>(.*?)</style\s*>", re.IGNORECASE | re.DOTALL)
_NO_END = frozenset(
    {"area", "base", "br", "col", "embed", "hr", "img", "input", "link", "meta", "source", "track", "wbr"}
)
_SMALLEST_PX = 6.0
_LEAST_CONTRAST = 1.5  # readable text has 4.5 and more (WCAG 2.2, 1.4.3); below this it is all but invisible
_FAR_OUT_PX = -300.0
_PX = {"px": 1.0, "pt": 4 / 3, "em": 16.0, "rem": 16.0, "ex": 8.0, "ch": 8.0, "%": 0.16, "mm": 3.78, "cm": 37.8}
_DARK, _LIGHT = RGBA(0.0, 0.0, 0.0, 1.0), RGBA(1.0, 1.0, 1.0, 1.0)

Style = Mapping[str, list[Node]]


@dataclass(frozen=True)
class _Shown:
    """How an element shows its text."""

    name: str = ""
    hidden: bool = False
    colour: RGBA = _DARK
    ground: RGBA = _LIGHT
    size: float = 16.0
    folded: bool = False

    @property
    def is_readable(self) -> bool:
        """Whether a reader sees the text."""
        too_pale = self.colour.alpha < 0.15 or _contrast(self.colour, self.ground) < _LEAST_CONTRAST
        return not (self.hidden or self.folded or too_pale or self.size < _SMALLEST_PX)


@dataclass
class Page:
    """A page read tag by tag.

    Attributes:
        rules: Selector ("p", ".note", "#last") -> declarations of the page's own style sheet.
    """

    rules: Mapping[str, Style]
    _open: list[_Shown] = field(default_factory=lambda: [_Shown()])

    @classmethod
    def of(cls, text: str) -> Page:
        """Return the page before its first tag."""
        rules: dict[str, dict[str, list[Node]]] = {}
        for sheet in _SHEET.findall(text):
            for rule in tinycss2.parse_stylesheet(sheet, skip_comments=True, skip_whitespace=True):
                if isinstance(rule, QualifiedRule):
                    for selector in tinycss2.serialize(rule.prelude).split(","):
                        rules.setdefault(selector.strip().split(" ")[-1], {}).update(_declarations(rule.content))
        return cls(rules)

    @property
    def is_shown(self) -> bool:
        """Whether a reader sees what stands at this place."""
        return self._open[-1].is_readable

    def pass_tag(self, tag: str) -> None:
        """Go on behind this tag."""
        found = _NAME.match(tag)
        if found is None:
            return
        name = found[1].lower()
        if tag.startswith("</"):
            places = [place for place, shown in enumerate(self._open) if shown.name == name]
            if places:
                del self._open[places[-1] :]
        elif name not in _NO_END and not tag.endswith("/>"):
            self._open.append(self._inside(name, tag[found.end() :].rstrip(">")))

    def _inside(self, name: str, attributes: str) -> _Shown:
        given = {key.lower(): one or two or bare for key, one, two, bare in _ATTRIBUTE.findall(attributes)}
        style: dict[str, list[Node]] = {}
        classes = [f".{word}" for word in given.get("class", "").split()]
        named = f"#{given.get('id', '')}"
        for selector in ("*", name, *classes, *(name + one for one in classes), named, name + named):
            style.update(self.rules.get(selector, {}))
        for attribute, key in (("color", "color"), ("bgcolor", "background-color")):
            if attribute in given:
                style[key] = tinycss2.parse_component_value_list(given[attribute])
        style.update(_declarations(given.get("style", "")))
        above = self._open[-1]
        folded = (above.folded and name != "summary") or (name == "details" and "open" not in given)
        hidden = above.hidden or "hidden" in given or given.get("aria-hidden") == "true" or _is_hidden(style)
        return replace(_styled(above, style), name=name, hidden=hidden, folded=folded)


def _declarations(css: str | Iterable[Node]) -> dict[str, list[Node]]:
    found = tinycss2.parse_declaration_list(css, skip_comments=True, skip_whitespace=True)
    return {one.lower_name: _plain(one.value) for one in found if isinstance(one, Declaration)}


def _plain(values: Iterable[Node]) -> list[Node]:
    return [value for value in values if value.type not in ("whitespace", "comment")]


def _styled(above: _Shown, style: Style) -> _Shown:
    colour = next(_colours(style.get("color", ())), above.colour)
    ground = next(_colours((*style.get("background-color", ()), *style.get("background", ()))), above.ground)
    size = next(_lengths(style.get("font-size", ()), above.size), above.size)
    opacity = next((value.value for value in style.get("opacity", ()) if isinstance(value, NumberToken)), 1.0)
    colour = colour._replace(alpha=colour.alpha * float(opacity))
    return replace(above, colour=colour, ground=ground if ground.alpha > 0.5 else above.ground, size=size)


def _colours(values: Iterable[Node]) -> Iterator[RGBA]:
    for value in values:
        colour = parse_color(value) if not isinstance(value, (NumberToken, DimensionToken)) else None
        if isinstance(colour, RGBA):
            yield colour


def _lengths(values: Iterable[Node], whole: float = 16.0) -> Iterator[float]:
    """Yield lengths in pixels of a screen; ``em`` and per cent are shares of ``whole``."""
    for value in values:
        if isinstance(value, PercentageToken):
            yield value.value * whole / 100
        elif isinstance(value, DimensionToken):
            unit = value.lower_unit
            yield value.value * (whole if unit == "em" else _PX.get(unit, 1.0))
        elif isinstance(value, NumberToken) and value.value == 0:
            yield 0.0


def _is_hidden(style: Style) -> bool:
    words = {
        (key, value.lower_value)
        for key in ("display", "visibility", "overflow")
        for value in style.get(key, ())
        if isinstance(value, IdentToken)
    }
    if words & {("display", "none"), ("visibility", "hidden"), ("visibility", "collapse")}:
        return True
    moved = ("text-indent", "left", "top", "right", "margin-left", "margin-top")
    if any(length < _FAR_OUT_PX for key in moved for length in _lengths(style.get(key, ()))):
        return True
    flat = any(length < 2 for key in ("height", "width", "max-height") for length in _lengths(style.get(key, ())))
    return (flat and ("overflow", "hidden") in words) or "clip" in style or "clip-path" in style


def _contrast(colour: RGBA, ground: RGBA) -> float:
    """Return the contrast ratio of WCAG 2.2: (lighter + 0.05) / (darker + 0.05) of relative luminance."""
    darker, lighter = sorted((_luminance(colour), _luminance(ground)))
    return (lighter + 0.05) / (darker + 0.05)


def _luminance(colour: RGBA) -> float:
    parts = (colour.red, colour.green, colour.blue)
    linear = [part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in parts]
    return float(0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2])


