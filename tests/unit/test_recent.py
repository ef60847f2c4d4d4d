"""Results of late: made once for the very same objects, never taken for others."""

from __future__ import annotations

from listing_templates.recent import Recent


class Thing:
    """Something that is only equal to itself, with the times that it was looked at."""

    looks = 0

    def look(self) -> int:
        """Count one look."""
        self.looks += 1
        return self.looks


def test_the_same_objects_and_values_give_the_result_made_first() -> None:
    recent, thing = Recent[int](), Thing()
    assert [recent.get((thing,), ("en",), thing.look) for _ in range(3)] == [1, 1, 1]
    assert recent.get((thing,), ("de",), thing.look) == 2
    assert recent.get((Thing(),), ("en",), thing.look) == 3


def test_only_the_latest_are_kept_and_what_was_used_lately_stays() -> None:
    recent = Recent[int](most=2)
    first, second, third = Thing(), Thing(), Thing()
    for thing in (first, second, first, third):
        recent.get((thing,), (), thing.look)
    assert recent.get((first,), (), first.look) == 1
    assert recent.get((second,), (), second.look) == 2


def test_an_object_that_is_gone_never_lends_its_place_to_another() -> None:
    recent = Recent[int](most=10_000)
    for number in range(2000):
        assert recent.get(([number],), (), lambda found=number: found) == number
