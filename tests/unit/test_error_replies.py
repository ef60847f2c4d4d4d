"""Each kind of error has one exit code and one HTTP status."""

from __future__ import annotations

import pytest

from api.error_replies import OUR_FAULT, REPLIES, problems_of, reply_to
from pricing import errors
from pricing.errors import BadInput, PlainsaleError, Problem

CODES = {
    "BadInput": (3, 422),
    "BadModelFile": (3, 422),
    "NotFound": (4, 404),
    "CannotFit": (5, 409),
    "SingularDesign": (5, 409),
    "NotConverged": (5, 409),
    "Abstained": (5, 422),
    "HeldBack": (3, 409),
    "StaleVersion": (3, 409),
    "ListingRefused": (3, 409),
    "UnsafeSetting": (2, 500),
    "PlainsaleError": (70, 500),
}


def all_kinds(kind=PlainsaleError):
    yield kind
    for child in kind.__subclasses__():
        yield from all_kinds(child)


def test_every_error_of_the_tree_has_its_codes():
    ours = [kind for kind in all_kinds() if kind.__module__ == errors.__name__]
    found = {kind.__name__: (reply_to(kind).exit_code, reply_to(kind).status) for kind in ours}
    assert found == CODES


def test_a_new_kind_is_found_through_its_ancestor():
    class LostPage(errors.NotFound):
        pass

    assert reply_to(LostPage) is REPLIES[errors.NotFound]


@pytest.mark.parametrize("kind", [ValueError, KeyError, RuntimeError, OSError])
def test_what_nobody_foresaw_is_our_own_fault(kind):
    assert reply_to(kind) is OUR_FAULT


def test_kinds_have_different_names_in_addresses():
    names = [reply.name for reply in (*REPLIES.values(), OUR_FAULT)]
    assert len(set(names)) == len(names)


def test_only_bad_input_carries_problems():
    problem = Problem("sales.csv", 3, "price", '"-1"', "a number above 0")
    assert problems_of(BadInput("one problem", (problem,))) == (problem,)
    assert problems_of(errors.NotFound("no file")) == ()
