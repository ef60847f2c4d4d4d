"""Time of reading a text for findings, as a ratio to one pass of all the language's patterns in one expression.

Usage: python -m tests.benchmarks.reading      writes reading.md

The text has 3,000 characters and is nobody's listing: no sentence of ours stands in it, so all of it is read. The
expression holds every phrase that the language's words file has (signals, ways, claims, names of this class) as
alternatives, whole words only, compiled once, without groups. Both are warm; a text is read once only, so no answer
is kept from before. Seconds of this process alone; the best of several runs.
"""

from __future__ import annotations

import re
import sys
import time
from collections.abc import Callable, Iterator
from pathlib import Path

from data.catalogue.reader import find_class
from listing_templates.class_texts import class_texts
from listing_templates.honesty import read_text
from listing_templates.honesty.vocabulary import normal
from listing_templates.honesty.words import read_words, words_tags
from pricing.records.device_class import DeviceClass
from tests.random_units import random_unit

HERE = Path(__file__).parent
LENGTH = 3000
RUNS = 15
BOUND = 5.0
CLASSES = ("phone", "laptop", "lens")


def phrases_of(tag: str, device_class: DeviceClass) -> Iterator[str]:
    """Yield every phrase that is looked for in a text about a unit of the class."""
    words = read_words(tag)
    named = (*device_class.functions, *device_class.surfaces, *device_class.parts, *device_class.locks)
    yield from (normal(thing.title, words.rewrites) for thing in named)
    yield from (phrase for table in words.signals.values() for phrase in table)
    yield from (phrase for table in words.ways.values() for phrase in table)
    yield from (phrase for table in words.aliases.values() for phrase in table)
    yield from (phrase for claim in words.claims for phrase in claim.phrases)
    plain_tables = (words.innocent, words.denials, words.taken_back, words.attributions, words.firm, words.rest)
    for plain in plain_tables:
        yield from plain


def one_expression(tag: str, device_class: DeviceClass) -> re.Pattern[str]:
    """Return all phrases as one expression."""
    alternatives = sorted(set(phrases_of(tag, device_class)), key=lambda phrase: (-len(phrase), phrase))
    return re.compile(r"(?<!\w)(?:" + "|".join(map(re.escape, alternatives)) + r")(?!\w)")


def text_about(device_class: DeviceClass, number: int) -> str:
    """Return a text of 3,000 characters that says much of what sellers say; each number gives another."""
    things = [function.title for function in device_class.functions]
    surface = device_class.surfaces[0].title
    sayings = (
        "The {0} works and was tested, but the {1} is dead.",
        "There is a scratch of {n} mm on the {surface}, and nobody would call it flawless.",
        "We did not test the {0}; the {1} should be fine as far as we know.",
        "Everything else on our list was gone through in the spring of last year and is in order.",
        "Delivered in a plain box with a letter, by the usual carrier, two days after we hear from you.",
    )
    said: list[str] = []
    while sum(map(len, said)) < LENGTH:
        place = len(said) + number
        first, second = things[place % len(things)], things[(place * 7 + 3) % len(things)]
        said.append(sayings[place % len(sayings)].format(first, second, n=place % 90, surface=surface))
    return " ".join(said)[:LENGTH]


def best_of(call: Callable[[int], object]) -> float:
    """Return milliseconds of one call, the best of several; each call gets a number of its own."""
    times = []
    for number in range(RUNS):
        start = time.process_time()
        call(number)
        times.append((time.process_time() - start) * 1000)
    return min(times)


def measured(name: str, tag: str) -> tuple[float, float]:
    """Return milliseconds of one reading, and of one pass of the expression over the same text."""
    device_class = find_class(name)
    unit = random_unit(device_class, 4711)
    worded = class_texts(device_class, tag)
    expression = one_expression(tag, worded)
    texts = [text_about(worded, number) for number in range(RUNS)]
    plain = [normal(text, read_words(tag).rewrites) for text in texts]
    reading = best_of(lambda number: read_text(texts[number], unit, device_class, language=tag))
    return reading, best_of(lambda number: list(expression.finditer(plain[number])))


def table() -> tuple[str, bool]:
    """Return the results as Markdown, and whether every ratio keeps the bound."""
    lines = ["| class | language | reading, ms | one pass, ms | ratio |", "|---|---|---|---|---|"]
    kept = True
    for name in CLASSES:
        for tag in words_tags():
            reading, one_pass = measured(name, tag)
            kept = kept and reading <= BOUND * one_pass
            lines.append(f"| {name} | {tag} | {reading:.1f} | {one_pass:.1f} | {reading / one_pass:.2f} |")
    return "\n".join(lines), kept


if __name__ == "__main__":
    rows, is_kept = table()
    about = (__doc__ or "").split("\n\n", 2)[2]
    (HERE / "reading.md").write_text(f"# Reading a text for findings\n\n{about}\n{rows}\n", encoding="utf-8")
    sys.stdout.write(rows + "\n")
    sys.exit(0 if is_kept else 1)
