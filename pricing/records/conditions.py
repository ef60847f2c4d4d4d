"""Conditions of a class file ("function:fan=dead|removed") read against a unit."""

from __future__ import annotations

from pricing.records.device_class import DeviceClass
from pricing.records.unit import Unit, status_now


def is_true(condition: str, unit: Unit, device_class: DeviceClass) -> bool:
    """Return whether a condition holds for the unit as it counts today; one of an unknown form does not."""
    subject, _, wanted = condition.partition("=")
    noun, _, name = subject.partition(":")
    states = set(wanted.split("|"))
    return bool(states & _states(noun, name, unit, device_class))


def _states(noun: str, name: str, unit: Unit, device_class: DeviceClass) -> set[str]:
    if noun == "function":
        function = device_class.functions_by_name.get(name)
        return set() if function is None else {status_now(function, unit, device_class)}
    if noun == "mark":
        covered = {"covered"} if name in unit.covered else set()
        return covered | {mark.kind for mark in unit.marks if mark.surface == name}
    if noun == "part":
        return {fitted.origin for fitted in unit.parts if fitted.part == name}
    if noun == "lock":
        return {unit.locks[name].state} if name in unit.locks else {"not checked"}
    if noun == "opened":
        return {unit.opened}
    return {unit.liquid_indicator} if noun == "liquid" else set()
