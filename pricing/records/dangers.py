"""What in a unit can hurt whoever works on it or carries it."""

from __future__ import annotations

from pricing.records.conditions import is_true
from pricing.records.device_class import Danger, DangerName, DeviceClass
from pricing.records.unit import Unit, is_fitted


def dangers_of(unit: Unit, device_class: DeviceClass) -> tuple[Danger, ...]:
    """Return the dangers of the class that the unit has; what nobody stated counts as there."""
    return tuple(danger for danger in device_class.dangers if _is_there(danger, unit, device_class))


def has_danger(name: DangerName, unit: Unit, device_class: DeviceClass) -> bool:
    """Return whether the unit has a danger of this name."""
    return any(danger.name == name for danger in dangers_of(unit, device_class))


def cell_signs(unit: Unit, device_class: DeviceClass) -> tuple[str, ...]:
    """Return what asks for a look at the cell: a fall, a bend, something lifted; keys of facts, or "cell:impact"."""
    found = ["cell:impact"] if unit.cell.had_impact else []
    for danger in dangers_of(unit, device_class):
        for sign in danger.signs:
            if danger.name == "cell" and is_true(sign, unit, device_class):
                found.append(sign.partition("=")[0])
    return tuple(dict.fromkeys(found))


def _is_there(danger: Danger, unit: Unit, device_class: DeviceClass) -> bool:
    for attribute, values in danger.fitted_if.items():
        stated = unit.attributes.get(attribute)
        # Light tubes are so rare that only who says so has them; all else is there until somebody says no.
        if (stated is None and danger.name == "tube light") or (stated is not None and str(stated) not in values):
            return False
    function = device_class.functions_by_name.get(danger.function or "")
    return function is None or is_fitted(function, unit)
