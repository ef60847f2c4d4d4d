"""What cannot be tested, because something that it requires is dead or removed."""

from __future__ import annotations

from collections.abc import Mapping

from pricing.records.device_class import DeviceClass, Function
from pricing.records.unit import Status

GONE: tuple[Status, ...] = ("dead", "removed")


def blocker_of(function: Function, statuses: Mapping[str, Status], device_class: DeviceClass) -> str | None:
    """Return the name of the dead or removed function without which this one cannot be tested, or None.

    What a function requires may itself be untested because of something dead: then that is the blocker.
    """
    seen = {function.name}
    waiting = list(function.requires)
    while waiting:
        name = waiting.pop(0)
        if name in seen:
            continue
        seen.add(name)
        if statuses[name] in GONE:
            return name
        if statuses[name] == "untested":
            waiting.extend(device_class.functions_by_name[name].requires)
    return None
