from __future__ import annotations

from pathlib import Path

import pytest

from api.shop.model_cards import MOST_DRAWN, card_of, cards_beside, charts_of, write_cards
from api.shop.models import Fit
from pricing.errors import BadInput
from pricing.hedonic.fit import fit_model
from pricing.hedonic.model import PriceModel
from pricing.records.sales_table import SalesTable
from tests.builders import small_class
from tests.market import with_condition, words


def test_cards_lie_beside_the_model_by_its_name():
    beside = cards_beside(Path("shop") / "phone.json")
    assert beside == (Path("shop/phone.card.html"), Path("shop/phone.card.md"))
    assert cards_beside(Path("phone")) == (Path("phone.card.html"), Path("phone.card.md"))


def test_notices_of_the_reader_come_before_those_of_the_model(model: PriceModel, sales: SalesTable):
    assert card_of(Fit(model, sales, notices=("read so",))).notices == ("read so", *model.notices)


@pytest.mark.parametrize(
    ("brands", "invented"),
    [(("Ambrisk", "Boltern"), True), (("Ambrisk", "Onda"), False), ((None, None), False), (("Onda", None), False)],
)
def test_sales_are_invented_when_all_their_brands_are_the_demos(sales, brands, invented):
    cells = [brands[row % 2] for row in range(sales.rows)]
    told = with_condition(sales, texts={**sales.condition.texts, "brand": words(*cells)})
    assert card_of(Fit(fit_model(told, small_class()), told)).invented is invented


def test_a_chart_of_many_rows_says_that_it_shows_the_first(model: PriceModel, sales: SalesTable):
    card = card_of(Fit(model, sales))
    drawn = charts_of(card)
    assert set(drawn) == {"condition", "numbers", "groups"}
    assert "rows of the table" not in drawn["condition"]
    some = next(effect for effect in card.effects if effect.kind == "faults" and effect.sales)
    many = [some.model_copy(update={"label": f"state {number}"}) for number in range(MOST_DRAWN + 5)]
    chart = charts_of(card.model_copy(update={"effects": tuple(many)}))["condition"]
    assert f"the first {MOST_DRAWN} of {MOST_DRAWN + 5} rows of the table" in chart
    assert f"state {MOST_DRAWN - 1} (" in chart
    assert f"state {MOST_DRAWN} (" not in chart


def test_a_row_of_few_sales_is_hollow(model: PriceModel, sales: SalesTable):
    card = card_of(Fit(model, sales))
    some = next(effect for effect in card.effects if effect.kind == "faults" and effect.sales)
    rows = tuple(some.model_copy(update={"sales": count}) for count in (1, 4, 5))
    assert charts_of(card.model_copy(update={"effects": rows}))["condition"].count('fill="#ffffff"') == 2


def test_another_ending_is_refused_before_anything_is_written(model: PriceModel, sales: SalesTable, tmp_path: Path):
    with pytest.raises(BadInput, match=r"card\.pdf: found \.pdf; expected a file that ends in \.html or \.md"):
        write_cards(Fit(model, sales), [tmp_path / "card.md", tmp_path / "card.pdf"])
    assert not list(tmp_path.iterdir())
