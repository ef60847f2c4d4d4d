"""The commands cost and proceeds: ledgers that are kept, sales that are counted, offers that are answered."""

from __future__ import annotations

import json

import pytest

from api.shop.demo_goods import STORY_UNIT

HEAD = '[channel]\nname = "stall"\ntitle = "Stall"\ncurrency = "EUR"\n[[fee]]\nname = "sale"\n'
UNIT = ("--number", "P-104")


@pytest.fixture
def stocked(plainsale, tmp_path):
    """The command line with one unit in the store."""
    path = tmp_path / "unit.json"
    path.write_text(json.dumps(STORY_UNIT))
    assert plainsale("import", "--class", "phone", "--units", path).code == 0
    return plainsale


def amounts(told):
    return {line["name"]: line["amount"]["amount"] for line in told["proceeds"]["lines"]}


def test_costs_are_written_down_and_one_is_taken_back(stocked):
    kept = stocked("cost", *UNIT, "--add", "purchase", "--paid", "80 EUR", "--on", "2026-05-04", "--json").json
    assert kept["basis"]["total"] == {"amount": "80.00", "currency": "EUR"}
    part = stocked(
        "cost", *UNIT, "--add", "part", "--paid", "18.40 USD", "--charged", "17.20 EUR", "--on", "2026-05-06",
        "--reason", "a screen", "--json",
    ).json  # fmt: skip
    assert part["entry"]["entry"]["rate_origin"] == "charged"
    assert part["entry"]["entry"]["reference"]["day"] == "2026-05-06"
    assert part["basis"]["total"]["amount"] == "97.20"
    undone = stocked("cost", *UNIT, "--take-back", "2", "--reason", "other unit", "--json").json
    assert undone["basis"]["total"]["amount"] == "80.00"
    told = stocked("cost", *UNIT)
    for words in ("a screen", "takes back 2", "charged", "80.00 EUR"):
        assert words in told.out
    early = stocked("cost", *UNIT, "--on", "2026-05-05", "--json").json
    assert early["basis"]["total"]["amount"] == "80.00"
    assert len(early["entries"]) == 3


def test_the_published_rate_is_taken_when_nothing_else_is_known(stocked):
    kept = stocked("cost", *UNIT, "--add", "part", "--paid", "10 USD", "--base", "EUR", "--on", "2026-05-10", "--json")
    entry = kept.json["entry"]["entry"]
    assert (entry["rate_origin"], entry["rate_on"]) == ("reference", "2026-05-08")


@pytest.fixture
def own_rates(tmp_path):
    path = tmp_path / "rates.csv"
    path.write_text("date,currency,per_base\n2026-05-08,USD,1.25\n")
    return path


def test_own_rates_are_taken_before_the_published_ones(stocked, own_rates):
    paid = ("--add", "part", "--paid", "10 USD", "--base", "EUR", "--on", "2026-05-08")
    kept = stocked("cost", *UNIT, *paid, "--rates", own_rates, "--json")
    assert kept.json["entry"]["entry"]["amount"] == {"amount": "8.00", "currency": "EUR"}


def test_a_lot_paid_in_other_money_is_divided_at_own_rates(stocked, own_rates, tmp_path):
    lot = {"number": "L-9", "on": "2026-05-08", "price": {"amount": "10", "currency": "USD"}, "units": ["P-104"]}
    path = tmp_path / "lot.json"
    path.write_text(json.dumps(lot))
    shared = stocked("cost", "--lot", path, "--base", "EUR", "--rates", own_rates, "--json")
    assert shared.json["total"] == {"amount": "8.00", "currency": "EUR"}


def test_own_rates_that_lack_the_day_or_go_with_nothing_are_refused(stocked, own_rates):
    paid = ("--add", "part", "--paid", "10 USD", "--base", "EUR", "--on", "2026-01-08")
    missing = stocked("cost", *UNIT, *paid, "--rates", own_rates)
    assert missing.code == 4
    assert "2026-01-08" in missing.err
    assert stocked("cost", *UNIT, "--rates", own_rates).code == 2
    assert stocked("cost", *UNIT, "--json").json["entries"] == []


def test_a_sale_is_counted_over_the_basis_with_the_tax_that_the_purchase_allows(stocked, tmp_path):
    channel = tmp_path / "stall.toml"
    channel.write_text(HEAD.replace("EUR", "GBP") + "percent = 10\n")
    sale = ("proceeds", *UNIT, "--price", "240 GBP", "--channel", channel, "--tax", "gb", "--json")
    stocked("cost", *UNIT, "--add", "purchase", "--paid", "120 GBP", "--on", "2026-05-04")
    unproven = stocked(*sale)
    assert unproven.code == 3
    assert "purchase" in unproven.err
    stocked(
        "cost", *UNIT, "--add", "other", "--paid", "6 GBP", "--on", "2026-05-04",
        "--bought-from", "private person", "--proof", "D-17",
    )  # fmt: skip
    told = stocked(*sale).json
    assert amounts(told) == {"sale": "24.00", "VAT (margin)": "20.00"}
    assert told["proceeds"]["net"]["amount"] == "196.00"
    assert told["profit"]["profit"]["amount"] == "70.00"
    # 0.9 p - (p - 120) / 6 = 126 at p = 144.545...; at 144.54 the lines are 14.45 and 4.09 and leave 126.00.
    assert told["break_even"] == {"amount": "144.54", "currency": "GBP"}
    assert "adviser" in told["proceeds"]["tax"]["adviser"]
    words = " ".join(stocked(*sale[:-1]).out.split())
    for said in ("VAT is 20/120 of the margin", "come back from a price of 144.54 GBP on", "adviser to decide"):
        assert said in words


def test_an_offer_is_answered_with_what_each_answer_leaves(plainsale):
    offer = ("proceeds", "--offer", "150 EUR", "--waiting", "120 EUR", "--channel", "counter")
    plain = plainsale(*offer, "--json").json
    assert plain["answer"] == "accept"
    assert plain["counter"] is None
    countered = plainsale(*offer, "--ask", "199 EUR", "--json").json
    assert countered["answer"] == "counter"
    assert any("supposed" in words for words in countered["assumes"])
    assert "Lowest price to accept" in plainsale(*offer).out


@pytest.fixture
def lot(plainsale, tmp_path):
    """A lot of three stored units, as a file."""
    for number in ("A", "B", "C"):
        path = tmp_path / f"{number}.json"
        path.write_text(json.dumps({"class": "phone", "number": number}))
        assert plainsale("import", "--class", "phone", "--units", path).code == 0
    path = tmp_path / "lot.json"
    price = {"amount": "100", "currency": "AUD"}
    proof = {"kind": "seller's declaration", "reference": "D-3", "dated": "2026-04-07"}
    bought = {"way": "private person", "proof": proof}
    path.write_text(json.dumps({"number": "L-4", "on": "2026-04-07", "price": price, "units": [*"ABC"], **bought}))
    return path


def test_a_lot_is_divided_once_and_a_scrapped_unit_hands_its_share_on(plainsale, lot):
    shared = plainsale("cost", "--lot", lot, "--json").json
    assert [share["amount"] for share in shared["shares"].values()] == ["33.34", "33.33", "33.33"]
    assert shared["total"] == {"amount": "100.00", "currency": "AUD"}
    again = plainsale("cost", "--lot", lot)
    assert again.code == 3
    assert "not divided yet" in again.err
    moved = plainsale("cost", "--lot-number", "L-4", "--scrapped", "B", "--json").json
    assert [share["amount"] for share in moved["shares"].values()] == ["50.01", "0.00", "49.99"]
    assert "100.00 AUD" in plainsale("cost", "--lot-number", "L-4").out
    sale = plainsale("cost", "--number", "A", "--json").json["basis"]
    assert (sale["total"]["amount"], sale["paid_to_seller"]["amount"]) == ("50.01", "33.34")


def test_a_lot_that_names_a_missing_unit_leaves_no_ledger_touched(plainsale, lot):
    lot.write_text(lot.read_text().replace('"C"]', '"Z"]'))
    assert plainsale("cost", "--lot", lot).code == 4
    assert plainsale("cost", "--number", "A", "--json").json["entries"] == []
    assert plainsale("cost", "--lot-number", "L-4").code == 4
    assert plainsale("cost", "--scrapped", "A").code == 2
    lot.write_text(lot.read_text().replace('["A", "B", "Z"]', "[]"))
    empty = plainsale("cost", "--lot", lot)
    assert empty.code == 3
    assert "units" in empty.err


def pool_of(costs, sales, proven=True):
    proof = {"kind": "seller's declaration", "reference": "D-1", "dated": "2026-02-03"} if proven else None
    bought = {"way": "private person", "on": "2026-02-03", "proof": proof}
    pounds = [{"amount": str(amount), "currency": "GBP"} for amount in (*costs, *sales, 0)]
    return {
        "starts": "2026-01-01",
        "ends": "2026-03-31",
        "bought": [{"number": f"U{n}", "cost": pounds[n], "purchase": bought} for n in range(len(costs))],
        "sales": pounds[len(costs) : -1],
        "brought_forward": pounds[-1],
    }


def test_without_an_option_the_cost_of_every_unit_is_shown(stocked, lot):
    assert "Nothing is written down" in stocked("cost").out
    stocked("cost", "--lot", lot)
    stocked("cost", *UNIT, "--add", "part", "--paid", "5 EUR", "--on", "2026-05-04")
    told = stocked("cost", "--json").json
    assert {number: basis["total"]["amount"] for number, basis in told.items()} == {
        "A": "33.34", "B": "33.33", "C": "33.33", "P-104": "5.00",
    }  # fmt: skip
    assert stocked("cost", "--on", "2026-05-03", "--json").json["P-104"]["entries"] == 0
    assert "33.34 AUD" in stocked("cost").out


def test_a_period_of_pooled_margins_is_closed(plainsale, tmp_path):
    path = tmp_path / "pool.json"
    path.write_text(json.dumps(pool_of([400] * 20, [20000])))
    closed = plainsale("proceeds", "--pool", path, "--tax", "gb", "--json").json
    assert (closed["tax"]["amount"], closed["carried_forward"]["amount"]) == ("2000.00", "0")
    assert "adviser to decide" in " ".join(plainsale("proceeds", "--pool", path, "--tax", "gb").out.split())
    assert plainsale("proceeds", "--pool", path).code == 4
    path.write_text(json.dumps(pool_of([400, "500.01"], [20000], proven=False)))
    refused = plainsale("proceeds", "--pool", path, "--tax", "gb")
    assert refused.code == 3
    assert "unit U0, purchase.proof" in refused.err
    assert "unit U1, purchase.proof" in refused.err


@pytest.mark.parametrize(
    ("arguments", "code", "words"),
    [
        (("--add", "part"), 2, "--paid"),
        (("--add", "part", "--paid", "5"), 2, "is no money"),
        (("--add", "part", "--paid", "5,20 EUR"), 2, "is no money"),
        (("--add", "part", "--paid", "5 QQQ"), 2, "qqq"),
        (("--add", "part", "--paid", "-5 EUR"), 3, "paid"),
        (("--add", "part", "--paid", "5.001 EUR"), 3, "minor units"),
        (("--add", "part", "--paid", "5 EUR", "--tax-back", "6"), 3, "tax_back"),
        (("--add", "part", "--paid", "5 EUR", "--tax-back", "1e30"), 3, "tax_back"),
        (("--add", "part", "--paid", "5 EUR", "--on", "2099-01-01"), 3, "today"),
        (("--add", "part", "--paid", "5 EUR", "--reason", "x" * 501), 3, "reason"),
        (("--add", "part", "--paid", "5 EUR", "--proof", "D-1"), 2, "--bought-from"),
        (("--add", "part", "--paid", "5 KWD", "--base", "EUR"), 4, "kwd"),
        (("--add", "part", "--paid", "5 USD", "--base", "EUR", "--on", "1998-02-03"), 4, "1999"),
        (("--paid", "5 EUR"), 2, "--add"),
        (("--take-back", "7"), 4, "no entry 7"),
        (("--take-back", "7", "--lot-number", "L"), 2, "one at a time"),
        (("--number", "P-1"), 4, "no unit"),
    ],
)
def test_a_cost_that_cannot_be_ends_with_words_and_its_exit_code(stocked, arguments, code, words):
    number = () if "--number" in arguments else UNIT
    refused_with(stocked("cost", *number, *arguments), code, words)


@pytest.mark.parametrize(
    ("arguments", "code", "words"),
    [
        ((), 2, "one of --price"),
        (("--price", "5 EUR", "--offer", "5 EUR"), 2, "one of --price"),
        (("--price", "5 EUR", "--channel", "bazaar"), 4, "online-market"),
        (("--price", "5 EUR", "--channel", "none.toml"), 4, "none.toml"),
        (("--price", "5 GBP"), 3, "eur"),
        (("--price", "5 EUR", "--channel", "online-market", "--zone", "moon"), 4, "neighbours"),
        (("--price", "5 EUR", "--tax", "zz"), 4, "there are: at"),
        (("--price", "5 EUR", "--tax", "de"), 3, "how the unit was bought"),
        (("--price", "5 EUR", "--tax", "de", "--full-price", "--on", "1999-01-01"), 4, "no vat rate"),
        (("--offer", "5 EUR"), 2, "--waiting"),
        (("--offer", "5 EUR", "--waiting", "5 GBP"), 3, "gbp"),
        (("--offer", "5 EUR", "--waiting", "5 EUR", "--stands", "2"), 3, "stands"),
    ],
)
def test_a_sale_that_cannot_be_ends_with_words_and_its_exit_code(stocked, arguments, code, words):
    refused_with(stocked("proceeds", *UNIT, *arguments), code, words)


def refused_with(seen, code, words):
    assert seen.code == code, seen.err + seen.out
    assert words in seen.err.lower()
    assert "Traceback" not in seen.err
    assert seen.out == ""


def test_a_channel_with_circular_or_overlapping_tiers_is_refused_by_line(plainsale, tmp_path):
    path = tmp_path / "stall.toml"
    for tiers, words in (
        ("{ up_to = 50 }, { above = 40 }", "overlap"),
        ("{ up_to = 50 }, { above = 50, up_to = 20 }, { above = 20 }", "goes back or in a circle"),
    ):
        path.write_text(f"{HEAD}tiers = [{tiers}]\n")
        seen = plainsale("proceeds", "--price", "5 EUR", "--channel", path)
        assert seen.code == 3
        assert words in seen.err
        assert "stall.toml, line 7" in seen.err
