"""Commands that work on the store: import, then fit and price without naming a file again."""

from __future__ import annotations


def test_sales_and_units_go_in_and_prices_come_out(plainsale, goods):
    kept = plainsale("import", "--class", "phone", "--sales", goods.sales, "--units", goods.units, "--json")
    assert kept.code == 0
    assert kept.json["new"]
    assert kept.json["currency"] == "EUR"
    assert kept.json["units"] == ["A1", "A2", "A3", "A4", "A5"]
    fitted = plainsale("fit", "--class", "phone", "--json")
    assert fitted.json["rows"] <= kept.json["sales"]
    priced = plainsale("price", "--class", "phone", "--json").json
    assert [row["number"] for row in priced["rows"]] == kept.json["units"]
    assert priced["priced"] + priced["abstained"] == 5


def test_a_model_from_the_store_equals_one_from_the_file(plainsale, goods):
    plainsale("import", "--class", "phone", "--sales", goods.sales)
    stored = plainsale("fit", "--class", "phone", "--json").json
    direct = plainsale("fit", "--class", "phone", "--sales", goods.sales, "--json").json
    for sure in ("rows", "first_sale", "last_sale", "currency", "on"):
        assert stored[sure] == direct[sure]
    prices = [
        plainsale("price", "--unit", goods.unit, *model, "--json").json["estimate"]["estimate"]["amount"]
        for model in (("--class", "phone"), ("--model", goods.model))
    ]
    assert prices[0] == prices[1]


def test_the_same_sales_are_stored_once(plainsale, goods):
    assert plainsale("import", "--class", "phone", "--sales", goods.sales, "--json").json["new"]
    again = plainsale("import", "--class", "phone", "--sales", goods.sales)
    assert again.code == 0
    assert "nothing was added" in " ".join(again.out.split())


def test_a_bad_row_stores_nothing_unless_the_good_are_kept(plainsale, goods, tmp_path):
    path = tmp_path / "units.csv"
    path.write_text(goods.units.read_text().replace(",2017,", ",soon,", 1))
    assert plainsale("import", "--class", "phone", "--units", path).code == 3
    kept = plainsale("import", "--class", "phone", "--units", path, "--keep-good", "--json")
    assert kept.code == 0
    assert kept.json["units"] == ["A2", "A3", "A4", "A5"]


def test_a_unit_in_json_is_stored_and_a_number_is_given_once(plainsale, goods):
    assert plainsale("import", "--class", "phone", "--units", goods.unit, "--json").json["units"] == ["P-104"]
    assert plainsale("import", "--class", "phone", "--units", goods.unit).code == 3


def test_an_empty_store_says_what_to_do_first(plainsale):
    assert "import some first" in plainsale("fit", "--class", "phone").err
    refused = plainsale("price", "--class", "phone")
    assert refused.code == 4
    assert "fit one first" in refused.err
    assert plainsale("price").code == 3
    assert plainsale("import", "--class", "phone").code == 2


def test_another_store_is_used_when_it_is_named(plainsale, goods, tmp_path):
    store = ("--store", f"sqlite:///{tmp_path}/other.sqlite")
    assert plainsale("import", "--class", "phone", "--units", goods.unit, *store).code == 0
    assert (tmp_path / "other.sqlite").exists()
    assert not (tmp_path / "home").exists()


def test_one_unit_is_priced_and_explained(plainsale, goods):
    told = plainsale("price", "--model", goods.model, "--unit", goods.unit)
    assert told.code == 0
    for words in ("Worth on", "95 of 100", "typical unit", "camera", "this unit"):
        assert words in told.out
    whole = plainsale("price", "--model", goods.model, "--unit", goods.unit, "--json").json
    parts = [float(part["money"]["amount"]) for part in whole["explanation"]["contributions"]]
    reference = float(whole["explanation"]["reference"]["amount"])
    assert round(reference + sum(parts), 2) == float(whole["estimate"]["estimate"]["amount"])
    assert plainsale("price", "--model", goods.model, "--unit", goods.unit, "--units", goods.units).code == 2
