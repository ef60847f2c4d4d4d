"""Publishing in a shop: what stops it, what is kept, and when it is no longer true."""

from __future__ import annotations

from datetime import timedelta
from hashlib import sha256
from importlib.metadata import version

import pytest

from api.settings import Settings
from api.shop.kept_listings import edit_text, get_kept, list_kept, sell, withdraw
from api.shop.listing_checks import answer_finding, check_listing, last_check, read_back
from api.shop.publications import feed_of, publish, published_listing, sheet_of, standing_listing
from api.shop.shop import Shop
from pricing.errors import BadInput, HeldBack, ListingRefused
from pricing.records.channel import Channel
from pricing.records.unit import Unit
from tests.kept_listings import NOW, TERMS, change, draft, published, shop_in, with_answers


@pytest.fixture
def shop(tmp_path):
    made = shop_in(tmp_path, country="de")
    yield made
    made.close()


@pytest.fixture
def unsettled(tmp_path):
    """A shop that has not stated its country."""
    made = shop_in(tmp_path)
    yield made
    made.close()


def open_findings(kept):
    return {(raised.finding.kind, raised.finding.fact) for raised in last_check(kept).findings if raised.stands_open}


def test_what_is_published_is_kept_with_text_facts_lines_and_program(shop):
    number = draft(shop)
    checked = with_answers(shop, number)
    assert checked.state == "checked"
    text = checked.text
    photo = sha256(b"a photo").hexdigest()
    done = publish(shop, number, confirmed_by="desk", text_digest=sha256(text.encode()).hexdigest(), photos=[photo])
    said = done.publication
    assert (done.kept.state, done.kept.stale, done.kept.intact) == ("published", False, True)
    assert (said.listing.body, said.text_digest) == (text, sha256(text.encode()).hexdigest())
    assert (said.photos, said.confirmed_by, said.program) == ((photo,), "desk", version("plainsale"))
    assert (said.unit.number, said.unit_version) == ("U1", 1)
    assert "function:lens_focus" in {fact.key for fact in said.facts}
    assert [line.text for line in said.deviations] == [s.text for s in said.listing.sentences if s.disclosure]
    assert said.deviations[0].rule.startswith("§")
    assert done.kept.steps[-1].at.startswith("2026-06-10T09:00")


def test_a_hard_finding_stops_and_cannot_be_answered(shop):
    number = draft(shop)
    (disclosed,) = (s.text for s in get_kept(shop, number).written.said.sentences if s.id == "function.dead")
    edit_text(shop, number, get_kept(shop, number).text.replace(disclosed, ""))
    kept = check_listing(shop, number)
    assert kept.state == "draft"
    assert ("missing", "function:lens_focus") in open_findings(kept)
    place = [raised.finding.fact for raised in last_check(kept).findings].index("function:lens_focus") + 1
    with pytest.raises(ListingRefused, match="cannot be answered"):
        answer_finding(shop, number, place, reason="nobody asks", by="desk")
    with pytest.raises(ListingRefused, match="listing 1 is draft; to be published it must be checked"):
        publish(shop, number, confirmed_by="desk", text_digest=kept.text_digest)


def test_a_soft_finding_is_answered_with_a_reason_that_holds_until_words_or_fact_change(unsettled):
    number = draft(unsettled)
    kept = check_listing(unsettled, number)
    assert open_findings(kept) == {("not stated", "terms:country")}
    kept = answer_finding(unsettled, number, 1, reason="sold on the ship", by="desk")
    assert kept.state == "checked"
    assert [raised.answer for raised in last_check(kept).findings] == ["sold on the ship"]
    edit_text(unsettled, number, kept.text + "\nA flawless copy.\n")
    kept = check_listing(unsettled, number)
    assert kept.state == "draft"
    assert {kind for kind, _ in open_findings(kept)} == {"superlative"}


@pytest.mark.parametrize("place", [0, 2, -1])
def test_a_finding_that_is_not_there_cannot_be_answered(unsettled, place):
    number = draft(unsettled)
    check_listing(unsettled, number)
    with pytest.raises(BadInput, match="expected 1 to 1"):
        answer_finding(unsettled, number, place, reason="so it is", by="desk")


def test_only_who_has_read_this_text_can_confirm_it(shop):
    number = draft(shop)
    digest = with_answers(shop, number).text_digest
    for other in ("", digest[:7], "0" * 64, digest + "0"):
        with pytest.raises(BadInput, match=digest):
            publish(shop, number, confirmed_by="desk", text_digest=other)
    assert publish(shop, number, confirmed_by="desk", text_digest=digest[:8].upper()).kept.state == "published"


def test_a_fact_that_changed_after_the_check_stops_publishing_and_the_new_check_is_kept(shop):
    number = draft(shop)
    digest = with_answers(shop, number).text_digest
    change(shop, functions={"lens_focus": "dead", "lens_zoom": "dead"})
    with pytest.raises(ListingRefused, match="missing: function:lens_zoom"):
        publish(shop, number, confirmed_by="desk", text_digest=digest)
    kept = get_kept(shop, number)
    assert kept.state == "draft"
    assert last_check(kept).unit_version == 2


def test_a_later_change_of_a_fact_marks_it_stale_and_says_which(shop):
    number = published(shop)
    change(shop, functions={"lens_focus": "dead", "lens_aperture": "works"}, history=[])
    kept = get_kept(shop, number)
    assert kept.stale
    (changed,) = kept.changed
    assert (changed.key, changed.now) == ("function:lens_aperture", "aperture: works")
    assert changed.before.startswith("aperture: untested")
    with pytest.raises(ListingRefused, match=r"stale.*function:lens_aperture"):
        standing_listing(shop, number)
    assert "N2" not in feed_of(shop, "csv")


def test_a_change_that_is_no_fact_leaves_it_true(shop):
    number = published(shop)
    change(shop, history=[{"on": "2026-06-01", "what": "dusted"}])
    assert get_kept(shop, number).changed == ()
    assert standing_listing(shop, number).publication.unit_version == 1


def test_the_seller_may_edit_before_publishing_and_the_edited_text_is_what_stands(shop):
    number = draft(shop)
    edit_text(shop, number, get_kept(shop, number).text + "\nWe answer within a day.\n")
    digest = with_answers(shop, number).text_digest
    done = publish(shop, number, confirmed_by="desk", text_digest=digest)
    assert done.publication.listing.body.endswith("We answer within a day.\n")
    with pytest.raises(ListingRefused, match="is published; to be edited"):
        edit_text(shop, number, "other words")


def test_a_unit_that_is_not_in_the_store_cannot_be_published(shop):
    with shop.store.reading() as work:
        unit = work.units.get("U1").unit.model_copy(update={"number": "U9"})
    number = draft(shop, unit=unit)
    assert check_listing(shop, number).state == "draft"
    assert "not in the store" in last_check(get_kept(shop, number)).stops[0]


PHONE = {"class": "phone", "attributes": {"brand": "Arvel", "model": "P2"}, "functions": {"wifi": "dead"}}
ERASED = {"data_erased": "built-in erase", "data_verified": True}


def test_data_that_is_still_on_it_stops_and_no_reason_lifts_that(shop):
    change(shop, **PHONE)
    number = draft(shop)
    kept = with_answers(shop, number)
    assert kept.state == "draft"
    (stop,) = last_check(kept).stops
    assert "nobody recorded that it was erased" in stop
    assert "What lifts this: erase it" in stop
    change(shop, **PHONE, **ERASED)
    assert last_check(check_listing(shop, number)).stops == ()


def test_goods_that_are_reported_stolen_are_neither_written_published_nor_sold(shop):
    number = published(shop)
    waiting = draft(shop)
    change(shop, doubts=["reported stolen"])
    with pytest.raises(HeldBack, match="unit U1: It is reported stolen"):
        draft(shop)
    with pytest.raises(HeldBack):
        sell(shop, number, by="desk")
    kept = get_kept(shop, number)
    assert (kept.state, kept.stale) == ("published", True)
    assert "reported stolen" in last_check(check_listing(shop, waiting)).stops[0]


def test_a_check_of_a_lock_that_grew_old_makes_a_published_listing_stale(tmp_path):
    today = {"now": NOW}
    shop = Shop(Settings(home=tmp_path, country="de", **TERMS), lambda: today["now"])
    checks = {lock: {"state": "free", "checked_on": "2026-06-10"} for lock in ("network_block", "owner_account")}
    with shop.store.writing(NOW) as work:
        work.units.add(Unit.model_validate({**PHONE, **ERASED, "number": "U1", "locks": checks}))
    number = published(shop)
    assert get_kept(shop, number).changed == ()
    today["now"] = NOW + timedelta(days=400)
    kept = get_kept(shop, number)
    assert kept.stale
    assert "lock:network_block" in {change.key for change in kept.changed}
    shop.close()


def test_a_text_that_outgrew_its_channel_is_stopped(shop):
    folder = shop.settings.channel_folder
    folder.mkdir()
    head = '[channel]\nname = "stall"\ntitle = "Stall"\ncurrency = "EUR"\n'
    (folder / "stall.toml").write_text(head + "body_limit = 9000\n")
    number = draft(shop, channel=Channel(name="stall", title="Stall", currency="EUR"))
    assert last_check(check_listing(shop, number)).stops == ()
    edit_text(shop, number, get_kept(shop, number).text + "x" * 9000)
    (stop,) = last_check(check_listing(shop, number)).stops
    assert stop.endswith("characters; stall takes 9,000")
    (folder / "stall.toml").write_text(head + 'formats = ["html"]\n')
    assert "takes listings as html" in last_check(check_listing(shop, number)).stops[0]


def test_a_price_that_is_no_longer_asked_stops_our_text(shop):
    number = draft(shop)
    change(shop, ask={"amount": "70", "currency": "EUR"})
    assert "the unit's ask, 70 EUR" in last_check(check_listing(shop, number)).stops[0]


def test_after_the_sale_the_seller_hears_of_missing_answers_and_other_listings(shop):
    first, second = published(shop), published(shop, form="html")
    told = sell(shop, first, by="desk", buyer="B-1")
    assert told.kept.state == "sold"
    assert [notice.split(":")[0] for notice in told.notices] == [
        "no answer is kept in which B-1 accepts every line of this listing",
        f"listing {second} of the same unit is still published",
    ]
    change(shop, opened="by others")
    assert not get_kept(shop, first).stale
    assert get_kept(shop, first).changed == ()
    with pytest.raises(ListingRefused, match="is sold; to be withdrawn"):
        withdraw(shop, first, reason="came back", by="desk")


def test_listings_are_found_by_state(shop):
    numbers = [published(shop), draft(shop), draft(shop)]
    withdraw(shop, numbers[2], reason="written twice", by="desk")

    def found(**wish):
        return [kept.number for kept in list_kept(shop, limit=0, offset=0, **wish).items]

    assert [found(state=state) for state in ("published", "draft", "withdrawn")] == [[n] for n in numbers]
    assert found(unit_number="U1") == numbers[::-1]


@pytest.mark.parametrize(
    ("read", "same"),
    [
        (lambda text: text, "the same"),
        (lambda text: text.replace("\n", "\r\n") + "  \n", "the same as seen"),
        (lambda text: "Welcome.\n\n" + text + "\nOther offers", "inside a longer text"),
        (lambda text: text.replace("not", "now", 1), "changed"),
        (lambda text: text[: len(text) // 2], "changed"),
    ],
)
def test_a_text_read_back_is_compared_and_the_reading_kept(shop, read, same):
    number = published(shop)
    told = read_back(shop, number, read(get_kept(shop, number).text))
    assert told.same == same
    assert told.kept.steps[-1].step.same == same
    assert told.kept.state == "published"
    assert bool(told.lost) == (same == "changed")


def test_a_disclosure_cut_off_where_it_stands_is_found(shop):
    number = published(shop, form="html")
    body = get_kept(shop, number).text
    (disclosed,) = (s.text for s in published_listing(shop, number).publication.listing.sentences
                    if s.id == "function.dead")  # fmt: skip
    told = read_back(shop, number, body.replace(disclosed, "Fine glass."))
    assert told.same == "changed"
    assert "function:lens_focus" in {finding.fact for finding in told.findings if finding.kind == "missing"}
    assert disclosed in told.lost
    assert "Fine glass." in told.added
    assert read_back(shop, number, f"<main><p>Shop</p>{body}</main>").same == "inside a longer text"


def test_the_feed_holds_what_stands_and_the_sheet_its_lines(shop):
    number = published(shop)
    said = published_listing(shop, number).publication
    assert said.listing.body.splitlines()[0] in feed_of(shop, "ndjson")
    assert "U1" in feed_of(shop, "csv")
    sheet = sheet_of(shop, number)
    assert said.text_digest in sheet
    assert "BGB" in sheet
    assert "Consumer Rights Act" in sheet_of(shop, number, "gb")
    withdraw(shop, number, reason="broken in the shop", by="desk")
    with pytest.raises(ListingRefused, match="withdrawn, no longer published"):
        sheet_of(shop, number)
    assert "U1" not in feed_of(shop, "csv")


def test_what_was_never_published_has_no_publication(shop):
    with pytest.raises(ListingRefused, match="nothing of it was published"):
        published_listing(shop, draft(shop))
