"""Within a channel's limit descriptions go in the stated order, and disclosures never."""

from __future__ import annotations

from functools import cache

import pytest

from listing_templates.composition import sentences_of
from listing_templates.language import read_language
from listing_templates.shortening import LAST, LEAST_USEFUL_FIRST, LISTS, fitted, fitted_title
from listing_templates.wording import Wording
from pricing.errors import ListingRefused
from pricing.records.listing import Sentence
from tests.builders import healthy, small_class, spotless


def body_of(sentences):
    return "\n".join(sentence.text for sentence in sentences)


@cache
def sentences():
    unit = spotless(
        functions=healthy(wifi="dead"), accessories=["cable", "box", "bag"], ask={"amount": "80", "currency": "EUR"}
    )
    return sentences_of(unit, small_class(), Wording())


@cache
def made(size):
    return fitted(sentences(), body_of, size)


def left_off(shorter):
    return tuple(sentence for sentence in sentences() if sentence not in shorter.sentences)


def written(name):
    """Return what is left of a sentence at every limit."""
    return {s.text for size in range(*reversed(limits())) for s in made(size).sentences if s.id == name}


def limits():
    """Every limit from the whole text down to what is refused."""
    whole = len(body_of(sentences()))
    least = len(body_of([s for s in sentences() if s.disclosure or s.section == "title"]))
    return whole, least


def test_nothing_goes_without_a_limit_or_under_it():
    whole, _ = limits()
    for size in (None, whole, whole + 1):
        assert made(size).sentences == sentences()
        assert left_off(made(size)) == ()
        assert made(size).body == body_of(sentences())


def test_every_limit_is_kept_and_no_disclosure_ever_goes_or_changes():
    whole, least = limits()
    told = [sentence for sentence in sentences() if sentence.disclosure or sentence.section == "title"]
    assert len(told) >= 2
    for size in range(least, whole):
        shorter = made(size)
        assert len(shorter.body) <= size
        assert [s for s in shorter.sentences if s.disclosure or s.section == "title"] == told
        assert left_off(shorter)


def test_at_the_least_nothing_is_left_but_title_and_disclosures():
    _, least = limits()
    assert set(left_off(made(least))) == {s for s in sentences() if not s.disclosure and s.section != "title"}


def test_the_least_useful_go_first_and_no_more_than_must():
    whole, least = limits()
    order = [*LEAST_USEFUL_FIRST, *LISTS, LAST]
    before = 0
    for size in range(whole - 1, least - 1, -1):
        gone = [order.index(sentence.id) for sentence in left_off(made(size))]
        stay = [order.index(s.id) for s in sentences() if s not in left_off(made(size)) and s.id in order]
        assert max(gone) <= min(stay, default=len(order))
        assert len(gone) >= before
        before = len(gone)
    first = made(whole - 1)
    assert [sentence.id for sentence in left_off(first)] == ["summary.counts"]


def test_a_list_loses_whole_entries_from_its_end():
    assert written("included.with") == {"Included: cable, box and bag.", "Included: cable…"}
    whole = "Brand: Arvel, model: N2, storage: 256 GB."
    assert written("summary.attributes") == {whole, "Brand: Arvel, model: N2…", "Brand: Arvel…"}


def test_what_has_no_room_for_its_disclosures_is_refused_with_both_numbers():
    _, least = limits()
    with pytest.raises(ListingRefused, match=rf"needs {least} characters .*1 disclosure.*{least - 1} are allowed"):
        made(least - 1)


def test_a_sentence_of_no_known_kind_is_never_dropped():
    own = Sentence(id="terms.own", section="price", text="Returns within 30 days.", facts=("ask",))
    _, least = limits()
    shorter = fitted((*sentences(), own), body_of, least + len(own.text) + 1)
    assert own in shorter.sentences


def test_only_what_counts_is_counted():
    whole, _ = limits()
    assert left_off(fitted(sentences(), body_of, 1, lambda body: len(body) - whole)) == ()


def test_what_may_go_is_named_as_the_sentences_are_and_never_a_title_or_a_term():
    known = read_language("en").sentences
    order = (*LEAST_USEFUL_FIRST, *LISTS, LAST)
    assert len(set(order)) == len(order)
    assert set(order) <= set(known)
    assert not [name for name in order if name.startswith(("title.", "terms."))]


def title(text):
    return Sentence(id="title.faulty", section="title", text=text, facts=("class",))


@pytest.mark.parametrize(
    ("limit", "text"),
    [
        (None, "Arvel N2 Max, talker, with faults"),
        (33, "Arvel N2 Max, talker, with faults"),
        (32, "Arvel N2 Max, with faults"),
        (25, "Arvel N2 Max, with faults"),
        (24, "Arvel N2…, with faults"),
        (21, "Arvel…, with faults"),
    ],
)
def test_a_title_gives_up_words_of_the_name_and_keeps_the_fault(limit, text):
    shorter = fitted_title(title("Arvel N2 Max, talker, with faults"), "{name}, with faults", limit)
    assert shorter.text == text
    assert limit is None or len(text) <= limit


def test_a_title_without_room_for_its_fault_is_refused():
    with pytest.raises(ListingRefused, match="18 are allowed"):
        fitted_title(title("Arvel N2, with faults"), "{name}, with faults", 18)
