"""Runs of the recipe, and of the recipe without a part, over folds of the open sets and over demo sales."""

from __future__ import annotations

import time
from collections.abc import Iterator
from dataclasses import asdict, dataclass, replace
from unittest import mock

import numpy as np
from threadpoolctl import threadpool_limits

from data.catalogue.reader import read_class
from data.demo.generate import generate
from pricing.errors import SingularDesign
from pricing.estimation.estimate import estimate_columns
from pricing.hedonic import fit
from pricing.hedonic.model import PriceModel
from pricing.records.device_class import DeviceClass
from pricing.records.estimate import LEVELS
from pricing.records.sales_table import ConditionTable, SalesTable
from tests.benchmarks.ablation_parts import PARTS, Part, broken_bounds
from tests.benchmarks.own_method import CLASSES
from tests.benchmarks.peer_results import PACKAGES, Result, machine, versions_of
from tests.benchmarks.peer_runs import REPEATS, SMALL, parts_of
from tests.benchmarks.peer_scores import FoldScore, Priced, fold_score
from tests.external.frames import condition_of, sales_of
from tests.external.real_data.five_fold import FOLDS, SETS

DEMO, DEMO_CLASS = "demo", "console"
DEMO_SEEDS, DEMO_ROWS, DEMO_FRESH = 3, 600, 3_000
NAMES = ("mariokart", "diamond", "houses", "ames", "computers", DEMO)


@dataclass(frozen=True, eq=False)
class Fold:
    """Sales to fit, and units with the prices that were paid for them, shape (units,), in money."""

    device_class: DeviceClass
    sales: SalesTable
    units: ConditionTable
    prices: np.ndarray


def folds_of(name: str) -> Iterator[Fold]:
    """Yield the folds of an open set as in the peers' benchmark, or the draws of demo sales."""
    if name == DEMO:
        yield from map(demo_fold, range(DEMO_SEEDS))
        return
    frame, device_class = SETS[name]().reset_index(drop=True), read_class(CLASSES / f"{name}.toml")
    for train, held in parts_of(frame, FOLDS, REPEATS if len(frame) < SMALL else 1):
        yield Fold(device_class, sales_of(train), condition_of(held), held["price"].to_numpy(float))


def demo_fold(seed: int) -> Fold:
    """Return 600 demo sales as told, blanks and asked prices included, and 3,000 fresh ones that were paid."""
    known = generate(seed, rows={DEMO_CLASS: DEMO_ROWS})
    drawn = generate(seed + 1_000, rows={DEMO_CLASS: 2 * DEMO_FRESH}, truth=known.truth).tables[DEMO_CLASS]
    sales = known.tables[DEMO_CLASS]
    paid = np.flatnonzero(~drawn.asked & ~drawn.refunded)
    fresh = drawn.take(np.sort(np.random.default_rng(seed).choice(paid, DEMO_FRESH, replace=False)))
    kept = sales.take(np.flatnonzero(~sales.refunded))
    return Fold(known.device_classes[DEMO_CLASS], kept, fresh.condition, fresh.price)


def fitted(part: Part, fold: Fold) -> PriceModel:
    """Return the model of a part with a fit of its own.

    Raises:
        SingularDesign: Without penalties, columns say the same thing.
    """
    if part.design is None:
        return fit.fit_model(fold.sales, fold.device_class, settings=part.settings)
    learnt, reshaped = fit.learn_design, part.design
    # The recipe has no switch for the shape of its columns, and needs none outside this table.
    with mock.patch.object(fit, "learn_design", lambda *given, **named: reshaped(learnt(*given, **named))):
        return fit.fit_model(fold.sales, fold.device_class, settings=part.settings)


def scored(model: PriceModel, fold: Fold, fit_seconds: float = 0.0) -> FoldScore:
    """Return what the fold's prices say of the model's figures."""
    start = time.process_time()
    found = estimate_columns(model, fold.units, always=True)
    price_seconds = time.process_time() - start
    edges = ({each: side[each] for each in LEVELS} for side in (found.low, found.high))
    return fold_score(Priced(found.estimate, *edges), fold.prices, fit_seconds=fit_seconds, price_seconds=price_seconds)


def parts_for(name: str) -> list[str]:
    """Return the parts with a fit of their own that a set can tell apart: no open set states a bound."""
    own = [key for key, part in PARTS.items() if part.finish is None]
    return own if name == DEMO else [key for key in own if key != "bounds"]


def run_part(name: str, key: str) -> dict[str, Result]:
    """Return the results of one part on one set, and of the parts that only finish its models otherwise."""
    finished = {each: part.finish for each, part in PARTS.items() if part.finish and part.beside == key}
    scores: dict[str, list[FoldScore]] = {each: [] for each in (key, *finished)}
    told: list[dict[str, object]] = []
    empty = Result({}, 1, versions_of(PACKAGES["ours"]), machine())
    with threadpool_limits(1):
        for fold in folds_of(name):
            start = time.process_time()
            try:
                model = fitted(PARTS[key], fold)
            except SingularDesign as refused:
                return {key: replace(empty, settings={"refused": str(refused)})}
            scores[key].append(scored(model, fold, time.process_time() - start))
            for other, finish in finished.items():
                scores[other].append(scored(finish(model), fold))
            if key == "bounds":
                told.append(asdict(broken_bounds(model)))
    results = {each: replace(empty, folds=tuple(found)) for each, found in scores.items()}
    if told:
        results[key] = replace(results[key], settings={"broken": told})
    return results
