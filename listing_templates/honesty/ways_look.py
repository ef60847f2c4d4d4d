"""Ways of making the look better than it is: superlatives, scales of one's own, marks made small or usual."""

from __future__ import annotations

import re
from collections.abc import Iterator
from decimal import Decimal

from listing_templates.honesty.said import Known, Said
from listing_templates.honesty.verdict import Rule, Told, Verdict

_GRADES = "ABCD"
_SCALE = r"(?<![\w.,/-])(\d{1,2}(?:[.,]\d)?) ?(?:/|OF) ?(10|5)(?![\d/]|[.,]\d| ?[a-z]?gb)"
_PLUS = re.compile(r"(?<![\w+])(A ?\+{1,3}|A{2,3}|1A)(?![\w+])")
_BEST_OF_GRADE = {"A": Decimal("1.0"), "B": Decimal("0.8"), "C": Decimal("0.6"), "D": Decimal("0.4")}
_STEP = Decimal("0.05")  # 8.5 of 10 is more than grade B
_FAULTS = frozenset({"dead", "fault", "impaired", "trouble", "marked"})
_SMALL_MM = Decimal(5)


def superlative(told: Told) -> Verdict | None:
    """Praise of the look that only an unmarked unit bears out, or a surface that is unmarked."""
    surfaces = [key for key in told.said.subjects if key.startswith("surface:")]
    if surfaces:
        bad = [key for key in sorted(surfaces) if told.known.state(key) != "clean"]
        # A name can mean a surface and its screen as a function: the record of the surface decides.
        marks = [mark.key for mark in told.known.marks_of(told.said)]
        return Verdict("superlative", [*marks, *bad][0]) if len(bad) == len(surfaces) else None
    functions = [key for key in told.said.subjects if key.startswith("function:")]
    if functions and "clean" not in told.said.signals:
        doubtful = told.known.doubtful(told.said, look_back=False)
        return None if doubtful is None else Verdict("superlative", doubtful.key)
    if told.known.state("grade") == "A" and not told.known.marks and not told.known.unseen:
        return None
    return Verdict("superlative", "grade")


def worded_grade(best: str) -> Rule:
    """Return a rule for words of condition that need at least this grade."""

    def rule(told: Told) -> Verdict | None:
        """Judge words of condition that are not about a function or part."""
        grade = told.known.state("grade")
        if any(key.startswith(("function:", "part:")) for key in told.said.subjects):
            return None
        return None if grade in _GRADES[: _GRADES.index(best) + 1] else Verdict("better than grade", "grade")

    return rule


def scales(said: Said, known: Known, of: tuple[str, ...]) -> Iterator[Verdict]:
    """Yield a verdict for each scale of one's own ("9/10", "A+") that is better than the computed grade."""
    grade = known.state("grade")
    if _PLUS.search(said.raw) is not None:
        yield Verdict("better than grade", "grade")
    pattern = _SCALE.replace("OF", "|".join(map(re.escape, of)) or "/")
    for found in re.finditer(pattern, said.raw.casefold()):
        share = Decimal(found[1].replace(",", ".")) / Decimal(found[2])
        if _BEST_OF_GRADE.get(grade, Decimal(0)) <= share - _STEP and share <= 1:
            yield Verdict("better than grade", "grade")


def shrunk(told: Told) -> Verdict | None:
    """A mark or fault made small: fine where the sentence measures it, or the record says that it is small."""
    if not any(signal in _FAULTS or signal.startswith("kind:") for signal in told.near):
        # "The small speaker" is only small; "a small problem" is made so.
        return None
    if told.said.kinds or any(key.startswith("surface:") for key in told.said.subjects):
        if told.said.is_measured:
            return None
        for mark in told.known.marks_of(told.said):
            sizes = [one.size_mm for one in mark.marks]
            if any(size is None or Decimal(str(size)) > _SMALL_MM for size in sizes):
                return Verdict("weakened", mark.key)
        if told.said.kinds:
            return None
    doubtful = told.known.doubtful(told.said)
    if doubtful is None or doubtful.state == "untested":
        return None
    return Verdict("weakened", doubtful.key)


def belittled(told: Told) -> Verdict | None:
    """A defect called not worth a word."""
    doubtful = told.known.doubtful(told.said)
    found = [*([doubtful] if doubtful else []), *told.known.marks_of(told.said), *told.known.faulty, *told.known.marks]
    return Verdict("weakened", found[0].key) if found else None


def usual(told: Told) -> Verdict | None:
    """A defect made usual ("for its age"): fine only beside a measured mark."""
    doubtful = told.known.doubtful(told.said)
    if doubtful is not None and doubtful.state != "untested":
        return Verdict("weakened", doubtful.key)
    if told.said.is_measured:
        return None
    found = [*told.known.marks_of(told.said), *told.known.marks, *told.known.faulty]
    return Verdict("weakened", found[0].key) if found else None


def covered_up(told: Told) -> Verdict | None:
    """A word that stands for all defects at once ("as is"): nothing is wrong with it where there are none."""
    found = told.known.defects
    return Verdict("weakened", found[0].key) if found else None
