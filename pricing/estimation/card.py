"""The model card: what there is to know of a price model before using it, as plain figures."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

import numpy as np

from pricing.estimation.card_effects import effects_of, title_of, unit_of
from pricing.estimation.held_out import coverage_rows, error_size, held_out_prices
from pricing.hedonic.level_term import LevelTerm
from pricing.hedonic.model import THIN, PriceModel
from pricing.hedonic.number_term import NumberTerm
from pricing.hedonic.structure import MAIN_EFFECTS
from pricing.hedonic.time_term import TimeTerm
from pricing.records.device_class import Attribute
from pricing.records.estimate import LEVELS
from pricing.records.model_card import CardGroup, CardRange, CoverageRow, ErrorSize, ModelCard
from pricing.records.sales_table import NOT_STATED, SalesTable


@dataclass(frozen=True)
class _Data:
    """What only the sales say."""

    refunded: int | None = None
    undated: int | None = None
    first_sale: date | None = None
    blanks: dict[str, float] | None = None
    error: ErrorSize | None = None
    coverage: tuple[CoverageRow, ...] = ()


def model_card(
    model: PriceModel, sales: SalesTable | None = None, *, notices: tuple[str, ...] = (), invented: bool = False
) -> ModelCard:
    """Return the card of a model.

    Args:
        model: The fitted model.
        sales: What it was fitted to; None: the card leaves out what only the sales say.
        notices: What the reader of the sales had to say.
        invented: Whether the sales are of the demo's invented goods.
    """
    data = _Data() if sales is None else _data_of(model, sales)
    return ModelCard(
        device_class=model.device_class.name,
        title=model.device_class.title or model.device_class.name,
        fingerprint=model.fingerprint,
        on=model.on,
        currency=model.currency,
        rows=model.rows,
        sold=0 if model.of_asking_price else model.sold_rows,
        asked=model.rows if model.of_asking_price else model.rows - model.sold_rows,
        refunded=data.refunded,
        undated=data.undated,
        first_sale=data.first_sale,
        last_sale=model.last_sale,
        of_asking_price=model.of_asking_price,
        blanks=data.blanks or {},
        groups=tuple(_group(model, term) for term in model.design.terms if isinstance(term, LevelTerm)),
        ranges=tuple(_range(model, term) for term in model.design.terms if isinstance(term, NumberTerm)),
        calibrated=dict(zip(LEVELS, model.calibration.calibrated, strict=True)),
        error=data.error,
        coverage=data.coverage,
        effects=effects_of(model, sales),
        structure=structure_of(model),
        notices=tuple(dict.fromkeys((*notices, *model.notices))),
        invented=invented,
    )


def structure_of(model: PriceModel) -> tuple[str, ...]:
    """Return the parts that the model has, in words."""
    numbers = [term for term in model.design.terms if isinstance(term, NumberTerm)]
    bent = [title_of(model, term.name) for term in numbers if len(term.knots)]
    straight = [title_of(model, term.name) for term in numbers if not len(term.knots)]
    levels = [term for term in model.design.terms if isinstance(term, LevelTerm)]
    inside = model.device_class.attributes_by_name
    nested = [f"{title_of(model, t.name)} within {title_of(model, t.path[-2])}"
              for t in levels if len(t.path) > 1 and t.name in inside]  # fmt: skip
    pairs = [" with ".join(title_of(model, name) for name in t.path)
             for t in levels if len(t.path) > 1 and t.name not in inside]  # fmt: skip
    plain = [title_of(model, term.name) for term in levels if len(term.path) == 1]
    time = next((term for term in model.design.terms if isinstance(term, TimeTerm)), None)
    found = [
        f"numbers that bend: {', '.join(bent)}" if bent else "",
        f"numbers with a straight effect only: {', '.join(straight)}" if straight else "",
        f"one effect for each level, drawn towards the average: {', '.join(plain)}" if plain else "",
        f"nested groups: {', '.join(nested)}" if nested else "",
        f"pairs that do together what they do not apart: {', '.join(pairs)}" if pairs else "",
        "faults that share means by weight, status and kin" if model.design.faults is not None else "",
        "" if time is None else f"a steady drift with {'a' if time.months else 'no'} monthly walk round it",
        model.structure.words if model.structure != MAIN_EFFECTS else "",
        "an error whose size depends on the unit" if len(model.spread.columns) else "an error of one size",
    ]
    return tuple(line for line in found if line)


def _data_of(model: PriceModel, sales: SalesTable) -> _Data:
    # Column by column: a copy of all sales would take as much memory again.
    kept, days = ~sales.refunded, sales.condition.sold_on
    dated = np.empty(0, dtype="datetime64[D]") if days is None else days[kept & ~np.isnat(days)]
    held = held_out_prices(model)
    return _Data(
        refunded=sales.rows - int(np.count_nonzero(kept)),
        undated=int(np.count_nonzero(kept)) - len(dated),
        first_sale=date.fromisoformat(str(dated.min().astype("datetime64[D]"))) if len(dated) else None,
        blanks={each.name: _blank_share(each, sales) for each in model.device_class.attributes},
        error=error_size(held),
        coverage=coverage_rows(model, held),
    )


def _blank_share(attribute: Attribute, sales: SalesTable) -> float:
    """Return the share of sales that do not state an attribute, in percent."""
    kept = ~sales.refunded
    stated = np.zeros(sales.rows, dtype=np.bool_)
    if attribute.kind == "number" and attribute.name in sales.condition.numbers:
        stated = np.isfinite(sales.condition.numbers[attribute.name])
    elif attribute.kind != "number" and attribute.name in sales.condition.texts:
        stated = sales.condition.texts[attribute.name].codes != NOT_STATED
    return 100 * (1 - float(np.mean(stated[kept])))


def _group(model: PriceModel, term: LevelTerm) -> CardGroup:
    return CardGroup(
        name=term.name,
        title=title_of(model, term.name),
        levels=len(term.levels),
        thin=sum(count <= THIN for count in term.sales),
        fewest=min(term.sales),
        most=max(term.sales),
    )


def _range(model: PriceModel, term: NumberTerm) -> CardRange:
    title, unit = title_of(model, term.name), unit_of(model, term.name)
    return CardRange(name=term.name, title=title, unit=unit, low=term.low, high=term.high)
