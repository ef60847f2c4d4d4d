"""The model card that ``fit`` leaves beside a model for people to read."""

from __future__ import annotations

import re
import subprocess
import sys
from pathlib import Path

import pytest

from api.shop.model_cards import cards_beside
from data.demo.generate import generate, write_csv

LAMP = """\
[class]
name = "lamp"
[[attribute]]
name = "brand"
kind = "group"
[[attribute]]
name = "watts"
kind = "number"
"""


@pytest.fixture
def lamps(tmp_path):
    """Sixty sales of a class with two attributes, and its file."""
    described, sales = tmp_path / "lamp.toml", tmp_path / "lamps.csv"
    described.write_text(LAMP)
    rows = (f"{40 + number % 7 + number / 3:.2f},{('Aa', 'Bb')[number % 2]},{5 + number % 9}" for number in range(60))
    sales.write_text("price,brand,watts\n" + "\n".join(rows) + "\n")
    return ("--class", described, "--sales", sales)


def test_a_card_for_people_stands_beside_every_model(goods):
    page, text = (path.read_text() for path in cards_beside(goods.model))
    assert cards_beside(goods.model)[0].name == "phone.card.html"
    for card in (page, text):
        for words in ("What it must not be used for", "invented", "owner's account lock locked", "no sale had this"):
            assert words in card.replace("&#39;", "'")
    assert page.count("<svg") == 3
    assert "<script" not in page
    fingerprint = re.search(r'"fingerprint":"(\w+)"', goods.model.read_text()).group(1)
    assert fingerprint in page
    assert fingerprint in text


def test_json_names_the_cards_and_the_screen_does_too(plainsale, lamps, tmp_path):
    model = tmp_path / "lamp.json"
    told = plainsale("fit", *lamps, "--model", model, "--json").json
    assert told["cards"] == [str(tmp_path / "lamp.card.html"), str(tmp_path / "lamp.card.md")]
    assert all(Path(card).stat().st_size > 1000 for card in told["cards"])
    words = " ".join(plainsale("fit", *lamps, "--model", model).out.split())
    assert "lamp.card.html" in words.replace(" ", "")


def test_real_sales_are_not_called_invented(plainsale, lamps, tmp_path):
    plainsale("fit", *lamps, "--model", tmp_path / "lamp.json")
    text = (tmp_path / "lamp.card.md").read_text()
    assert "invented" not in text
    assert "not dated" in text
    assert "watts 5 to 13" in text


def test_a_card_is_left_out_or_written_elsewhere_when_asked(plainsale, lamps, tmp_path):
    model = tmp_path / "lamp.json"
    assert plainsale("fit", *lamps, "--model", model, "--no-card", "--json").json["cards"] == []
    assert not list(tmp_path.glob("*.card.*"))
    other = tmp_path / "other.md"
    assert plainsale("fit", *lamps, "--model", model, "--card", other, "--json").json["cards"] == [str(other)]
    assert not list(tmp_path.glob("*.card.*"))
    assert other.read_text().startswith("# Model card: prices of the class lamp")


def test_a_model_in_the_store_has_a_card_only_when_one_is_named(plainsale, lamps, tmp_path):
    assert plainsale("fit", *lamps, "--json").json["cards"] == []
    page = tmp_path / "card.html"
    assert plainsale("fit", *lamps, "--card", page).code == 0
    assert page.read_text().startswith("<!DOCTYPE html>")


@pytest.mark.parametrize("options", [("--card", "card.pdf"), ("--card", "card"), ("--card", "a.md", "--no-card")])
def test_a_card_that_cannot_be_is_a_mistake_in_usage(plainsale, lamps, tmp_path, options):
    refused = plainsale("fit", *lamps, "--model", tmp_path / "lamp.json", *options)
    assert refused.code == 2
    assert "card" in refused.err
    assert not (tmp_path / "lamp.json").exists()


def test_a_card_in_a_folder_that_is_not_there_is_refused_in_words(plainsale, lamps, tmp_path):
    refused = plainsale("fit", *lamps, "--card", tmp_path / "nowhere" / "card.md")
    assert refused.code == 3
    assert "expected a place that can be written" in refused.err


def test_one_real_brand_among_invented_ones_makes_the_sales_real(plainsale, tmp_path):
    made = generate(5, rows={"phone": 120})
    sales = tmp_path / "sales.csv"
    write_csv(made.tables["phone"], made.device_classes["phone"], sales)
    sales.write_text(sales.read_text().replace("Ambrisk", "Another"))
    plainsale("fit", "--class", "phone", "--sales", sales, "--card", tmp_path / "card.md")
    assert "invented" not in (tmp_path / "card.md").read_text()


def test_only_fitting_loads_what_draws_charts():
    loaded = "import sys, api.cli.main, api.cli.estimates; print('vl_convert' in sys.modules)"
    shown = subprocess.run([sys.executable, "-c", loaded], check=True, capture_output=True, text=True)
    assert shown.stdout == "False\n"
