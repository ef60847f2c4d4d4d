from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from pricing.estimation.card import model_card
from pricing.hedonic.fit import LEAST_SQUARES, fit_model
from pricing.hedonic.model import PriceModel
from pricing.records.model_card import ModelCard
from pricing.records.sales_table import SalesTable
from tests.builders import small_class
from tests.market import small_sales, table_of, with_condition


def test_the_card_says_what_the_model_was_learnt_from(model: PriceModel, sales: SalesTable):
    card = model_card(model, sales, notices=("read so",))
    days = sales.condition.sold_on
    assert (card.device_class, card.title, card.fingerprint) == ("talker", "Talker", model.fingerprint)
    assert (card.rows, card.sold + card.asked, card.refunded, card.undated) == (sales.rows, sales.rows, 0, 0)
    assert card.asked == np.count_nonzero(sales.asked)
    assert (card.first_sale, card.last_sale, card.on) == (days.min().item(), days.max().item(), model.on)
    assert card.currency == "EUR"
    assert card.notices == ("read so", *model.notices)
    assert card.calibrated == {50: True, 80: True, 90: True, 95: True}


def test_undone_and_undated_sales_and_blanks_are_counted():
    sales = small_sales(200)
    days = sales.condition.sold_on.copy()
    days[:10] = np.datetime64("NaT")
    storage = sales.condition.numbers["storage_gb"].copy()
    storage[50:100] = np.nan
    sales = with_condition(sales, sold_on=days, numbers={"storage_gb": storage})
    sales = replace(sales, refunded=np.arange(200) < 4)
    card = model_card(fit_model(sales, small_class()), sales)
    assert (card.rows, card.refunded, card.undated) == (196, 4, 6)
    assert card.blanks == pytest.approx({"brand": 0.0, "model": 0.0, "storage_gb": 100 * 50 / 196})


def test_groups_are_told_with_their_thin_levels(model: PriceModel, sales: SalesTable):
    card = model_card(model, sales)
    groups = {group.name: group for group in card.groups}
    counts = np.bincount(sales.condition.texts["brand"].codes)
    assert (groups["brand"].levels, groups["brand"].fewest, groups["brand"].most) == (4, counts.min(), counts.max())
    thin = with_condition(sales, texts={**sales.condition.texts, "brand": table_of(
        sales.rows, texts={"brand": ["Rare"] * 3 + ["Arvel"] * (sales.rows - 3)}).texts["brand"]})  # fmt: skip
    rare = {group.name: group for group in model_card(fit_model(thin, small_class()), thin).groups}["brand"]
    assert (rare.levels, rare.thin, rare.fewest) == (2, 1, 3)


def test_ranges_name_the_numbers_that_were_sold(model: PriceModel, sales: SalesTable):
    (storage,) = model_card(model, sales).ranges
    assert (storage.title, storage.unit, storage.low, storage.high) == ("storage", "GB", 64.0, 512.0)


def test_without_the_sales_the_card_leaves_out_what_only_they_say(model: PriceModel):
    card = model_card(model)
    assert (card.refunded, card.undated, card.first_sale, card.error) == (None, None, None, None)
    assert card.coverage == ()
    assert card.blanks == {}
    assert card.rows == model.rows
    assert card.effects


def test_a_model_of_asking_prices_has_none_that_were_paid(sales: SalesTable):
    asked = replace(sales, asked=np.ones(sales.rows, dtype=np.bool_))
    card = model_card(fit_model(asked, small_class()), asked)
    assert (card.sold, card.asked, card.of_asking_price) == (0, sales.rows, True)
    assert card.coverage[0].sales == sales.rows


def test_the_structure_is_that_of_the_model(model: PriceModel, sales: SalesTable):
    structure = " / ".join(model_card(model).structure)
    for words in ("model within brand", "monthly walk", "depends on the unit", "weight, status and kin"):
        assert words in structure
    plain = with_condition(sales, sold_on=None, texts={})
    least = model_card(fit_model(plain, small_class(), settings=LEAST_SQUARES)).structure
    assert "an error of one size" in least
    assert "numbers with a straight effect only: storage" in least
    assert not any("drift" in line for line in least)


def test_a_card_survives_its_way_through_json(model: PriceModel, sales: SalesTable):
    card = model_card(model, sales)
    assert ModelCard.model_validate_json(card.model_dump_json()) == card
