"""What to heed before something is done with a unit, in words for the bench."""

from __future__ import annotations

from collections.abc import Sequence

from listing_templates.cautions import cautions_for, told
from pricing.decisions.repair_notes import names_in
from pricing.records.device_class import DeviceClass
from pricing.records.plan import PlanAction, PlanNode
from pricing.records.unit import Unit


def cautions_to_publish(unit: Unit, device_class: DeviceClass) -> tuple[str, ...]:
    """Return what to heed before a listing of the unit is published."""
    return told(cautions_for(unit, device_class, "publish"))


def cautions_to_post(unit: Unit, device_class: DeviceClass) -> tuple[str, ...]:
    """Return what to heed before the unit is packed and sent."""
    return told(cautions_for(unit, device_class, "post"))


def cautions_of_plan(
    unit: Unit, device_class: DeviceClass, actions: Sequence[PlanAction], tree: PlanNode
) -> tuple[str, ...]:
    """Return what to heed in a plan: where it opens the unit, and where it ends in parts or scrap."""
    named = set(names_in(tree))
    opening = [action for action in actions if action.name in named and action.opens]
    cautions = [
        # A job without a part, such as a look inside, may come near every danger.
        *(
            caution
            for action in opening
            for caution in cautions_for(unit, device_class, "open", () if action.part is None else (action.part,))
        ),
        *(cautions_for(unit, device_class, "scrap") if _ends_apart(tree) else ()),
    ]
    return told(cautions)


def _ends_apart(tree: PlanNode) -> bool:
    return tree.kind in ("parts", "recycle") or any(_ends_apart(outcome.then) for outcome in tree.outcomes)
