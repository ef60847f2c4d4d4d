"""The sections of a model card in words: the same for a page and for Markdown."""

from __future__ import annotations

from collections.abc import Iterator

from listing_templates.card_context import CardSection, CardTable
from listing_templates.card_figures import alike_table, effects_table, number, share, signed
from pricing.errors import counted
from pricing.records.model_card import CardEffect, ModelCard

CONDITION = ("faults", "marks", "locks", "parts")
_SUPPORT = {
    "all": "all prices paid",
    "seen": "seen: five or more other sales of each of its groups",
    "thin": "thin: 1 to 4 other sales of one of its groups",
    "unseen": "unseen: the only sale of one of its groups",
}

_METHOD = (
    "The logarithm of the price is a sum of effects: numbers with bends, choices and groups drawn towards their "
    "average, faults and marks that start from a stated belief and are moved by sales, and time. How far effects are "
    "drawn is estimated by restricted maximum likelihood (Patterson & Thompson 1971) with the steps of Wood & Fasiolo "
    "(2017, Biometrics 73:1071). Faults and marks never raise the price (Lawson & Hanson 1974). The size of the "
    "error depends on the unit. Intervals come from ranked errors of sales held out (Vovk, Gammerman & Shafer 2005; "
    "Lei et al. 2018, JASA 113:1094), or from Student t where there are too few. A percent effect is exp(b) − 1 with "
    "both ends exponentiated (Halvorsen & Palmquist 1980, AER 70:474). The beliefs on faults that no sale had are "
    "common practice, no source, and are in the class file. Prices in other currencies were turned into the "
    "currency of the model at the rate of their day: the reference rates of the European Central Bank, unless a file "
    "of rates was given."
)


def sections_of(card: ModelCard) -> tuple[CardSection, ...]:
    """Return the sections in reading order, those without content left out."""
    every = (
        _limits(card),
        _data(card),
        *_held_out(card),
        *_effects(card),
        _support(card),
        _blanks(card),
        CardSection("structure", "What the model is made of", items=card.structure),
        CardSection("notices", "Notices", items=card.notices),
        _unsold(card),
        CardSection("method", "Method and sources", lines=(_METHOD,)),
    )
    return tuple(each for each in every if each.lines or each.items or each.table is not None)


def condition_effects(card: ModelCard) -> tuple[CardEffect, ...]:
    """Return the effects of states that sales had, the heaviest first."""
    return tuple(each for each in card.effects if each.kind in CONDITION and each.sales != 0)


def effects_of_kind(card: ModelCard, *kinds: str) -> tuple[CardEffect, ...]:
    """Return the effects of these kinds."""
    return tuple(each for each in card.effects if each.kind in kinds)


def _limits(card: ModelCard) -> CardSection:
    ranges = [f"{each.title} {number(each.low)} to {number(each.high, each.unit)}" for each in card.ranges]
    last = "no sale is dated, so it knows no change with time"
    if card.last_sale is not None:
        last = f"the last sale was on {card.last_sale}; beyond it the drift is only carried on, and nothing checks it"
    items = [
        f"Goods of another class than {card.title}.",
        "New goods, or goods sold with a maker's warranty, unless the sales were of such.",
        f"Units outside the numbers that were sold: {'; '.join(ranges)}." if ranges else "",
        f"Days long after the last sale: {last}.",
        "A valuation for a court, a tax office, an insurer or a loan. It is a statistic of sales, not an appraisal.",
        "Cause and effect. An effect says how prices differ between units that differ so; a repair, another ask or "
        "another channel need not change a price by as much.",
        "Goods or markets that the sales do not come from: other countries, other kinds of buyers.",
    ]
    if card.invented:
        items.insert(0, "Anything real. The brands, models, sales and prices are invented; the figures mean nothing.")
    return CardSection("limits", "What it must not be used for", items=tuple(item for item in items if item))


def _data(card: ModelCard) -> CardSection:
    span = "not dated"
    if card.first_sale is not None and card.last_sale is not None:
        days = (card.last_sale - card.first_sale).days + 1
        span = f"{card.first_sale} to {card.last_sale}, {days:,} days"
    elif card.last_sale is not None:
        span = f"up to {card.last_sale}"
    rows = [
        ("sales fitted", f"{card.rows:,}"),
        ("prices paid", f"{card.sold:,}"),
        ("prices only asked", f"{card.asked:,}"),
        ("sales undone (refunded), left out", "" if card.refunded is None else f"{card.refunded:,}"),
        ("sales without a day", "" if card.undated is None else f"{card.undated:,}"),
        ("days", span),
        ("currency", card.currency or "the file names none"),
        ("priced for, unless another day is asked", "" if card.on is None else str(card.on)),
    ]
    return CardSection("data", "What it was learnt from",
                       table=CardTable(("", ""), tuple(row for row in rows if row[1])))  # fmt: skip


def _held_out(card: ModelCard) -> Iterator[CardSection]:
    """Yield how far estimates were off, and how often the intervals held."""
    lines = []
    if card.error is not None:
        lines.append(
            f"Half of the estimates were off by less than {share(card.error.median)} of the price. In 80 of 100 sales "
            f"the price differed from the estimate by {signed(card.error.low_80)} to {signed(card.error.high_80)}. "
            f"Each of {counted(card.error.sales, 'price')} was left out of the effects before it was estimated."
        )
    student = [f"{level} %" for level, known in card.calibrated.items() if not known]
    if student:
        lines.append(f"Too few sales to check every interval: {', '.join(student)} are from Student t.")
    elif not card.coverage:
        lines.append("Every interval was set by sales held out.")
    if card.of_asking_price:
        lines.append("Every price was only asked: estimates and intervals are of asking prices.")
    yield CardSection("error", "How far off it was", lines=tuple(lines))
    if card.coverage:
        levels = tuple(card.coverage[0].within)
        rows = [
            (_SUPPORT.get(row.label, row.label), f"{row.sales:,}", *(share(row.within[level]) for level in levels))
            for row in card.coverage
        ]
        yield CardSection(
            "coverage",
            "How often its intervals held the price",
            lines=(
                "The share of held-out prices within each interval; it should be near the heading. Over all "
                "sales together it is so by construction, because the same errors set the intervals; what each part "
                "of the sales shows is not. A share of few sales says little.",
            ),
            table=CardTable(("sales held out", "count", *(f"{level} %" for level in levels)), tuple(rows)),
        )


def _effects(card: ModelCard) -> Iterator[CardSection]:
    """Yield the effects that sales had, kind by kind."""
    condition = condition_effects(card)
    if condition:
        yield CardSection(
            "condition",
            "What faults, marks, locks and parts do",
            lines=(
                "In percent of the price of a like unit without it. With few sales an effect is mostly the belief of "
                "the class file. So is that of a function that hangs on a dead one, because only the dead one counts.",
            ),
            table=effects_table(condition, "state", priced=True),
        )
    numbers = effects_of_kind(card, "number")
    if numbers:
        yield CardSection(
            "numbers",
            "What numbers do",
            lines=("At the lowest, median and highest number of the sales, in percent of the price at the median.",),
            table=effects_table(numbers, "number", priced=True),
        )
    levels = effects_of_kind(card, "group", "choice")
    if levels:
        yield CardSection(
            "groups",
            "What groups and choices do",
            lines=(
                "The commonest ones, in percent of the average over all sales; a group within another against the "
                "average of that one.",
            ),
            table=effects_table(levels, "group or choice", priced=False),
        )
    market = effects_of_kind(card, "market", "time")
    if market:
        yield CardSection("market", "What the market does", table=effects_table(market, "market", priced=False))


def _support(card: ModelCard) -> CardSection:
    rows = [
        (each.title, f"{each.levels:,}", f"{each.thin:,}", f"{each.fewest:,}", f"{each.most:,}")
        for each in card.groups
    ]
    columns = ("group or choice", "levels", "of them with 1 to 4 sales", "fewest sales", "most sales")
    return CardSection(
        "support",
        "What it has seen",
        lines=("A level that no sale had is priced from the spread of the others, with wider intervals.",)
        if rows
        else (),
        table=CardTable(columns, tuple(rows)) if rows else None,
    )


def _blanks(card: ModelCard) -> CardSection:
    rows = tuple((name, share(blank)) for name, blank in card.blanks.items())
    table = CardTable(("attribute", "not stated"), rows) if rows else None
    return CardSection("blanks", "What the sales leave blank", table=table)


def _unsold(card: ModelCard) -> CardSection:
    unsold = [each for each in card.effects if each.kind in CONDITION and each.sales == 0]
    if not unsold:
        return CardSection("unsold", "")
    return CardSection(
        "unsold",
        "What no sale had",
        lines=(
            "These effects rest on the class file's belief and on sales of their kin. Every estimate that uses one "
            "says so. Those that read alike share a row.",
        ),
        table=alike_table(unsold),
    )
