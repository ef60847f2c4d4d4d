"""The peers, each with ``fit(frame, prices)`` and ``price(frame)``, and the settings that are tried for each.

All of them learn the log of price; intervals and medians are exponentiated. A peer's settings are chosen for each set
by ``peer_runs.chosen_settings``. Nothing was left at a
default that a user of the library would change for a table of a few hundred to a few thousand rows.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from itertools import product
from typing import Any, Protocol

import numpy as np
import pandas as pd
import statsmodels.api as sm
from lightgbm import LGBMRegressor
from mapie.regression import ConformalizedQuantileRegressor, CrossConformalRegressor
from ngboost import NGBRegressor
from quantile_forest import RandomForestQuantileRegressor
from scipy import stats
from sklearn.model_selection import train_test_split
from sklearn.tree import DecisionTreeRegressor

from pricing.records.estimate import LEVELS
from tests.benchmarks.peer_columns import Columns, learn_columns
from tests.benchmarks.peer_scores import Priced

Settings = Mapping[str, Any]
SEED = 0
FEWEST_LEVELS = 5
MANY = 1000
FEWEST_HELD = 21  # MAPIE refuses 95 % with fewer held rows


class Peer(Protocol):
    """A fitted or yet unfitted method."""

    def fit(self, frame: pd.DataFrame, prices: np.ndarray) -> None: ...

    def price(self, frame: pd.DataFrame) -> Priced: ...


def exponentiated(centre: np.ndarray, edges: Mapping[int, tuple[np.ndarray, np.ndarray]]) -> Priced:
    return Priced(
        np.exp(centre),
        {level: np.exp(low) for level, (low, _) in edges.items()},
        {level: np.exp(high) for level, (_, high) in edges.items()},
    )


def tails(level: int) -> tuple[float, float]:
    return round(0.5 - level / 200, 4), round(0.5 + level / 200, 4)


class LeastSquares:
    """statsmodels OLS in reference coding with its t prediction interval."""

    def __init__(self, settings: Settings) -> None:
        self.settings = settings

    def fit(self, frame: pd.DataFrame, prices: np.ndarray) -> None:
        self.columns = learn_columns(frame, np.log(prices), "reference")
        self.fitted = sm.OLS(np.log(prices), self.columns.matrix(frame)).fit()

    def price(self, frame: pd.DataFrame) -> Priced:
        prediction = self.fitted.get_prediction(self.columns.matrix(frame))
        edges = {level: prediction.conf_int(obs=True, alpha=1 - level / 100).T for level in LEVELS}
        return exponentiated(prediction.predicted_mean, {level: (each[0], each[1]) for level, each in edges.items()})


def largest_group(frame: pd.DataFrame) -> str | None:
    """Return the column of words with the most levels, at least five; None: no random effect can be fitted."""
    words = [name for name in frame.columns if frame[name].dtype.kind not in "if"]
    counts = {name: frame[name].nunique() for name in words}
    best = max(counts, key=lambda name: counts[name], default=None)
    return best if best is not None and counts[best] >= FEWEST_LEVELS else None


class MixedEffects:
    """statsmodels MixedLM: a random intercept of the largest group, the rest as in least squares.

    The variance of a new price is the residual's, the fixed effects' and the group's own (of an unseen group: the
    whole variance of groups); normal quantiles.
    """

    def __init__(self, settings: Settings) -> None:
        self.settings = settings

    def fit(self, frame: pd.DataFrame, prices: np.ndarray) -> None:
        self.group = largest_group(frame)
        rest = frame.drop(columns=self.group)
        self.columns = learn_columns(rest, np.log(prices), "reference")
        groups = frame[self.group].astype(str).to_numpy()
        self.fitted = sm.MixedLM(np.log(prices), self.columns.matrix(rest), groups=groups).fit(reml=True)
        effects, spreads = self.fitted.random_effects, self.fitted.random_effects_cov
        self.effects = {level: float(np.asarray(each)[0]) for level, each in effects.items()}
        self.variances = {level: float(np.asarray(each)[0, 0]) for level, each in spreads.items()}

    def price(self, frame: pd.DataFrame) -> Priced:
        rows, groups = self.columns.matrix(frame), frame[self.group].astype(str)
        fixed = len(self.fitted.fe_params)
        covariance = np.asarray(self.fitted.cov_params())[:fixed, :fixed]
        between = float(np.asarray(self.fitted.cov_re)[0, 0])
        centre = rows @ np.asarray(self.fitted.fe_params) + np.array([self.effects.get(each, 0.0) for each in groups])
        variance = self.fitted.scale + np.sum(rows @ covariance * rows, axis=1)
        deviation = np.sqrt(variance + np.array([self.variances.get(each, between) for each in groups]))
        return exponentiated(centre, normal_edges(centre, deviation))


def normal_edges(centre: np.ndarray, deviation: np.ndarray) -> dict[int, tuple[np.ndarray, np.ndarray]]:
    factors = {level: stats.norm.ppf(tails(level)[1]) for level in LEVELS}
    return {level: (centre - each * deviation, centre + each * deviation) for level, each in factors.items()}


def boosting(settings: Settings, **others: object) -> LGBMRegressor:
    return LGBMRegressor(
        n_estimators=settings["rounds"], learning_rate=settings["rate"], num_leaves=settings["leaves"],
        min_child_samples=settings["least"], subsample=settings["rows"], subsample_freq=1,
        colsample_bytree=settings["columns"], cat_smooth=5, min_data_per_group=10,
        n_jobs=settings.get("threads", 1), random_state=SEED, verbosity=-1, **others,
    )  # fmt: skip


class ConformalQuantiles:
    """MAPIE's conformalised quantile regression on LightGBM: for each level two quantiles and the median."""

    def __init__(self, settings: Settings) -> None:
        self.settings = settings

    def fit(self, frame: pd.DataFrame, prices: np.ndarray) -> None:
        price_log = np.log(prices)
        self.columns = learn_columns(frame, price_log, self.settings["coding"])
        held = max(round(self.settings["held"] * len(frame)), FEWEST_HELD)
        parts = train_test_split(self.columns.matrix(frame), price_log, test_size=held, random_state=SEED)
        self.fitted = {level: self._fitted(level, *parts) for level in self.settings.get("levels", LEVELS)}
        self.held = len(parts[1])

    def _fitted(self, level: int, rows: np.ndarray, held_rows: np.ndarray, price_log: np.ndarray,
                held_log: np.ndarray) -> ConformalizedQuantileRegressor:  # fmt: skip
        booster = boosting(self.settings, objective="quantile", alpha=0.5)
        method = ConformalizedQuantileRegressor(booster, confidence_level=level / 100)
        method.fit(rows, price_log, fit_params=told_codes(self.columns))
        return method.conformalize(held_rows, held_log)

    def price(self, frame: pd.DataFrame) -> Priced:
        rows, edges = self.columns.matrix(frame), {}
        for level, method in self.fitted.items():
            # Apart for each edge, the 1 - level/100 is halved: too few held rows allow one correction for both only.
            symmetric = self.held <= 2 / (1 - level / 100)
            centre, found = method.predict_interval(rows, symmetric_correction=symmetric)
            edges[level] = (np.minimum(found[:, 0, 0], found[:, 1, 0]), np.maximum(found[:, 0, 0], found[:, 1, 0]))
        return exponentiated(centre, edges)


def told_codes(columns: Columns) -> dict[str, object]:
    places = columns.places_of_codes
    return {"categorical_feature": places} if places else {}


class CrossConformal:
    """LightGBM on the log of price with MAPIE's CV+ over ten folds."""

    def __init__(self, settings: Settings) -> None:
        self.settings = settings

    def fit(self, frame: pd.DataFrame, prices: np.ndarray) -> None:
        self.columns = learn_columns(frame, np.log(prices), self.settings["coding"])
        booster = boosting(self.settings, objective="regression")
        levels = [level / 100 for level in LEVELS]
        method = CrossConformalRegressor(booster, confidence_level=levels, method="plus", cv=10, random_state=SEED)
        fit_params = told_codes(self.columns)
        self.fitted = method.fit_conformalize(self.columns.matrix(frame), np.log(prices), fit_params=fit_params)

    def price(self, frame: pd.DataFrame) -> Priced:
        centre, found = self.fitted.predict_interval(self.columns.matrix(frame))
        return exponentiated(centre, {level: (found[:, 0, at], found[:, 1, at]) for at, level in enumerate(LEVELS)})


class QuantileForest:
    """quantile-forest's random forest."""

    def __init__(self, settings: Settings) -> None:
        self.settings = settings

    def fit(self, frame: pd.DataFrame, prices: np.ndarray) -> None:
        self.columns = learn_columns(frame, np.log(prices), self.settings["coding"])
        self.fitted = RandomForestQuantileRegressor(
            n_estimators=self.settings["trees"], min_samples_leaf=self.settings["least"],
            max_features=self.settings["columns"], random_state=SEED, n_jobs=1,
        ).fit(self.columns.matrix(frame), np.log(prices))  # fmt: skip

    def price(self, frame: pd.DataFrame) -> Priced:
        asked = sorted({0.5, *(tail for level in LEVELS for tail in tails(level))})
        found = self.fitted.predict(self.columns.matrix(frame), quantiles=asked)
        edges = {level: tuple(found[:, asked.index(tail)] for tail in tails(level)) for level in LEVELS}
        return exponentiated(found[:, asked.index(0.5)], edges)


class NaturalGradient:
    """NGBoost with a normal distribution of the log of price."""

    def __init__(self, settings: Settings) -> None:
        self.settings = settings

    def fit(self, frame: pd.DataFrame, prices: np.ndarray) -> None:
        self.columns = learn_columns(frame, np.log(prices), self.settings["coding"])
        tree = DecisionTreeRegressor(
            criterion="friedman_mse", max_depth=self.settings["depth"], min_samples_leaf=self.settings["least"]
        )
        self.fitted = NGBRegressor(
            Base=tree, n_estimators=self.settings["rounds"], learning_rate=self.settings["rate"],
            minibatch_frac=self.settings["rows"], random_state=SEED, verbose=False,
        ).fit(self.columns.matrix(frame), np.log(prices))  # fmt: skip

    def price(self, frame: pd.DataFrame) -> Priced:
        found = self.fitted.pred_dist(self.columns.matrix(frame))
        return exponentiated(found.params["loc"], normal_edges(found.params["loc"], found.params["scale"]))


def grid(**choices: list[Any]) -> list[dict[str, Any]]:
    return [dict(zip(choices, each, strict=True)) for each in product(*choices.values())]


def boosting_settings(rows: int, **others: list[Any]) -> list[dict[str, Any]]:
    """Return what is tried; rounds, leaves and the least rows of a leaf grow with the training rows."""
    small = rows < MANY
    return grid(
        rounds=[100, 300, 900] if small else [300, 1000], rate=[0.05], leaves=[4, 8] if small else [8, 16],
        least=[3, 8] if small else [15], rows=[0.8], columns=[0.8], **others,
    )  # fmt: skip


def settings_tried(name: str, rows: int) -> list[dict[str, Any]]:
    """Return the settings that are tried for a peer on a set of so many training rows."""
    small, by_name, by_price = rows < MANY, ["one-hot", "codes"], ["one-hot", "ordered"]
    if name == "mapie_cqr":
        return boosting_settings(rows, coding=by_name, held=[0.2, 0.35] if small else [0.2])
    if name == "lightgbm_cv_plus":
        return boosting_settings(rows, coding=by_name)
    if name == "quantile_forest":
        least = [1, 3, 6] if small else [1, 5]
        return grid(trees=[300], least=least, columns=[0.33, 0.66], coding=by_price)
    if name == "ngboost":
        rounds, depths = ([100, 200, 400], [2, 3]) if small else ([300, 800], [3, 4])
        return grid(rounds=rounds, rate=[0.04], depth=depths, least=[5], rows=[0.7], coding=by_price)
    return [{}]


PEERS: dict[str, Callable[[Settings], Peer]] = {
    "ols": LeastSquares, "mixedlm": MixedEffects, "mapie_cqr": ConformalQuantiles, "lightgbm_cv_plus": CrossConformal,
    "quantile_forest": QuantileForest, "ngboost": NaturalGradient,
}  # fmt: skip
