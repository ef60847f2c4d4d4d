"""The figures of scale as Markdown."""

from __future__ import annotations

from typing import Any

Kept = dict[str, Any]


def report(kept: Kept) -> str:
    """Return the report of what is kept; parts that were not measured are left out."""
    lines = [f"# Time and memory at scale\n\nMachine: {kept['machine']}.\n", *fits_table(kept), *others_table(kept)]
    return "\n".join(lines) + "\n"


def fits_table(kept: Kept) -> list[str]:
    lines = [
        "Generated sales of the class console. Core fit: without the choice of a structure; X'X: one float64 product",
        "of the same columns, dense, block by block, not counting how the blocks are made. Seconds: on the wall, and",
        "in brackets of all threads together, which other load on the machine changes less. Memory: of drawing and",
        "fitting.",
        "",
        "| sales | columns | core fit | dense X'X | core / X'X | peak, MiB | full fit |",
        "|---|---|---|---|---|---|---|",
    ]
    for rows in (10_000, 100_000, 1_000_000):
        core, full = kept.get(f"core-{rows}"), kept.get(f"full-{rows}")
        if core:
            cells = [_seconds(core, "fit"), _seconds(core, "gram"), _ratios(core, "fit", "gram"), f"{core['peak']:.0f}"]
            whole = _seconds(full, "fit") if full else ""
            lines.append(f"| {rows:,} | {core['columns']:.0f} | {' | '.join(cells)} | {whole} |")
    growth = growth_of(kept)
    if growth is not None:
        lines += ["", f"Growth of the core fit from 100 thousand to 1 million, over ten: {growth:.2f} of all threads."]
    return lines


def growth_of(kept: Kept) -> float | None:
    """Return the work of a million over ten times that of a tenth; at most 1: no more than linear."""
    small, large = kept.get("core-100000"), kept.get("core-1000000")
    return large["fit_work"] / small["fit_work"] / 10 if small and large else None


def others_table(kept: Kept) -> list[str]:
    lines = ["", "| what | ours | beside it | theirs | ratio |", "|---|---|---|---|---|"]
    told = {
        "pricing": ("1,000,000 units priced, all intervals", "LightGBM predicting five quantiles"),
        "unit": ("one unit in process", "statsmodels get_prediction(row).summary_frame(), as many columns"),
        "computers": ("full fit with selection on Computers", "conformalised quantiles (MAPIE, LightGBM), four levels"),
    }
    for name, (own, theirs) in told.items():
        if name in kept:
            each = kept[name]
            seconds = [_seconds(each, side) for side in ("own", "theirs")]
            lines.append(f"| {own} | {seconds[0]} | {theirs} | {seconds[1]} | {_ratios(each, 'own', 'theirs')} |")
    if "pricing" in kept:
        each = {key: f"{value:,.0f}" for key, value in kept["pricing"].items()}
        boosters = f"The five boosters (0.05, 0.1, 0.5, 0.9, 0.95): {each['rounds']} rounds of {each['leaves']} leaves"
        lines += ["", f"{boosters}, {each['features']} features, fitted to {each['learnt']} sales."]
    return lines


def _seconds(measured: dict[str, float], name: str) -> str:
    return f"{measured[name]:.4g} ({measured[f'{name}_work']:.4g})"


def _ratios(measured: dict[str, float], over: str, under: str) -> str:
    walls, works = (measured[f"{over}{kind}"] / measured[f"{under}{kind}"] for kind in ("", "_work"))
    return f"{walls:.3f} ({works:.3f})"
