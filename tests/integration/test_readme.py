"""The session in the README is a real one: its commands are run and must print what stands there.

Figures may differ by half a percent, because sums are rounded differently on different processors; those of bids by
2 percent or by 1, because a draw that stands near a bound then falls to its other side. With
WRITE_README=1 the run writes what was printed into the README instead of comparing.
"""

from __future__ import annotations

import os
import re
import subprocess
import sys
from importlib.metadata import requires
from pathlib import Path

import pytest

README = Path(__file__).parents[2] / "README.md"
SESSION = re.compile(r"```console\n(.*?)```", re.DOTALL)
NUMBER = re.compile(r"\d+(?:\.\d+)?")
LICENCE_ROW = re.compile(r"^\| ([\w.\[\]-]+) \|", re.MULTILINE)


def steps_of(session):
    """Split a session into commands, each with what stands below it."""
    parts = re.split(r"^\$ ", session, flags=re.MULTILINE)[1:]
    return [tuple(part.split("\n", 1)) for part in parts]


# Figures from 4,000 draws: seeds 2 to 4 move them by up to 3.3 % or 6.3 EUR against seed 1. Another processor rounds a
# few draws the other way, which moves them as another seed would (2.9 EUR between two that we had).
OF_DRAWS = {"rel": 3.5e-2, "abs": 6.5}


def printed_by(command, folder):
    places = [str(Path(sys.executable).parent), os.environ["PATH"]]
    settings = {"PATH": os.pathsep.join(places), "PLAINSALE_HOME": str(folder / "home"), "COLUMNS": "100"}
    ran = subprocess.run(
        command, shell=True, cwd=folder, env=os.environ | settings, text=True,
        stdout=subprocess.PIPE, stderr=subprocess.STDOUT,
    )  # fmt: skip
    return "\n".join(line.rstrip() for line in ran.stdout.splitlines())


@pytest.fixture(scope="module")
def session(tmp_path_factory):
    folder = tmp_path_factory.mktemp("session")
    found = SESSION.search(README.read_text()).group(1)
    ran = [(command, expected, printed_by(command, folder)) for command, expected in steps_of(found)]
    if os.environ.get("WRITE_README"):
        text = "".join(f"$ {command}\n{printed}\n" for command, _, printed in ran)
        README.write_text(SESSION.sub(lambda _: f"```console\n{text}```", README.read_text(), count=1))
        ran = [(command, printed, printed) for command, _, printed in ran]
    return ran


def test_the_session_prints_what_the_readme_says(session):
    assert len(session) >= 6
    for command, expected, printed in session:
        assert NUMBER.sub("0", printed).split() == NUMBER.sub("0", expected).split(), command
        shown = [float(number) for number in NUMBER.findall(expected)]
        near = OF_DRAWS if command.startswith("plainsale lot ") else {"rel": 5e-3}
        assert [float(number) for number in NUMBER.findall(printed)] == pytest.approx(shown, **near), command


def test_the_comparison_sees_a_changed_word_and_a_changed_figure():
    """The session test must be able to fail."""
    steps = steps_of("$ say\nworth 110.20 EUR\n$ more\nnothing\n")
    assert steps == [("say", "worth 110.20 EUR\n"), ("more", "nothing\n")]
    assert [float(number) for number in NUMBER.findall("worth 111.20 EUR")] != pytest.approx([110.20], rel=5e-3)


def test_the_first_two_commands_are_those_of_a_fresh_clone():
    blocks = re.findall(r"```sh\n(.*?)```", README.read_text(), re.DOTALL)
    assert "plainsale demo" in blocks[0]
    assert blocks[1].strip() == "tests/run"


def test_every_dependency_is_named_with_its_licence():
    wanted = {re.split(r"[\[<>=!; ]", requirement)[0].lower() for requirement in requires("plainsale")} - {"plainsale"}
    named = {name.lower() for name in LICENCE_ROW.findall(README.read_text())}
    assert wanted <= named
