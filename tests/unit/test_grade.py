"""The grade of the look: computed from marks by a rule that is data."""

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pydantic import ValidationError

from data.catalogue.reader import find_class
from pricing.records.device_class import MARK_KINDS, DeviceClass, Function, Surface
from pricing.records.grade import GradeRule, GradeStep
from pricing.records.unit import Mark, Unit, grade_of, surfaces_of

BOX = DeviceClass(
    name="box",
    functions=(Function(name="hinge", optional=True),),
    surfaces=(Surface(name="lid"), Surface(name="base"), Surface(name="hinge_cover", function="hinge")),
)
ALL = ("lid", "base", "hinge_cover")
ORDER = "ABCD"
MARKS = st.builds(
    Mark,
    surface=st.sampled_from(ALL),
    kind=st.sampled_from(MARK_KINDS),
    size_mm=st.none() | st.floats(0.1, 200),
    count=st.integers(1, 8),
    visible_at_arms_length=st.none() | st.booleans(),
)


def box(*marks: Mark, looked_at: tuple[str, ...] = ALL, **fields: object) -> Unit:
    return Unit.model_validate({"class": "box", "marks": marks, "looked_at": looked_at, **fields})


def mark(kind: str = "scratch", **fields: object) -> Mark:
    return Mark.model_validate({"surface": "lid", "kind": kind, "size_mm": 3, **fields})


def seen(**fields: object) -> Mark:
    return mark(visible_at_arms_length=True, **fields)


def unseen(**fields: object) -> Mark:
    return mark(visible_at_arms_length=False, **fields)


@pytest.mark.parametrize(
    ("marks", "grade"),
    [
        ([], "A"),
        ([unseen(count=2)], "A"),
        ([unseen(count=3)], "B"),
        ([unseen(size_mm=5)], "A"),
        ([unseen(size_mm=5.1)], "B"),
        ([seen()], "B"),
        ([seen(count=2), unseen(count=4)], "B"),
        ([seen(count=3)], "C"),
        ([seen(count=16)], "D"),
        ([unseen(size_mm=81)], "D"),
        ([unseen(kind="dent")], "B"),
        ([unseen(kind="chip")], "C"),
        ([unseen(kind="crack")], "D"),
        ([unseen(kind="missing piece")], "D"),
    ],
)
def test_the_limits_of_the_steps(marks, grade):
    assert grade_of(box(*marks), BOX) == grade


def test_a_mark_that_was_not_measured_or_not_judged_never_helps_the_look():
    assert grade_of(box(unseen(size_mm=None)), BOX) == "B"
    assert grade_of(box(mark(visible_at_arms_length=None)), BOX) == "B"


def test_a_surface_that_was_not_looked_at_gives_no_grade():
    assert grade_of(box(looked_at=("lid", "base")), BOX) == "not graded"


def test_a_covered_surface_was_not_looked_at_even_when_it_has_a_mark():
    assert grade_of(box(mark(), covered=["lid"]), BOX) == "not graded"


def test_a_surface_with_a_mark_was_looked_at():
    assert grade_of(box(unseen(), looked_at=("base", "hinge_cover")), BOX) == "A"


def test_a_surface_of_a_function_that_is_not_fitted_need_not_be_looked_at():
    without = box(looked_at=("lid", "base"), functions={"hinge": "not fitted"})
    assert [surface.name for surface in surfaces_of(without, BOX)] == ["lid", "base"]
    assert grade_of(without, BOX) == "A"
    assert grade_of(box(looked_at=("lid", "base"), functions={"hinge": "dead"}), BOX) == "not graded"


def test_a_class_without_surfaces_gives_no_grade():
    assert grade_of(Unit.model_validate({"class": "bare"}), DeviceClass(name="bare")) == "not graded"


@given(st.lists(MARKS, max_size=6), MARKS)
def test_one_more_mark_never_betters_the_grade(marks, another):
    before, after = grade_of(box(*marks), BOX), grade_of(box(*marks, another), BOX)
    assert ORDER.index(after) >= ORDER.index(before)


@given(st.lists(MARKS, min_size=1, max_size=6), st.data())
def test_a_longer_or_plainer_mark_never_betters_the_grade(marks, data):
    place = data.draw(st.integers(0, len(marks) - 1))
    chosen = marks[place]
    longer = chosen.model_copy(update={"size_mm": (chosen.size_mm or 6) + data.draw(st.floats(0, 100))})
    plainer = chosen.model_copy(update={"visible_at_arms_length": True})
    before = ORDER.index(grade_of(box(*marks), BOX))
    for worse in (longer, plainer):
        changed = [*marks[:place], worse, *marks[place + 1 :]]
        assert ORDER.index(grade_of(box(*changed), BOX)) >= before


def test_a_grade_is_never_shown_without_its_words():
    rule = GradeRule(steps=(GradeStep(grade="A", marks=0, longest_mm=0, at_arms_length=0, words="none"),))
    assert rule.words("A") == "none"
    assert rule.words("C") == rule.words("D") == rule.words_d
    assert rule.words("not graded") == rule.words_not_graded


def test_the_default_steps_go_from_best_to_worst_and_widen():
    steps = GradeRule().steps
    assert [step.grade for step in steps] == ["A", "B", "C"]
    for limit in ("marks", "longest_mm", "at_arms_length"):
        values = [getattr(step, limit) for step in steps]
        assert values == sorted(values)


def test_a_mark_has_a_size_and_a_count_above_zero():
    for fields in ({"size_mm": 0}, {"size_mm": -1}, {"count": 0}):
        with pytest.raises(ValidationError):
            mark(**fields)


def test_a_phone_without_a_hinge_is_graded_without_looking_at_one():
    phone = find_class("phone")
    plain = [surface.name for surface in phone.surfaces if surface.function is None]
    unit = {"class": "phone", "looked_at": plain}
    assert grade_of(Unit.model_validate({**unit, "functions": {"hinge_fold": "not fitted"}}), phone) == "A"
    assert grade_of(Unit.model_validate(unit), phone) == "not graded"
