"""The table of what each part of the price model brings, as Markdown."""

from __future__ import annotations

from collections.abc import Iterable

from tests.benchmarks.ablation_parts import FULL, MAIN, PARTS
from tests.benchmarks.peer_results import Result, Results
from tests.benchmarks.peer_scores import geometric_mean
from tests.benchmarks.peer_tables import SETS_IN_ORDER, machines_of, packages_of

SCORED = (80, 90)
NOT_RUN, UNBOUNDED, REFUSED = "not run", "no bounds", "no fit"
HEADER = """# What each part of the price model brings

Written by `python -m tests.benchmarks.ablations`. Machine: {machines}. {packages}.

Each row leaves one part out and fits anew; everything else stays. The figures say by how many percent the interval
score is worse without the part: above 0, the part helps; below 0, the set is better off without it. Five folds, three
times repeated under 400 rows, the same as in `peers.md`. demo: three draws of 600 sales of invented consoles with
faults, marks, locks and parts, blanks and asked prices included, each judged on 3,000 fresh sales of the same market.

- *Pooling*: each level of a choice or a group has a free effect of its own, as in least squares, and each fault only
  its own prior and its own sales. A level never seen is then priced as the reference level.
- *Bends*: numbers act in a straight line.
- *Spread*: the error has one size for all units.
- *Calibration*: Student t instead of held-out quantiles, and no shift to the median. *Quantiles by third and support*:
  one set of quantiles for all.
- *Bounds*: a fault may raise the price. The open sets state no bounds, so there is nothing to leave out.
- *All penalties at once*: pooling, bends and prior beliefs, by plain least squares with the same spread and
  calibration; beside main effects without bounds, because least squares has neither interactions nor trees.
"""


def worse(results: dict[str, Result], key: str, level: int) -> float:
    """Return by what share the interval score is worse without a part than with it."""
    other = results[PARTS[key].beside].reached
    return results[key].reached.score(level) / other.score(level) - 1


def state_of(results: dict[str, Result], key: str) -> str:
    """Return why there is no figure for a part on a set; "" when there is one."""
    kept = results.get(key)
    if kept is None:
        return NOT_RUN
    if not kept.folds:
        return REFUSED
    beside = PARTS[key].beside
    return NOT_RUN if beside and beside not in results else ""


def full_lines(results: Results, names: Iterable[str]) -> list[str]:
    """Return the scores of the full recipe and of main effects on each set."""
    lines = [
        "| set | recipe | score 80 | score 90 | coverage 80, % | coverage 90, % | median error, % |",
        "|---|---|---|---|---|---|---|",
    ]
    for name in names:
        for key in (FULL, MAIN):
            if not state_of(results[name], key):
                cells = [name, PARTS[key].title, *_figures(results[name][key])]
                lines.append("| " + " | ".join(cells) + " |")
    return lines


def _figures(result: Result) -> list[str]:
    reached = result.reached
    scores = [f"{reached.score(level):.4f}" for level in SCORED]
    shares = [f"{100 * reached.coverage(level):.1f}" for level in SCORED]
    return [*scores, *shares, f"{100 * reached.error:.2f}"]


def worse_lines(results: Results, names: list[str], level: int) -> list[str]:
    """Return by how many percent the score at a level is worse without each part, with the mean over sets."""
    lines = ["| without | " + " | ".join(names) + " | all sets |", "|---" * (len(names) + 2) + "|"]
    for key, part in PARTS.items():
        if part.beside:
            told = {name: state_of(results[name], key) for name in names}
            if key == "bounds":
                told |= dict.fromkeys(set(names) & set(SETS_IN_ORDER), UNBOUNDED)
            found = {name: worse(results[name], key, level) for name in names if not told[name]}
            cells = [told[name] or f"{100 * found[name]:+.1f}" for name in names]
            mean = f"{100 * (geometric_mean(1 + each for each in found.values()) - 1):+.1f}" if found else ""
            lines.append("| " + " | ".join([part.title, *cells, mean]) + " |")
    return lines


def figure_lines(results: Results, names: Iterable[str]) -> list[str]:
    """Return every figure without each part."""
    lines = [
        "| set | without | score 80 | score 90 | coverage 80, % | coverage 90, % | median error, % |",
        "|---|---|---|---|---|---|---|",
    ]
    for name in names:
        for key, part in PARTS.items():
            if part.beside and not state_of(results[name], key):
                lines.append("| " + " | ".join([name, part.title, *_figures(results[name][key])]) + " |")
    return lines


def useless(results: Results, names: Iterable[str], least: float = 0.001) -> list[str]:
    """Return the titles of parts without which no set is worse by a tenth of a percent at 80 or 90 %."""
    known = list(names)
    found = []
    for key, part in PARTS.items():
        on = [name for name in known if part.beside and not state_of(results[name], key)]
        if on and all(worse(results[name], key, level) < least for name in on for level in SCORED):
            found.append(part.title)
    return found


def bound_lines(results: Results) -> list[str]:
    """Return what the fits without bounds say against them."""
    lines = ["| draw | states that sales had | of them raising the price | which | pairs in wrong order | numbers |",
             "|---|---|---|---|---|---|"]  # fmt: skip
    for methods in results.values():
        kept = methods.get("bounds")
        for draw, broken in enumerate(kept.settings.get("broken", []) if kept else []):
            raising, numbers = broken["raising"], ", ".join(broken["numbers"]) or "none"
            which = ", ".join(raising) or "none"
            cells = [draw + 1, broken["states"], len(raising), which, broken["order"], numbers]
            lines.append("| " + " | ".join(map(str, cells)) + " |")
    return lines


def refused_lines(results: Results, names: Iterable[str]) -> list[str]:
    """Return why a set could not be fitted without a part."""
    return [
        f"{name} without {PARTS[key].title}: {kept.settings['refused']}"
        for name in names
        for key, kept in results[name].items()
        if "refused" in kept.settings
    ]


def report(results: Results, order: Iterable[str]) -> str:
    """Return the whole report."""
    names = [name for name in order if name in results and FULL in results[name]]
    nothing = useless(results, names)
    verdict = f"Brings nothing on any set: {', '.join(nothing)}." if nothing else "Every part helps on some set."
    sections = [
        HEADER.format(machines=machines_of(results), packages=packages_of(results)).splitlines(),
        ["## With everything", "", *full_lines(results, names)],
        *([f"## Worse without, %, {level} % interval", "", *worse_lines(results, names, level)] for level in SCORED),
        [f"{verdict} (Nothing: under a tenth of a percent at 80 and at 90 %.)", *refused_lines(results, names)],
        ["## Bounds: what they forbid (demo)", "", *bound_lines(results)],
        ["## Every figure", "", *figure_lines(results, names)],
    ]
    return "\n\n".join("\n".join(lines) for lines in sections) + "\n"
