"""Channel files: read exactly, and every mistake is named by line and key, circles and overlaps too."""

from __future__ import annotations

from decimal import Decimal

import pytest

from data.catalogue.channel_reader import channel_from_text, channel_names, find_channel, read_channel
from pricing.errors import BadInput, NotFound

HEAD = '[channel]\nname = "stall"\ntitle = "Stall"\ncurrency = "EUR"\n'
SALE = '[[fee]]\nname = "sale"\npercent = 10.25\n'
TAX = '[[fee]]\nname = "tax"\npercent = 20\nof = ["sale"]\n'


def tiered(*rows, more=""):
    return f'{HEAD}[[fee]]\nname = "sale"\n{more}' + "".join(f"[[fee.tiers]]\n{row}\n" for row in rows)


def problems_of(text):
    with pytest.raises(BadInput) as refused:
        channel_from_text(text, "stall.toml")
    return {(problem.line, problem.column): str(problem) for problem in refused.value.problems}


@pytest.mark.parametrize("name", channel_names())
def test_every_channel_that_comes_along_is_read(name):
    channel = find_channel(name)
    assert channel.name == name
    assert channel.source == "invented"


def test_amounts_are_read_exactly_as_written():
    text = HEAD + SALE + TAX + "[payment]\nfixed = 0.1\n[[postage]]\nzone = 'home'\ncost = 4\n"
    channel = channel_from_text(text, "stall.toml")
    assert channel.fees[0].percent == Decimal("10.25")
    assert channel.fees[1].of == ("sale",)
    assert (channel.payment.name, channel.payment.fixed, channel.payment.of) == (
        "payment", Decimal("0.1"), ("price", "postage"),
    )  # fmt: skip
    assert channel.postage[0].cost == 4


def test_a_head_is_enough():
    channel = channel_from_text(HEAD, "stall.toml")
    assert (channel.fees, channel.payment, channel.postage) == ((), None, ())
    assert channel.formats == ("text", "markdown", "html", "json-ld")
    assert channel.deviations == "message"
    assert channel.returns.share_percent == channel.guarantee.percent == 0


def test_a_file_of_the_user_comes_before_the_one_that_comes_along(tmp_path):
    (tmp_path / "counter.toml").write_text(HEAD.replace("stall", "counter"))
    assert find_channel("counter", tmp_path).title == "Stall"
    (tmp_path / "other.toml").write_text(HEAD)
    with pytest.raises(BadInput, match="as the file is called"):
        find_channel("other", tmp_path)
    with pytest.raises(NotFound, match="there are: counter, online-market, other"):
        find_channel("none", tmp_path)
    with pytest.raises(NotFound, match="no file"):
        read_channel(tmp_path / "none.toml")


@pytest.mark.parametrize(
    ("text", "line", "column", "words"),
    [
        (SALE, None, "channel", "a table [channel]"),
        (HEAD.replace("EUR", "QQQ"), 4, "channel.currency", "ISO 4217"),
        (HEAD + 'formats = ["paper"]\n', 5, "channel.formats", "'text', 'markdown', 'html' or 'json-ld'"),
        (HEAD + 'deviations = "mail"\n', 5, "channel.deviations", "'checkout', 'message' or 'sheet'"),
        (HEAD + "formats = []\n", 5, "channel.formats", "at least one entry"),
        (HEAD + SALE.replace("10.25", "101"), 7, "fee.percent", "less than or equal to 100"),
        (HEAD + SALE.replace("10.25", "-1"), 7, "fee.percent", "greater than or equal to 0"),
        (HEAD + SALE.replace("10.25", "1e400"), 7, "fee.percent", "digits"),
        (HEAD + SALE.replace("10.25", "inf"), 7, "fee.percent", "finite"),
        (HEAD + SALE.replace("percent", "procent"), 7, "fee.procent", "perhaps percent?"),
        (HEAD + SALE + SALE, 9, "fee.name", "another name"),
        (HEAD + SALE.replace('"sale"', '"price"'), 6, "fee.name", "another name than"),
        (HEAD + TAX, 8, "fee.of", "one of price, postage"),
        (HEAD + TAX.replace('["sale"]', '["tax"]'), 8, "fee.of", "circle"),
        (HEAD + TAX.replace('["sale"]', "[]"), 8, "fee.of", "at least"),
        (HEAD + SALE + "at_least = 3\nat_most = 2\n", 9, "fee.at_most", "at least 3"),
        (HEAD + "[payment]\nname = 'pay'\n", 5, "payment", "without a name"),
        (HEAD + "[payment]\nof = ['fee']\n", 6, "payment.of", "one of price, postage"),
        (HEAD + "[[postage]]\nzone = 'a'\ncost = 1\n" * 2, 9, "postage.zone", "another zone"),
        (HEAD + "[returns]\nshare_percent = 140\n", 6, "returns.share_percent", "100"),
        (HEAD + "returns = 4\n", 5, "channel.returns", "one of"),
    ],
)  # fmt: skip
def test_each_mistake_is_named_by_line_and_key(text, line, column, words):
    found = problems_of(text)
    assert (line, column) in found
    assert words in found[line, column]


def test_two_fees_that_are_taken_of_each_other_are_both_named():
    circle = HEAD + TAX.replace('["sale"]', '["rent"]') + TAX.replace('"tax"', '"rent"').replace('["sale"]', '["tax"]')
    found = problems_of(circle)
    assert set(found) == {(8, "fee.of"), (12, "fee.of")}
    assert all("circle" in words for words in found.values())


@pytest.mark.parametrize(
    ("rows", "line", "column", "words"),
    [
        (("up_to = 100", "above = 90"), 10, "fee.tiers.above", "overlap"),
        (("up_to = 100", "above = 110"), 10, "fee.tiers.above", "leave a gap"),
        (("above = 5",), 8, "fee.tiers.above", "leave a gap"),
        (("up_to = 100", "above = 100\nup_to = 50", "above = 50"), 11, "fee.tiers.up_to", "goes back or in a circle"),
        (("up_to = 100", "above = 100\nup_to = 100", "above = 100"), 11, "fee.tiers.up_to", "more than 100"),
        (("", "above = 100"), 10, "fee.tiers.above", "overlap"),
        (("up_to = 100",), 8, "fee.tiers.up_to", "without up_to"),
    ],
)
def test_tiers_that_overlap_leave_a_gap_or_go_round_are_refused(rows, line, column, words):
    found = problems_of(tiered(*rows))
    assert (line, column) in found, found
    assert words in found[line, column]


def test_tiers_of_fees_and_a_percentage_beside_tiers_are_refused():
    assert any("beside tiers" in words for words in problems_of(tiered("percent = 2", more="percent = 1\n")).values())
    both = tiered("percent = 2", more='of = ["tax"]\n') + '[[fee]]\nname = "tax"\npercent = 5\n'
    assert any("price and postage only" in words for words in problems_of(both).values())
