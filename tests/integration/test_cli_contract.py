"""The command contract: what fit, price, what-if and list take and give, to the column and the exit code."""

from __future__ import annotations

import csv
import json
import re

import pytest

NUMBERS = ["estimate", "expected", *(f"{end}_{level}" for level in (50, 80, 90, 95) for end in ("low", "high"))]
PRICES = [*NUMBERS, "support", "abstained"]
PLAIN = re.compile(r"\d+(\.\d+)?")
LAMP = """
[class]
name = "lamp"
[[attribute]]
name = "brand"
kind = "group"
[[attribute]]
name = "watts"
kind = "number"
"""


def rows_of(path):
    with path.open(newline="") as file:
        return list(csv.reader(file))


@pytest.fixture
def lamps(tmp_path):
    (tmp_path / "lamp.toml").write_text(LAMP)
    lines = ["price,brand,watts,shelf"]
    lines += [f"{20 + n % 7 + 3 * (n % 3)},{'ABC'[n % 3]},{40 + n % 5},x" for n in range(60)]
    (tmp_path / "sales.csv").write_text("\n".join(lines) + "\n")
    return tmp_path


def fit_lamps(plainsale, lamps, *more):
    paths = ("--class", lamps / "lamp.toml", "--sales", lamps / "sales.csv", "--model", lamps / "lamp.json")
    return plainsale("fit", *paths, *more)


def test_only_price_is_required_and_no_store_is_made(plainsale, lamps):
    fitted = fit_lamps(plainsale, lamps)
    assert fitted.code == 0
    assert "60 sales" in fitted.out
    assert "shelf" in fitted.err
    assert json.loads((lamps / "lamp.json").read_text())
    assert not (lamps / "home").exists()


def test_the_price_sheet_repeats_the_units_and_adds_the_prices(plainsale, goods, tmp_path):
    out = tmp_path / "prices.csv"
    priced = plainsale("price", "--model", goods.model, "--units", goods.units, "--out", out)
    assert priced.code == 0
    given, sheet = rows_of(goods.units), rows_of(out)
    assert sheet[0] == [*given[0], *PRICES]
    assert [row[: len(given[0])] for row in sheet] == given
    for row in sheet[1:]:
        numbers = row[len(given[0]) : -2]
        assert all(PLAIN.fullmatch(number) for number in numbers)
        assert all(len(number.replace(".", "").lstrip("0")) <= 10 for number in numbers)
        estimate, _, *ends = map(float, numbers)
        lows, highs = ends[0::2], ends[1::2]
        assert sorted(lows, reverse=True) == lows
        assert sorted(highs) == highs
        assert lows[0] < estimate < highs[0]
    assert {row[-2] for row in sheet[1:]} <= {"seen", "thin", "unseen"}


def test_prices_have_no_exponent_however_small_or_large(plainsale, lamps):
    for factor in (1e-7, 1e14):
        lines = (lamps / "sales.csv").read_text().splitlines()
        priced = [f"{float(line.split(',', 1)[0]) * factor:.20f},{line.split(',', 1)[1]}" for line in lines[1:]]
        (lamps / "sales.csv").write_text("\n".join([lines[0], *priced]) + "\n")
        assert fit_lamps(plainsale, lamps).code == 0
        (lamps / "units.csv").write_text("brand,watts\nA,41\n")
        out = lamps / "prices.csv"
        plainsale("price", "--model", lamps / "lamp.json", "--units", lamps / "units.csv", "--out", out)
        assert all(PLAIN.fullmatch(cell) for cell in rows_of(out)[1][2:-2])


def test_a_bad_unit_row_keeps_its_place_with_the_reason(plainsale, goods, tmp_path):
    lines = goods.units.read_text().splitlines()
    lines[2] = lines[2].replace(",128,", ",lots,")
    (tmp_path / "units.csv").write_text("\n".join(lines) + "\n")
    out = tmp_path / "prices.csv"
    priced = plainsale("price", "--model", goods.model, "--units", tmp_path / "units.csv", "--out", out)
    sheet = rows_of(out)
    assert priced.code == 3
    assert len(sheet) == len(lines)
    assert sheet[2][-len(PRICES) : -1] == [""] * (len(PRICES) - 1)
    assert "lots" in sheet[2][-1]
    assert sheet[3][-len(PRICES)] != ""
    assert "line 3" in priced.err


def test_an_abstained_unit_has_a_reason_and_no_figures_unless_always(plainsale, goods, tmp_path):
    (tmp_path / "units.csv").write_text("brand,model,storage_gb\nAmbrisk,Am-P2,99999999\n")
    paths = ("price", "--model", goods.model, "--units", tmp_path / "units.csv", "--out", tmp_path / "out.csv")
    assert plainsale(*paths).code == 0
    row = rows_of(tmp_path / "out.csv")[1]
    assert row[3:-2] == [""] * 10
    assert "storage_gb" in row[-1]
    assert plainsale(*paths, "--always").code == 0
    assert all(PLAIN.fullmatch(cell) for cell in rows_of(tmp_path / "out.csv")[1][3:-2])


def test_the_day_moves_the_price(plainsale, goods, tmp_path):
    estimates = []
    for day in ("2024-01-01", "2026-06-30"):
        out = tmp_path / f"{day}.csv"
        plainsale("price", "--model", goods.model, "--units", goods.units, "--out", out, "--on", day)
        estimates.append(float(rows_of(out)[1][-len(PRICES)]))
    assert estimates[0] > 1.1 * estimates[1]


def test_a_bad_sale_means_no_model_unless_the_good_are_kept(plainsale, lamps):
    with (lamps / "sales.csv").open("a") as file:
        file.write("-5,A,40,x\n")
    refused = fit_lamps(plainsale, lamps)
    assert refused.code == 3
    assert not (lamps / "lamp.json").exists()
    assert "line 62, price" in refused.err
    kept = fit_lamps(plainsale, lamps, "--keep-good", "--json")
    assert kept.code == 0
    assert kept.json["rows"] == 60


def test_several_currencies_need_a_base_and_a_day(plainsale, lamps):
    lines = (lamps / "sales.csv").read_text().splitlines()
    lines = [lines[0] + ",currency,sold_on"] + [
        f"{line},{('EUR', 'USD')[n % 2]},2023-05-{1 + n % 28:02d}" for n, line in enumerate(lines[1:])
    ]
    (lamps / "sales.csv").write_text("\n".join(lines) + "\n")
    assert fit_lamps(plainsale, lamps).code == 3
    based = fit_lamps(plainsale, lamps, "--base", "EUR", "--json")
    assert based.code == 0
    assert based.json["currency"] == "EUR"
    assert based.json["on"] == "2023-05-28"


def test_the_same_sales_and_seed_give_the_same_model(plainsale, lamps):
    texts = []
    for _ in range(2):
        assert fit_lamps(plainsale, lamps, "--seed", "7").code == 0
        texts.append((lamps / "lamp.json").read_bytes())
    assert texts[0] == texts[1]


def test_an_attribute_named_like_a_contract_column_is_refused(plainsale, lamps):
    (lamps / "lamp.toml").write_text(LAMP.replace("watts", "support"))
    refused = fit_lamps(plainsale, lamps)
    assert refused.code == 3
    assert "support" in refused.err


def test_what_if_gives_the_change_and_its_own_interval(plainsale, goods):
    change = ("--set", "function:camera_wide=works")
    found = plainsale("what-if", "--model", goods.model, "--unit", goods.unit, *change, "--json")
    assert found.code == 0
    assert set(found.json) == {"before", "after", "change", "percent", "low_95", "high_95"}
    assert found.json["change"] == pytest.approx(found.json["after"] - found.json["before"])
    assert found.json["percent"] == pytest.approx(100 * found.json["change"] / found.json["before"], abs=0.01)
    assert 0 <= found.json["low_95"] <= found.json["change"] <= found.json["high_95"]


@pytest.mark.parametrize("change", ["function:camera_wide=fine", "function:wings=works", "camera_wide", "x:y=z"])
def test_a_change_that_says_nothing_is_refused(plainsale, goods, change):
    refused = plainsale("what-if", "--model", goods.model, "--unit", goods.unit, "--set", change)
    assert refused.code == 3
    assert "expected" in refused.err


SIGNS = [("text", "- "), ("markdown", "# "), ("html", "<html"), ("json-ld", "https://schema.org")]


@pytest.mark.parametrize(("form", "sign"), SIGNS)
def test_a_listing_comes_in_four_formats_and_passes_its_own_check(plainsale, goods, tmp_path, form, sign):
    written = plainsale("list", "--unit", goods.unit, "--format", form, "--on", "2026-07-01")
    assert written.code == 0
    assert sign in written.out
    (tmp_path / "listing").write_text(written.out)
    checked = plainsale("list", "--unit", goods.unit, "--check", tmp_path / "listing", "--json")
    assert checked.json == []
    assert checked.code == 0


def test_findings_have_five_keys_and_the_exit_code_says_so(plainsale, goods, tmp_path):
    (tmp_path / "text").write_text("A phone. The ultra-wide camera works.")
    checked = plainsale("list", "--unit", goods.unit, "--check", tmp_path / "text", "--json")
    assert checked.code == 3
    assert all(set(finding) == {"kind", "start", "end", "fact", "suggestion"} for finding in checked.json)
    against = [finding for finding in checked.json if finding["kind"] == "against fact"]
    assert [finding["fact"] for finding in against] == ["function:camera_wide"]
    assert plainsale("list", "--unit", goods.unit, "--check", tmp_path / "text").code == 3


def test_a_listing_has_the_models_price_when_there_is_no_ask(plainsale, goods):
    without = plainsale("list", "--unit", goods.unit, "--json").json
    priced = plainsale("list", "--unit", goods.unit, "--model", goods.model, "--json").json
    sections = [{sentence["section"] for sentence in listing["sentences"]} for listing in (without, priced)]
    assert sections[1] - sections[0] == {"price"}


def test_a_units_file_that_repeats_a_price_column_is_refused(plainsale, goods, tmp_path):
    (tmp_path / "units.csv").write_text("brand,estimate\nAmbrisk,5\n")
    refused = plainsale("price", "--model", goods.model, "--units", tmp_path / "units.csv")
    assert refused.code == 3
    assert "estimate" in refused.err
