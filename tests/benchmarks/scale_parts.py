"""What is timed at scale, each part for a process of its own: its figures as a dictionary of numbers.

Both sides of a ratio run in the same process, one after the other, on all cores.
"""

from __future__ import annotations

import os
import time
import warnings
from collections.abc import Callable
from datetime import date
from pathlib import Path

import numpy as np
import statsmodels.api as sm
from lightgbm import LGBMRegressor

from data.catalogue.reader import read_class
from data.demo.generate import DemoData, generate
from pricing.estimation.estimate import estimate_columns, estimate_unit
from pricing.hedonic.design import Design, learn_design
from pricing.hedonic.fit import FitSettings, fit_model
from pricing.hedonic.summary import summarise
from pricing.records.device_class import DeviceClass
from pricing.records.sales_table import ConditionTable, SalesTable, TextColumn
from pricing.records.unit import Unit
from tests.benchmarks.own_method import CLASSES
from tests.benchmarks.peer_methods import ConformalQuantiles, Settings
from tests.external.frames import sales_of
from tests.external.real_data.five_fold import SETS

CLASS = "console"
CORE = FitSettings(interactions=False, trees=False)
GRAM_ROWS = 20_000
PRICED_ROWS = 50_000
BOOSTED_ROWS = 100_000
QUANTILES = (0.05, 0.1, 0.5, 0.9, 0.95)
ROUNDS, LEAVES = 300, 31
KIB_IN_MIB = 1024
Figures = dict[str, float]


def timed(action: Callable[[], object]) -> np.ndarray:
    """Return seconds on the wall, and of all the process's threads together: the latter stand other load."""
    wall, work = time.perf_counter(), time.process_time()
    action()
    return np.array([time.perf_counter() - wall, time.process_time() - work])


def told(**times: list[np.ndarray]) -> Figures:
    """Return medians as ``name`` (wall) and ``name_work`` (all threads)."""
    middles = {name: np.median(each, axis=0) for name, each in times.items()}
    walls = {name: float(each[0]) for name, each in middles.items()}
    return {**walls, **{f"{name}_work": float(each[1]) for name, each in middles.items()}}


def drawn(rows: int) -> tuple[DemoData, SalesTable, DeviceClass]:
    demo = generate(3, rows={CLASS: rows})
    return demo, demo.tables[CLASS], demo.device_classes[CLASS]


def peak_mib() -> float:
    """Return the peak of this process's own memory; getrusage would count the parent's before this program started."""
    status = Path("/proc/self/status").read_text(encoding="ascii")
    line = next(each for each in status.splitlines() if each.startswith("VmHWM"))
    return int(line.split()[1]) / KIB_IN_MIB


def core_fit(rows: int, *, times: int) -> Figures:
    """Time the fit without the choice of a structure, and the dense X'X of its columns; peak of drawing and fitting."""
    _, sales, device_class = drawn(rows)
    fits = [timed(lambda: fit_model(sales, device_class, settings=CORE)) for _ in range(times)]
    peak = peak_mib()
    kept = sales.take(np.flatnonzero(~sales.refunded))
    design = learn_design(summarise(kept, device_class), device_class)
    grams = [gram_seconds(design, kept) for _ in range(times)]
    return {"rows": rows, "columns": design.columns, **told(fit=fits, gram=grams), "peak": peak}


def gram_seconds(design: Design, sales: SalesTable) -> np.ndarray:
    """Return the time of the dense products alone; the dense rows are made block by block and not counted."""
    total, seconds = np.zeros((design.columns, design.columns)), np.zeros(2)
    for _, raw in design.chunks(sales.condition, sales.asked, GRAM_ROWS):
        dense = raw.to_dense()
        seconds += timed(lambda dense=dense: np.add(total, dense.T @ dense, out=total))
    return seconds


def full_fit(rows: int) -> Figures:
    """Time the whole fit with the choice of a structure."""
    _, sales, device_class = drawn(rows)
    fit = timed(lambda: fit_model(sales, device_class))
    return {"rows": rows, **told(fit=[fit]), "peak": peak_mib()}


def text_columns(table: ConditionTable) -> list[tuple[str, TextColumn]]:
    groups = {"text": table.texts, "fault": table.faults, "mark": table.marks, "part": table.parts, "lock": table.locks}
    return [(f"{group}:{name}", column) for group, columns in groups.items() for name, column in columns.items()]


def coded(table: ConditionTable, levels: dict[str, dict[str, int]]) -> tuple[np.ndarray, list[int]]:
    """Return numbers and level numbers, shape (rows, columns), and which columns are levels; learns new levels."""
    found = [column.astype(np.float32) for column in table.numbers.values()]
    if table.sold_on is not None:
        found.append(table.sold_on.astype(np.float32))
    first = len(found)
    for name, column in text_columns(table):
        known = levels.setdefault(name, {})
        places = np.array([known.setdefault(word, len(known)) for word in column.levels] + [-1], dtype=np.float32)
        codes = places[column.codes]
        found.append(np.where(codes < 0, np.nan, codes))
    return np.column_stack(found), list(range(first, len(found)))


def pricing(rows: int) -> Figures:
    """Time pricing so many units with all intervals, and five boosters predicting a quantile each."""
    demo, sales, device_class = drawn(BOOSTED_ROWS)
    model = fit_model(sales, device_class, settings=CORE)
    units = generate(4, rows={CLASS: rows}, truth=demo.truth).tables[CLASS].condition
    own = timed(lambda: [estimate_columns(model, units.part(part), always=True) for part in parts_of(rows)])
    levels: dict[str, dict[str, int]] = {}
    learnt, places = coded(sales.condition, levels)
    boosters = [boosted(alpha).fit(learnt, np.log(sales.price), categorical_feature=places) for alpha in QUANTILES]
    asked, _ = coded(units, levels)
    theirs = timed(lambda: [booster.predict(asked) for booster in boosters])
    shape = {"rows": rows, "columns": model.design.columns, "features": learnt.shape[1], "learnt": len(learnt)}
    return {**shape, "rounds": ROUNDS, "leaves": LEAVES, **told(own=[own], theirs=[theirs])}


def parts_of(rows: int) -> list[slice]:
    return [slice(start, min(start + PRICED_ROWS, rows)) for start in range(0, rows, PRICED_ROWS)]


def boosted(alpha: float) -> LGBMRegressor:
    return LGBMRegressor(objective="quantile", alpha=alpha, n_estimators=ROUNDS, num_leaves=LEAVES, learning_rate=0.05,
                         verbosity=-1, random_state=0)  # fmt: skip


def one_unit(times: int) -> Figures:
    """Time one unit in process, warm, and statsmodels' prediction of one row from as many columns."""
    _, sales, device_class = drawn(20_000)
    model = fit_model(sales, device_class, settings=CORE)
    raw = model.design.rows(sales.condition, sales.asked).to_dense()
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # some columns say what others say; least squares copes by its pseudo-inverse
        fitted = sm.OLS(np.log(sales.price), raw).fit()
    row, unit, day = raw[:1], unit_of(sales, device_class), date(2026, 7, 1)
    own = [timed(lambda: estimate_unit(model, unit, on=day, always=True)) for _ in range(times)][times // 4 :]
    theirs = [timed(lambda: fitted.get_prediction(row).summary_frame()) for _ in range(times)][times // 4 :]
    return {"columns": raw.shape[1], **told(own=own, theirs=theirs)}


def unit_of(sales: SalesTable, device_class: DeviceClass) -> Unit:
    """Return the first sale's attributes, and its functions but for impaired ones, which would need a symptom."""
    table, attributes = sales.condition, {}
    for name in (each.name for each in device_class.attributes):
        word = table.texts[name].word(0) if name in table.texts else None
        number = table.numbers[name][0] if name in table.numbers else np.nan
        attributes[name] = f"{number:g}" if np.isfinite(number) else word
    words = {name: column.word(0) for name, column in table.faults.items()}
    functions = {name: {"status": word} for name, word in words.items() if word not in (None, "impaired")}
    return Unit.model_validate({"class": device_class.name, "attributes": attributes, "functions": functions})


def computers(settings: Settings, times: int) -> Figures:
    """Time the full fit with selection on the personal computers, and the conformalised quantile peer's."""
    frame = SETS["computers"]().reset_index(drop=True)
    prices, columns = frame["price"].to_numpy(float), frame.drop(columns="price")
    sales, device_class = sales_of(frame), read_class(CLASSES / "computers.toml")
    on_all_cores = {**settings, "threads": os.cpu_count()}
    own, theirs = [], []
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        for _ in range(times):
            own.append(timed(lambda: fit_model(sales, device_class)))
            theirs.append(timed(lambda: ConformalQuantiles(on_all_cores).fit(columns, prices)))
    return {"rows": len(frame), **told(own=own, theirs=theirs)}
