"""Time of rendering a listing, as a ratio to jinja2 rendering a template of the same length with a plain dict.

Usage: python -m tests.benchmarks.rendering      writes rendering.md

The template is the listing's own, in an environment of jinja2 without sandbox; the dict holds what the listing says.
"first" is a unit that was never looked at: facts, wording and composition are in it. "again" is the same unit once
more: as another format, for another page view, or before it is read back. Seconds of this process alone, so that
other load changes them little; the best of several runs.
"""

from __future__ import annotations

import sys
import time
from collections.abc import Callable
from dataclasses import asdict
from datetime import date
from pathlib import Path

import jinja2

from data.catalogue.reader import find_class
from listing_templates.language import language_tags
from listing_templates.render import TEMPLATES, context_of, environment, render_listing
from listing_templates.wording import Wording
from pricing.records.listing import Format
from tests.random_units import random_unit

HERE = Path(__file__).parent
DAY = date(2026, 3, 3)
UNITS = 30
RUNS = 7
FORMATS: tuple[Format, ...] = ("text", "markdown", "html")
BOUND = 3.0


def best_of(call: Callable[[int], object]) -> float:
    """Return the milliseconds of one call, the best of several runs over all units."""
    times = []
    for _ in range(RUNS):
        start = time.process_time()
        for number in range(UNITS):
            call(number)
        times.append((time.process_time() - start) / UNITS * 1000)
    return min(times)


def measured(name: str, format: Format, tag: str) -> dict[str, float]:
    """Return milliseconds per listing of a class: "plain" jinja2, "again" and "first", and the signs of a body."""
    device_class = find_class(name)
    units = [random_unit(device_class, seed) for seed in range(UNITS)]
    listings = [render_listing(unit, device_class, format=format, language=tag, on=DAY) for unit in units]
    plain = jinja2.Environment(autoescape=format == "html", trim_blocks=True, lstrip_blocks=True)
    source, _, _ = environment(format).loader.get_source(plain, TEMPLATES[format])
    template = plain.from_string(source)
    dicts = [asdict(context_of(listing.sentences, Wording(tag), DAY)) for listing in listings]

    def first(number: int) -> object:
        unit = units[number].model_copy()
        return render_listing(unit, device_class, format=format, language=tag, on=DAY)

    def again(number: int) -> object:
        return render_listing(units[number], device_class, format=format, language=tag, on=DAY)

    return {
        "signs": sum(len(listing.body) for listing in listings) / UNITS,
        "plain": best_of(lambda number: template.render(dicts[number])),
        "again": best_of(again),
        "first": best_of(first),
    }


def report() -> str:
    """Return the figures as Markdown."""
    lines = [
        "# Time of rendering a listing\n",
        "Milliseconds of this process per listing, phones at random. Plain: jinja2 with a plain dict and a template",
        "of the same length. Again: a unit that was rendered of late. First: a unit never seen, with its facts and",
        "wording.",
        f"The bound is {BOUND:g} times plain.\n",
        "| format | language | signs | plain | again | again / plain | first | first / plain |",
        "|---|---|---|---|---|---|---|---|",
    ]
    for format in FORMATS:
        for tag in language_tags():
            found = measured("phone", format, tag)
            again, first = (found[name] / found["plain"] for name in ("again", "first"))
            cells = [format, tag, f"{found['signs']:,.0f}", f"{found['plain']:.3f}", f"{found['again']:.3f}"]
            cells += [f"{again:.1f}", f"{found['first']:.3f}", f"{first:.1f}"]
            lines.append(f"| {' | '.join(cells)} |")
    return "\n".join(lines) + "\n"


if __name__ == "__main__":
    written = report()
    (HERE / "rendering.md").write_text(written, encoding="utf-8")
    sys.stdout.write(written)
