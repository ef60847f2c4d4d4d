"""Results of methods as Markdown."""

from __future__ import annotations

from pricing.records.estimate import LEVELS
from tests.benchmarks.peer_results import Result, Results
from tests.benchmarks.peer_scores import Reached, best_covering, geometric_mean

TITLES = {
    "ours": "plainsale", "ols": "least squares (statsmodels)", "mixedlm": "random intercept (statsmodels)",
    "mapie_cqr": "conformalised quantiles (MAPIE on LightGBM)", "lightgbm_cv_plus": "LightGBM with CV+ (MAPIE)",
    "quantile_forest": "quantile forest", "ngboost": "natural-gradient boosting (NGBoost)",
}  # fmt: skip
SETS_IN_ORDER = ("mariokart", "diamond", "houses", "ames", "computers")
SCORED = (80, 90)
START, END = "<!-- peers: start -->", "<!-- peers: end -->"
LUCKY = "diamond"  # its prices follow a price list, so a model that finds the list wins by far


def reached_on(results: Results, name: str) -> dict[str, Reached]:
    """Return what each method reached on a set, those that cannot be used on it apart."""
    methods = results[name]
    return {each: methods[each].reached for each in TITLES if each in methods and methods[each].folds}


def sets_of(results: Results) -> list[str]:
    return [name for name in SETS_IN_ORDER if name in results]


def full_table(results: Results) -> list[str]:
    """Return every figure of every method; a coverage that misses by more than three points is in brackets."""
    lines = [
        "| set | method | median error, % | coverage 50/80/90/95, % | score 50 | 80 | 90 | 95 | fit, s | price, s |",
        "|---|---|---|---|---|---|---|---|---|---|",
    ]
    for name in sets_of(results):
        for method, each in reached_on(results, name).items():
            shares = "/".join(_share(each, level) for level in LEVELS)
            scores = " | ".join(f"{each.score(level):.4f}" for level in LEVELS)
            seconds = " | ".join(f"{each.seconds(part):.3g}" for part in ("fit", "price"))
            lines.append(f"| {name} | {TITLES[method]} | {100 * each.error:.2f} | {shares} | {scores} | {seconds} |")
    return lines


def _share(reached: Reached, level: int) -> str:
    share = f"{100 * reached.coverage(level):.1f}"
    return share if reached.covers(level) else f"({share})"


def ratio_table(results: Results) -> list[str]:
    """Return ours over the best covering peer for each set, and geometric means with and without the easy set."""
    lines = ["| set | score 80: ours | best peer | ratio | score 90: ours | best peer | ratio | median error ratio |",
             "|---|---|---|---|---|---|---|---|"]  # fmt: skip
    ratios: dict[int, dict[str, float]] = {level: {} for level in SCORED}
    for name in sets_of(results):
        reached = reached_on(results, name)
        if "ours" not in reached:
            continue
        cells = [name]
        for level in SCORED:
            cells += _beside_best(reached, level, ratios[level], name)
        errors = [each.error for method, each in reached.items() if method != "ours"]
        cells.append(f"{reached['ours'].error / min(errors):.3f}" if errors else "")
        lines.append("| " + " | ".join(cells) + " |")
    told = [*lines, "", *_means(ratios)]
    both: dict[int, dict[str, float]] = {level: {} for level in SCORED}
    for name in sets_of(results):
        reached = reached_on(results, name)
        if "ours" in reached:
            for level in SCORED:
                _beside_best(reached, level, both[level], name, both_ways=True)
    strict = _means(both)
    if strict:
        told += ["", "Against those alone whose coverage misses by at most three points either way:", "", *strict]
    return told


def _beside_best(
    reached: dict[str, Reached], level: int, ratios: dict[str, float], name: str, *, both_ways: bool = False
) -> list[str]:
    own, best = reached["ours"], best_covering(reached, level, both_ways=both_ways)
    shown = f"{own.score(level):.4f}"
    if best is None:
        return [shown, "no peer covers", ""]
    ratios[name] = own.score(level) / reached[best].score(level)
    return [shown, f"{reached[best].score(level):.4f} {TITLES[best]}", f"{ratios[name]:.3f}"]


def _means(ratios: dict[int, dict[str, float]]) -> list[str]:
    lines = []
    for level, found in ratios.items():
        rest = [ratio for name, ratio in found.items() if name != LUCKY]
        if found and rest:
            means = f"{geometric_mean(found.values()):.3f}, without {LUCKY} {geometric_mean(rest):.3f}"
            lines.append(f"Geometric mean of the ratios at {level} %: {means}.")
    return lines


def settings_table(results: Results) -> list[str]:
    """Return the chosen settings of each peer on each set."""
    lines = ["| set | method | tried | chosen |", "|---|---|---|---|"]
    for name in sets_of(results):
        for method, title in TITLES.items():
            each = results[name].get(method)
            if each is not None and method != "ours":
                chosen = ", ".join(f"{key} {value}" for key, value in each.settings.items()) or "nothing to choose"
                text = chosen if each.folds else "not used: no column of words with five levels"
                lines.append(f"| {name} | {title} | {each.tried} | {text} |")
    return lines


def packages_of(results: Results) -> str:
    found: dict[str, set[str]] = {}
    for each in _every(results):
        for package, number in each.versions.items():
            found.setdefault(package, set()).add(number)
    return ", ".join(f"{package} {' and '.join(sorted(numbers))}" for package, numbers in sorted(found.items()))


def machines_of(results: Results) -> str:
    return "; ".join(sorted({each.machine for each in _every(results)}))


def _every(results: Results) -> list[Result]:
    return [each for methods in results.values() for each in methods.values()]


def readme_table(results: Results) -> str:
    """Return what the README shows: each method's 80 % score and coverage on each set, and ours over the best."""
    names = [name for name in sets_of(results) if "ours" in reached_on(results, name)]
    lines = ["| 80 % interval: score (coverage, %) | " + " | ".join(names) + " |", "|---" * (len(names) + 1) + "|"]
    for method, title in TITLES.items():
        cells = [_cell(results[name].get(method)) for name in names]
        lines.append(f"| {title} | " + " | ".join(cells) + " |")
    for level in SCORED:
        ratios: dict[str, float] = {}
        beside = [_beside_best(reached_on(results, name), level, ratios, name)[2] for name in names]
        lines.append(f"| ours over the best that covers, {level} % | " + " | ".join(beside) + " |")
    told = [
        "Score: mean interval score over the median price, smaller is better; in brackets the share of prices inside.",
        "A method with more than three points too few prices inside does not count as best; one with too many does.",
        "Settings of every method, all levels and times are in `tests/benchmarks/peers.md`.",
        f"Measured on {machines_of(results)}; {packages_of(results)}.",
    ]
    return "\n".join([*lines, "", *told])


def _cell(result: Result | None) -> str:
    if result is None:
        return "not run"
    if not result.folds:
        return "not applicable"
    return f"{result.reached.score(80):.3f} ({100 * result.reached.coverage(80):.0f})"


def between_markers(text: str, table: str) -> str:
    """Return the text with the table in place of what stands between the markers.

    Raises:
        ValueError: The text lacks a marker.
    """
    before, start, rest = text.partition(START)
    _, end, after = rest.partition(END)
    if not start or not end:
        raise ValueError(f"the text needs the lines {START} and {END}")
    return f"{before}{START}\n{table}\n{END}{after}"


def report(results: Results) -> str:
    """Return the whole report."""
    lines = [
        "# plainsale beside other methods",
        "",
        f"Machine: {machines_of(results)}. {packages_of(results)}.",
        "",
        "Five folds, three times repeated under 400 rows; the same for all. Score: the interval score over the fold's",
        "median price, mean over folds; smaller is better. A coverage in brackets is more than three points too low:",
        "the method does not stand as a peer at that level. Seconds are the processor's, on one thread, the median of",
        "folds; reading files is not in them.",
        "",
        "## Ours over the best peer that covers",
        "",
        *ratio_table(results),
        "",
        "## Every figure",
        "",
        *full_table(results),
        "",
        "## Settings",
        "",
        "Chosen for each set inside the first training part by the 80 % interval score over inner folds, among those",
        "that cover there within three points. `peer_methods.py` lists all that were tried.",
        "",
        *settings_table(results),
    ]
    return "\n".join(lines) + "\n"
