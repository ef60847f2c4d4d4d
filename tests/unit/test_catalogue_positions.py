"""The lines of tables and keys in a TOML text, against the standard parser."""

import tomllib
from collections.abc import Iterator
from importlib.resources import files

import pytest

from data.catalogue.positions import Path, Positions

TRICKY = """\
# [[function]]
[class]
name = "a = b"   # x = 1

[[function]]
name = 'first'
how_to_test = \"\"\"
weight = 9
[[function]]
\"\"\"
symptoms = [
    "a ] b",   # not = a key
    "c",
]
"quoted key" = { inner = 1 }

  [function.consequence]
  dead = "x"

[[function]]
consequence . removed = "y"
[grade]
[[grade.steps]]
grade = "A"
[[grade.steps]]
grade = "B"
"""


def test_keys_in_strings_comments_and_lists_are_not_taken_for_keys():
    lines = Positions(TRICKY).lines
    assert lines[("class", "name")] == 3
    assert lines[("function", 0)] == 5
    assert lines[("function", 0, "how_to_test")] == 7
    assert lines[("function", 0, "symptoms")] == 11
    assert lines[("function", 0, "quoted key")] == 15
    assert lines[("function", 0, "consequence", "dead")] == 18
    assert lines[("function", 1)] == 20
    assert lines[("function", 1, "consequence", "removed")] == 21
    assert lines[("grade", "steps", 1, "grade")] == 26
    assert ("function", 0, "weight") not in lines
    assert ("function", 2) not in lines


def test_a_path_that_is_not_there_gets_the_line_of_the_nearest_table_around_it():
    positions = Positions(TRICKY)
    assert positions.line_of(("function", 0, "weight")) == 5
    assert positions.line_of(("function", 0, "symptoms", 1)) == 11
    assert positions.line_of(("function",)) == 5
    assert positions.line_of(("part", 0)) is None
    assert positions.line_of(()) is None


def paths_of(value: object, path: Path = ()) -> Iterator[Path]:
    yield path
    if isinstance(value, dict):
        for key, inner in value.items():
            yield from paths_of(inner, (*path, key))
    elif isinstance(value, list) and value and isinstance(value[0], dict):
        for index, inner in enumerate(value):
            yield from paths_of(inner, (*path, index))


@pytest.mark.parametrize("name", ["phone", "laptop", "camera", "console", "lens"])
def test_in_the_classes_that_come_along_every_path_of_the_parser_has_its_line(name):
    text = (files("data.catalogue.classes") / f"{name}.toml").read_text("utf-8")
    rows = text.split("\n")
    lines = Positions(text).lines
    keys = [path for path in paths_of(tomllib.loads(text)) if path and "fitted_if" not in path[:-1]]
    assert set(keys) == set(lines)
    for path in keys:
        if isinstance(path[-1], str) and len(path) > 1:
            assert str(path[-1]) in rows[lines[path] - 1]
