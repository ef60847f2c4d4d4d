"""The words of a model card, as a page and as Markdown."""

from __future__ import annotations

import re
from dataclasses import fields
from datetime import date
from html.parser import HTMLParser
from importlib.resources import files

import pytest
from jinja2 import Environment, meta

from listing_templates.card_context import CardContext, CardSection, CardTable
from listing_templates.card_figures import signed
from listing_templates.card_sections import sections_of
from listing_templates.model_card import TEMPLATES, render_card
from pricing.errors import counted
from pricing.records.model_card import CardEffect, CardGroup, CardRange, CoverageRow, ErrorSize, ModelCard
from pricing.records.money import Money

HOSTILE = "<script>alert(1)</script>|Brand_*"


def effect(kind, label, percent, sales, half=2.0):
    worth = Money(amount="90", currency="EUR")
    ends = {"low_95": percent - half, "high_95": percent + half}
    return CardEffect(kind=kind, name=label, label=label, percent=percent, **ends, price=worth, sales=sales)


def card_of(**changes) -> ModelCard:
    whole = {
        "device_class": "lamp", "title": "Lamp", "fingerprint": "00ff00ff00ff00ff", "on": date(2026, 3, 31),
        "currency": "EUR", "rows": 1200, "sold": 1100, "asked": 100, "refunded": 7, "undated": 0,
        "first_sale": date(2026, 1, 1), "last_sale": date(2026, 3, 31), "blanks": {"watts": 12.5},
        "groups": (CardGroup(name="brand", title="brand", levels=9, thin=2, fewest=1, most=400),),
        "ranges": (CardRange(name="watts", title="watts", unit="W", low=5, high=60),),
        "calibrated": {50: True, 80: True, 90: True, 95: True},
        "error": ErrorSize(sales=1100, median=9.5, low_80=-18.25, high_80=22.0),
        "coverage": (CoverageRow(label="all", sales=1100, within={50: 50.2, 80: 80.1, 90: 90.0, 95: 95.1}),),
        "effects": (
            effect("faults", "switch dead", -40.0, 31), effect("faults", "cord removed", -20.0, 0),
            effect("faults", "plug removed", -20.0, 0), effect("number", "watts 60 W (highest)", 12.0, 1050),
            effect("group", f"brand {HOSTILE}", 3.0, 3), effect("time", "a year later", -15.0, None),
        ),
        "structure": ("numbers that bend: watts",), "notices": ("one thing to know",),
    }  # fmt: skip
    return ModelCard(**whole | changes)


class Tags(HTMLParser):
    """Collects tags, and whether each is closed in its order."""

    def __init__(self, text):
        super().__init__()
        self.open, self.seen, self.addresses = [], [], []
        self.feed(text)

    def handle_starttag(self, tag, attrs):
        self.seen.append(tag)
        self.addresses += [value for name, value in attrs if name in ("src", "href", "xlink:href")]
        if tag != "meta":
            self.open.append(tag)

    def handle_endtag(self, tag):
        assert self.open.pop() == tag


@pytest.mark.parametrize(
    ("percent", "told"),
    [(12.04, "+12.0 %"), (-3.05, "−3.0 %"), (0.04, "0.0 %"), (-0.04, "0.0 %"), (2500.4, "+2,500 %"), (0.0, "0.0 %")],
)
def test_a_percentage_has_its_sign_unless_it_is_none(percent, told):
    assert signed(percent) == told


def test_the_limits_name_the_class_the_ranges_and_the_last_sale():
    limits = " ".join(next(each.items for each in sections_of(card_of()) if each.name == "limits"))
    for words in ("another class than Lamp", "watts 5 to 60 W", "2026-03-31", "New goods", "tax office", "Cause and"):
        assert words in limits
    assert "invented" not in limits
    undated = sections_of(card_of(on=None, first_sale=None, last_sale=None))
    assert "no sale is dated" in " ".join(undated[0].items)


def test_invented_goods_are_said_to_mean_nothing_twice():
    for format in TEMPLATES:
        text = render_card(card_of(invented=True), format=format)
        assert text.index("nothing here means anything") < text.index("the figures mean nothing")
        assert "invented" not in render_card(card_of(), format=format)


def test_the_same_figures_stand_on_the_page_and_in_markdown():
    page = re.sub(r"<[^>]+>", " ", render_card(card_of(), format="html"))
    for text in (page, render_card(card_of(), format="markdown").replace("\\", "")):
        for figure in ("00ff00ff00ff00ff", "1,200", "1,100", "7", "12.5 %", "9.5 %", "−18.2 %", "+22.0 %", "80.1 %",
                       "−40.0 %", "−42.0 % to −38.0 %", "31", "90 days", "one thing to know", "numbers that bend",
                       "restricted maximum likelihood", "European Central Bank"):  # fmt: skip
            assert figure in text, figure


def test_what_no_sale_had_stands_apart_and_what_reads_alike_shares_a_row():
    unsold = next(each for each in sections_of(card_of()) if each.name == "unsold")
    assert unsold.table.rows == (("cord removed; plug removed", "−20.0 %", "−22.0 % to −18.0 %"),)
    assert unsold.table.columns[0] == "no sale had this"
    sold = next(each for each in sections_of(card_of()) if each.name == "condition")
    assert [row[0] for row in sold.table.rows] == ["switch dead"]


def test_student_t_and_asking_prices_are_owned_up_to():
    few = card_of(calibrated={50: True, 80: True, 90: True, 95: False}, of_asking_price=True)
    lines = " ".join(next(each.lines for each in sections_of(few) if each.name == "error"))
    assert "95 % are from Student t" in lines
    assert "80 %" not in lines.split("Too few")[1]
    assert "of asking prices" in lines


def test_sections_without_content_are_left_out():
    bare = card_of(effects=(), groups=(), blanks={}, coverage=(), error=None, structure=(), notices=())
    assert {each.name for each in sections_of(bare)} == {"limits", "data", "error", "method"}
    assert "Every interval was set by sales held out." in render_card(bare, format="markdown")


def test_the_page_is_self_contained_well_formed_and_shows_hostile_names_as_text():
    page = render_card(card_of(), format="html", charts={"condition": "<svg><g></g></svg>"})
    tags = Tags(page)
    assert tags.open == []
    assert tags.addresses == []
    assert "script" not in tags.seen
    assert tags.seen.count("svg") == 1
    assert "&lt;script&gt;" in page
    assert "url(" not in page
    assert page.index("<svg>") > page.index('id="condition"')


def test_markdown_tables_have_as_many_cells_in_each_row_and_no_charts():
    text = render_card(card_of(), format="markdown", charts={"condition": "<svg></svg>"})
    assert "<svg>" not in text
    assert "<script>" not in text
    tables = re.findall(r"(?:^\|.*\n)+", text, re.MULTILINE)
    assert len(tables) == 9
    for table in tables:
        widths = {len(re.findall(r"(?<!\\)\|", line)) for line in table.splitlines()}
        assert len(widths) == 1, table
    assert "−42.0 % to −38.0 % | 31 | 90.00 EUR |" in text


def test_templates_use_exactly_the_fields_that_are_explained():
    explained = {field.name for field in fields(CardContext)}
    used = set()
    for name in TEMPLATES.values():
        source = (files("listing_templates.templates") / name).read_text(encoding="utf-8")
        used |= meta.find_undeclared_variables(Environment().parse(source))
        parts = {field.name for kind in (CardSection, CardTable) for field in fields(kind)}
        assert set(re.findall(r"section\.(?:table\.)?(\w+)", source)) <= parts
    assert used == explained
    for kind in (CardContext, CardSection, CardTable):
        assert all(field.metadata["help"] for field in fields(kind))


def test_a_count_of_one_is_one_sale():
    assert f"learnt from {counted(1, 'sale')}." in render_card(card_of(rows=1), format="markdown")
