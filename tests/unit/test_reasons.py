from __future__ import annotations

from datetime import date, timedelta

import numpy as np
import pytest

from pricing.estimation.estimate import estimate_unit
from pricing.estimation.reasons import day_of, notice_of_day, reasons_for, state_title
from pricing.hedonic.fit import fit_model
from pricing.hedonic.model import PriceModel
from pricing.records.sales_table import SalesTable
from tests.builders import healthy, small_class, spotless
from tests.market import table_of, with_condition

KNOWN = {"brand": "Onda", "model": "N1", "storage_gb": "128"}


def test_a_well_known_unit_has_no_reasons(model: PriceModel) -> None:
    assert estimate_unit(model, spotless(attributes=KNOWN)).reasons == ()


@pytest.mark.parametrize(
    ("fields", "words"),
    [
        ({"functions": healthy(camera_wide="removed")}, "ultra-wide camera removed"),
        ({"functions": healthy(nfc="dead")}, "contactless payment dead"),
        ({"marks": [{"surface": "back_panel", "kind": "crack"}]}, "crack on back panel"),
        ({"locks": {"owner_account": "free", "network_lock": "locked"}}, "network lock locked"),
        ({"parts": [{"part": "cell", "origin": "salvaged"}]}, "salvaged battery"),
    ],
)
def test_a_state_that_no_sale_had_is_said(model: PriceModel, fields: dict, words: str) -> None:
    reasons = estimate_unit(model, spotless(attributes=KNOWN, **fields)).reasons
    assert f"no sale had this: {words}" in reasons


def test_a_state_that_sales_had_is_not_remarked(model: PriceModel) -> None:
    unit = spotless(attributes=KNOWN, functions=healthy(camera_wide="dead"))
    assert not any("no sale had this" in reason for reason in estimate_unit(model, unit).reasons)


def test_an_effect_of_which_no_sale_tells_keeps_its_prior_spread(model: PriceModel) -> None:
    term = model.design.faults
    assert term is not None
    first = model.design.places[model.design.terms.index(term)].hot
    number = term.states.things.index("battery_runtime") * term.states.width + term.states.states.index("dead")
    prior = small_class().fault_prior.weights["2"]["dead"]
    deviation = float(np.sqrt(model.sigma2 * model.inverse[first + number, first + number]))
    own = small_class().fault_prior.own_share * abs(prior.mean_log)
    assert 0.4 * own < deviation < 1.5 * np.hypot(own, prior.sd_log)


def test_untested_where_no_sale_tells_anything_changes_nothing(model: PriceModel) -> None:
    works = estimate_unit(model, spotless(attributes=KNOWN))
    untested = estimate_unit(model, spotless(attributes=KNOWN, functions=healthy(battery_runtime="untested")))
    assert untested == works
    told = estimate_unit(model, spotless(attributes=KNOWN, functions=healthy(camera_main="untested")))
    assert told.estimate != works.estimate


def test_a_number_just_outside_the_sales_is_said(model: PriceModel) -> None:
    reasons = estimate_unit(model, spotless(attributes={**KNOWN, "storage_gb": "600"})).reasons
    assert "storage_gb 600 is outside the sales (64 to 512)" in reasons


def test_a_level_without_a_word_is_called_not_stated(model: PriceModel) -> None:
    reasons = estimate_unit(model, spotless(attributes={"storage_gb": "128"})).reasons
    assert any("not stated" in reason and "brand" in reason for reason in reasons)


def test_the_reasons_of_a_row_do_not_depend_on_its_neighbours(model: PriceModel) -> None:
    table = model.dated(table_of(3, texts={"brand": ["Onda", "Zeta", "Onda"], "model": ["N1", "N1", "N7"]}), None)
    for row in range(3):
        assert reasons_for(model, table, row) == reasons_for(model, table.take(np.array([row])), 0)
    assert any("Zeta" in reason for reason in reasons_for(model, table, 1))


def test_undated_sales_are_said(sales: SalesTable) -> None:
    undated = fit_model(with_condition(sales, sold_on=None), small_class())
    assert "the sales are not dated: no effect of time" in reasons_for(undated, undated.dated(table_of(1), None), 0)


def test_states_have_titles_in_words() -> None:
    titles = [state_title(kind, thing, state, small_class()) for kind, thing, state in (
        ("faults", "camera_wide", "removed"), ("marks", "screen", "chip"),
        ("locks", "owner_account", "not checked"), ("parts", "cell", "third-party"),
    )]  # fmt: skip
    assert titles == ["ultra-wide camera removed", "chip on screen glass", "owner's account lock not checked",
                      "third-party battery"]  # fmt: skip


def test_the_day_of_a_row_is_told_where_there_is_one() -> None:
    table = table_of(2, sold_on=np.array(["2026-01-02", "NaT"], dtype="datetime64[D]"))
    assert (day_of(table, 0), day_of(table, 1), day_of(table_of(1), 0)) == (date(2026, 1, 2), None, None)


def test_a_day_beyond_the_last_sale_is_noticed_with_its_distance(model: PriceModel, sales: SalesTable) -> None:
    last = model.last_sale
    assert last is not None
    assert notice_of_day(model, None) == notice_of_day(model, last) == notice_of_day(model, last - timedelta(9)) == ()
    (notice,) = notice_of_day(model, last + timedelta(1))
    assert notice.startswith(f"prices are for {last + timedelta(1)}, 1 day after the last sale ({last}): the drift")
    assert "1,000 days after" in notice_of_day(model, last + timedelta(1000))[0]
    later = fit_model(sales, small_class(), on=last + timedelta(40))
    assert "40 days after" in notice_of_day(later, None)[0]


def test_beyond_sales_that_show_no_time_the_notice_says_so(sales: SalesTable) -> None:
    one_day = with_condition(sales, sold_on=np.full(sales.rows, np.datetime64("2026-01-05", "D")))
    (notice,) = notice_of_day(fit_model(one_day, small_class()), date(2026, 2, 5))
    assert notice.endswith("(2026-01-05): the model knows no change with time")
    undated = fit_model(with_condition(sales, sold_on=None), small_class())
    assert notice_of_day(undated, date(2027, 1, 1)) == ()
