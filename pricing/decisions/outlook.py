"""The unit as it will be at some point of a plan, so that it is priced as a buyer will see it.

Statuses of today are written down as tested afresh, because whatever the plan opens is tested again before it is sold,
unless the problem says that tests stay void. An opened unit is opened by us; a part that was fitted has its origin.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date, timedelta
from functools import cached_property

from pricing.decisions.plan_states import Goods
from pricing.records.device_class import DeviceClass
from pricing.records.plan import PlanAction
from pricing.records.unit import FittedPart, FunctionTest, Status, Unit, is_fitted, status_now, voided_by_opening

_NO_SYMPTOM = "works poorly"


class Outlook:
    """Turns goods of a plan into units.

    Attributes:
        unit: As it is now.
        device_class: Its class.
        actions: Name -> action.
        on: Day of the plan.
    """

    def __init__(self, unit: Unit, device_class: DeviceClass, actions: Sequence[PlanAction], on: date) -> None:
        self.unit = unit
        self.device_class = device_class
        self.actions = {action.name: action for action in actions}
        self.on = on

    @cached_property
    def _closed_on(self) -> date:
        """The day of the plan, or of the last opening that is written down, if that is later."""
        known = [self.unit.opened_on, *(part.fitted_on for part in self.unit.parts)]
        return max([self.on, *(day for day in known if day is not None)])

    @cached_property
    def _tests(self) -> Mapping[str, FunctionTest]:
        """Today's status of every function, as if found on the day after the unit was closed."""
        return {
            function.name: self._test(function.name, status_now(function, self.unit, self.device_class))
            for function in self.device_class.functions
            if is_fitted(function, self.unit)
        }

    def _test(self, name: str, status: Status) -> FunctionTest:
        known = self.unit.functions.get(name)
        symptom = known.symptom if known is not None and status == "impaired" else None
        return FunctionTest(
            status=status,
            symptom=symptom or (_NO_SYMPTOM if status == "impaired" else None),
            tested_on=self._closed_on + timedelta(days=1),
            restarted=True,
            left_in_place=known.left_in_place if known is not None and status == "removed" else None,
        )

    def unit_of(self, goods: Goods) -> Unit:
        """Return the unit as these goods."""
        if not goods.opened and not goods.done and self._as_now(goods):
            return self.unit
        tests = dict(self._tests)
        for name in self._void(goods):
            if name in tests and tests[name].status == "works":
                tests[name] = self._test(name, "untested")
        for name, status in goods.statuses.items():
            if name in tests and tests[name].status != status and not (status == "works" and self._voided(name, goods)):
                tests[name] = self._test(name, status)
        skipped = {name: test for name, test in self.unit.functions.items() if name not in tests}
        # An opening without a day would void every test; that it did so far is in today's statuses already.
        dated = [p.model_copy(update={"fitted_on": p.fitted_on or self._closed_on}) for p in self.unit.parts]
        changes: dict[str, object] = {"functions": skipped | tests, "parts": (*dated, *self._fitted(goods))}
        if self.unit.opened == "by us":
            changes["opened_on"] = self._closed_on
        if goods.opened:
            off = [part for part in (self.actions[name].part for name in goods.done) if part is not None]
            off = list(dict.fromkeys([*self.unit.opened_parts, *off]))
            changes |= {"opened": "by us", "opened_on": self._closed_on, "opened_parts": tuple(off)}
        return self.unit.model_copy(update=changes)

    def _as_now(self, goods: Goods) -> bool:
        return all(name not in self._tests or self._tests[name].status == s for name, s in goods.statuses.items())

    def _void(self, goods: Goods) -> list[str]:
        parts = self.device_class.parts_by_name
        opened = [self.actions[name].part for name in goods.void]
        return [name for part in opened if part in parts for name in (*parts[part].touches, *parts[part].function)]

    def _voided(self, name: str, goods: Goods) -> bool:
        """Whether a status of works that was there before was made void; what was just repaired has been tried."""
        repaired = {function for action in goods.done for function in self.actions[action].functions}
        return name in self._void(goods) and name not in repaired

    def _fitted(self, goods: Goods) -> list[FittedPart]:
        done = [self.actions[name] for name in goods.done]
        return [FittedPart(part=a.part, origin=a.origin, fitted_on=self._closed_on) for a in done if a.part is not None]

    def units_of(self, goods: Sequence[Goods]) -> tuple[Unit, ...]:
        """Return a unit for each of the goods."""
        return tuple(self.unit_of(each) for each in goods)


def faulty_functions(unit: Unit, device_class: DeviceClass) -> dict[str, Status]:
    """Return the functions that are impaired, dead or removed today, with their status, in the class's order."""
    found = {f.name: status_now(f, unit, device_class) for f in device_class.functions if is_fitted(f, unit)}
    return {name: status for name, status in found.items() if status in ("impaired", "dead", "removed")}


def untested_by_opening(unit: Unit, device_class: DeviceClass) -> tuple[str, ...]:
    """Return the functions that worked when last tested and count as untested because the unit was opened since."""
    return tuple(
        f.name
        for f in device_class.functions
        if f.name in unit.functions
        and unit.functions[f.name].status == "works"
        and voided_by_opening(f.name, unit, device_class)
    )
