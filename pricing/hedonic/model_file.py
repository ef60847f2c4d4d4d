"""A price model as plain numbers in JSON, and back, exactly: no pickle, every float by its shortest repr.

The file holds ``version``, ``fingerprint`` (SHA-256 of the rest), the class itself, and the fields of
``PriceModel``. Arrays are ``{"shape", "kind", "values"}``; the symmetric covariance keeps its lower half only.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping
from dataclasses import fields, is_dataclass, replace
from datetime import date
from typing import Any

import numpy as np
from numpy.typing import NDArray

from pricing.errors import BadModelFile
from pricing.hedonic.conformal import Calibration
from pricing.hedonic.design import Design
from pricing.hedonic.fault_term import FaultTerm
from pricing.hedonic.held import HeldOut
from pricing.hedonic.interaction_term import ProductTerm, SlopeTerm
from pricing.hedonic.level_term import LevelTerm
from pricing.hedonic.market_term import MarketTerm
from pricing.hedonic.model import MODEL_VERSION, PriceModel
from pricing.hedonic.number_term import NumberTerm
from pricing.hedonic.spread import Spread
from pricing.hedonic.state_term import StateTerm
from pricing.hedonic.structure import Structure
from pricing.hedonic.time_term import TimeTerm
from pricing.hedonic.trees import TreeInputs, Trees
from pricing.records.device_class import DeviceClass

_KINDS = {"f": "float64", "i": "int64", "b": "bool"}
_PARTS: Mapping[str, type[Any]] = {
    part.__name__: part
    for part in (
        Calibration, Design, FaultTerm, HeldOut, LevelTerm, MarketTerm, NumberTerm, ProductTerm, SlopeTerm, Spread,
        StateTerm, Structure, TimeTerm, TreeInputs, Trees,
    )
}
# What numbers beyond JSON (NaN, 1e999), missing or other fields and wrong shapes raise on the way to a model.
_DAMAGE = (ArithmeticError, AttributeError, LookupError, RecursionError, TypeError, ValueError)
_WORDS = {"inf": np.inf, "-inf": -np.inf, "nan": np.nan}


def fingerprinted(model: PriceModel) -> PriceModel:
    """Return the model with its fingerprint set."""
    return replace(model, fingerprint=_digest(_content(model)))


def model_to_text(model: PriceModel) -> str:
    """Return the model as JSON text; the same model gives the same text."""
    content = _content(model)
    whole = {"plainsale_model": MODEL_VERSION, "fingerprint": _digest(content), **content}
    return json.dumps(whole, allow_nan=False, separators=(",", ":")) + "\n"


def model_from_text(text: str, source: str) -> PriceModel:
    """Return the model that the text holds.

    Args:
        text: What ``model_to_text`` gave.
        source: File name for messages.

    Raises:
        BadModelFile: Not JSON, not a model, of another version, or damaged.
    """
    try:
        whole = json.loads(text)
    except (ValueError, RecursionError) as error:
        raise BadModelFile(f"{source}: not a model file: {error}") from error
    if not isinstance(whole, dict) or "plainsale_model" not in whole:
        raise BadModelFile(f'{source}: not a model file: expected a JSON object with "plainsale_model"')
    version = whole.pop("plainsale_model")
    if version != MODEL_VERSION:
        raise BadModelFile(f"{source}: model version {version!r} found, {MODEL_VERSION} expected: fit it again")
    fingerprint = whole.pop("fingerprint", None)
    try:
        fits = fingerprint == _digest(whole)
        model = _model(whole, fingerprint) if fits else None
    except _DAMAGE as error:
        raise BadModelFile(f"{source}: the model file is damaged: {type(error).__name__} {error}") from error
    if model is None:
        raise BadModelFile(f"{source}: the model file is damaged: its fingerprint does not fit its content")
    return model


def _digest(content: Mapping[str, Any]) -> str:
    text = json.dumps(content, sort_keys=True, allow_nan=False, separators=(",", ":"))
    return hashlib.sha256(text.encode()).hexdigest()[:16]


def _content(model: PriceModel) -> dict[str, Any]:
    content = {item.name: _encoded(getattr(model, item.name)) for item in fields(model)}
    del content["fingerprint"]
    content["device_class"] = model.device_class.model_dump(mode="json", exclude_defaults=True)
    content["inverse"] = model.inverse[np.tril_indices(len(model.inverse))].tolist()
    return content


def _model(whole: Mapping[str, Any], fingerprint: str) -> PriceModel:
    """Return the model of a file's fields.

    Raises:
        ValueError: Effects and design do not fit each other; other damage raises what ``_DAMAGE`` lists.
    """
    values = {name: _decoded(value) for name, value in whole.items() if name not in ("inverse", "device_class")}
    values["device_class"] = DeviceClass.model_validate(whole["device_class"])
    for name in ("on", "last_sale"):
        values[name] = None if whole[name] is None else date.fromisoformat(whole[name])
    size = len(values["effects"])
    if not size == len(values["free_effects"]) == values["design"].columns:
        raise ValueError(f"{size} effects do not fit the design")
    inverse = np.zeros((size, size))
    rows, columns = np.tril_indices(size)
    inverse[rows, columns] = inverse[columns, rows] = np.array(whole["inverse"], dtype=np.float64)
    return PriceModel(**values, inverse=inverse, fingerprint=fingerprint)


def _encoded(value: Any) -> Any:  # noqa: ANN401 - a tree of plain values
    if isinstance(value, np.ndarray):
        return _array(value)
    if is_dataclass(value) and not isinstance(value, type):
        parts = {item.name: _encoded(getattr(value, item.name)) for item in fields(value)}
        return {"part": type(value).__name__, **parts}
    if isinstance(value, tuple | list):
        return [_encoded(each) for each in value]
    if isinstance(value, Mapping):
        return {"map": [[key, _encoded(each)] for key, each in value.items()]}
    if isinstance(value, date):
        return value.isoformat()
    return value


def _array(values: NDArray[Any]) -> dict[str, Any]:
    flat = values.ravel().tolist()
    if values.dtype.kind == "f":
        flat = [each if np.isfinite(each) else str(each) for each in flat]
    return {"shape": list(values.shape), "kind": values.dtype.kind, "values": flat}


def _decoded(value: Any) -> Any:  # noqa: ANN401 - a tree of plain values
    if isinstance(value, list):
        return tuple(_decoded(each) for each in value)
    if not isinstance(value, dict):
        return value
    if "values" in value:
        flat = [_WORDS[each] if isinstance(each, str) else each for each in value["values"]]
        return np.array(flat, dtype=_KINDS[value["kind"]]).reshape(value["shape"])
    if "map" in value:
        return {key: _decoded(each) for key, each in value["map"]}
    part = _PARTS[value["part"]]
    return part(**{name: _decoded(each) for name, each in value.items() if name != "part"})
