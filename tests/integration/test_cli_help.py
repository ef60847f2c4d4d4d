"""Every command explains itself with an example that works, and help is quick."""

from __future__ import annotations

import inspect
import re
import shlex
import subprocess
import sys
from importlib import import_module
from importlib.metadata import version

import pytest

from api.cli.main import COMMANDS


def function_of(name):
    entry = COMMANDS[name]
    return getattr(import_module(entry.module), entry.function)


def example_of(name):
    return re.search(r"Example: plainsale (.+)", inspect.getdoc(function_of(name))).group(1)


@pytest.mark.parametrize("name", COMMANDS)
def test_help_shows_what_the_command_does_and_an_example(name, plainsale):
    helped = plainsale(name, "--help")
    words = " ".join(re.sub(r"[│╭╮╰╯─]", " ", helped.out).split())
    assert helped.code == 0
    assert f"Example: plainsale {example_of(name)}" in words
    assert "--json" in words
    assert "Raises:" not in words


@pytest.mark.parametrize("name", [name for name in COMMANDS if name != "serve"])
def test_the_example_of_each_command_runs(name, plainsale, goods, tmp_path, monkeypatch):
    for path in (goods.sales, goods.units, goods.unit, goods.model):
        (tmp_path / path.name).write_bytes(path.read_bytes())
    monkeypatch.chdir(tmp_path)
    ran = plainsale(*shlex.split(example_of(name)))
    assert ran.code == 0, ran.err
    assert ran.out or (tmp_path / "prices.csv").exists()


def test_the_list_of_commands_names_each_with_its_summary(plainsale):
    listed = plainsale("--help")
    assert listed.code == 0
    for name, entry in COMMANDS.items():
        assert re.search(rf"{name}\s+{re.escape(entry.summary)}", listed.out)


def test_the_version_is_printed(plainsale):
    assert plainsale("--version").out == f"plainsale {version('plainsale')}\n"


def test_a_command_that_is_not_there_is_a_mistake_in_usage(plainsale):
    seen = plainsale("prices")
    assert seen.code == 2
    assert seen.out == ""


def test_help_is_quick_because_what_takes_long_to_load_is_loaded_by_name():
    # Seconds differ from machine to machine; what is loaded does not.
    slow = {"numpy", "scipy", "pandas", "fastapi", "sqlalchemy", "pydantic", "babel", "jinja2", "api.cli.plans"}
    loaded = f"import sys, api.cli.main as m; m.build(['--help']); print({slow} & set(sys.modules))"
    shown = subprocess.run([sys.executable, "-c", loaded], check=True, capture_output=True, text=True)
    assert shown.stdout == "set()\n"
