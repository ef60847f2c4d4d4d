"""Runs of methods over the folds of a set, and the choice of a peer's settings inside the first training part."""

from __future__ import annotations

import time
import warnings
from collections.abc import Callable, Iterator

import numpy as np
import pandas as pd
from threadpoolctl import threadpool_limits

from data.catalogue.reader import read_class
from tests.benchmarks.own_method import CLASSES, Ours
from tests.benchmarks.peer_columns import logged
from tests.benchmarks.peer_methods import MANY, PEERS, Peer, Settings, largest_group, settings_tried
from tests.benchmarks.peer_results import PACKAGES, Result, machine, versions_of
from tests.benchmarks.peer_scores import FoldScore, Reached, fold_score
from tests.external.real_data.five_fold import FOLDS, SETS

SMALL = 400
REPEATS = 3
TUNED_ON = 80
Parts = tuple[pd.DataFrame, pd.DataFrame]


def parts_of(frame: pd.DataFrame, folds: int, repeats: int) -> Iterator[Parts]:
    """Yield training rows and held-out rows; repeat r is shuffled with seed r."""
    for repeat in range(repeats):
        order = np.random.default_rng(repeat).permutation(len(frame))
        for fold in range(folds):
            held = frame.iloc[order[fold::folds]].reset_index(drop=True)
            yield frame.drop(index=order[fold::folds]).reset_index(drop=True), held


def run_fold(method: Peer | Ours, train: pd.DataFrame, held: pd.DataFrame) -> FoldScore:
    """Return the scores of one fold, with the processor's time."""
    prices = held["price"].to_numpy(float)
    unpriced = held.drop(columns="price")
    with threadpool_limits(1), warnings.catch_warnings():
        warnings.simplefilter("ignore")  # the peers' libraries warn of crossing quantiles, columns without names, ...
        start = time.process_time()
        method.fit(train.drop(columns="price"), train["price"].to_numpy(float))
        fitted = time.process_time()
        priced = method.price(unpriced)
        ended = time.process_time()
    reading = method.reading_seconds if isinstance(method, Ours) else 0.0
    seconds = {"fit_seconds": fitted - start - reading, "price_seconds": ended - fitted, "reading_seconds": reading}
    return fold_score(priced, prices, **seconds)


def chosen_settings(name: str, train: pd.DataFrame) -> tuple[Settings, int]:
    """Return the settings with the least 80 % interval score over inner folds, and how many were tried.

    Those whose inner coverage misses by more than three points are passed over, unless all do.
    """
    tried = settings_tried(name, len(train))
    if len(tried) == 1:
        return tried[0], 1
    folds = FOLDS if len(train) < MANY else 2
    inner = list(parts_of(train, folds, 1))
    at_one_level = [{**each, "levels": (TUNED_ON,)} for each in tried]
    reached = [Reached(tuple(run_fold(PEERS[name](each), *part) for part in inner)) for each in at_one_level]
    covering = [at for at, each in enumerate(reached) if each.covers(TUNED_ON)] or list(range(len(tried)))
    best = min(covering, key=lambda at: reached[at].score(TUNED_ON))
    return tried[best], len(tried)


def run_method(name: str, method: str, told: Callable[[str], None]) -> Result:
    """Return one method's folds on one set; none for a random intercept where no column of words has five levels."""
    frame = SETS[name]().reset_index(drop=True)
    parts = list(parts_of(frame, FOLDS, REPEATS if len(frame) < SMALL else 1))
    settings: Settings = {}
    tried, folds = 1, ()
    if method == "ours":
        folds = tuple(run_fold(Ours(name), *part) for part in parts)
    elif method != "mixedlm" or largest_group(frame) is not None:
        device_class = read_class(CLASSES / f"{name}.toml")
        parts = [(logged(train, device_class), logged(held, device_class)) for train, held in parts]
        settings, tried = chosen_settings(method, parts[0][0])
        told(f"{name} {method}: {dict(settings)} of {tried}")
        folds = tuple(run_fold(PEERS[method](settings), *part) for part in parts)
    return Result(dict(settings), tried, versions_of(PACKAGES[method]), machine(), folds)
