"""Goods on which the commands and the service are tried: few invented sales, fitted once for each process."""

from __future__ import annotations

import json
from dataclasses import dataclass
from pathlib import Path

import pytest

from api.cli.main import main
from api.shop.demo_goods import SHELF, STORY_UNIT, UNITS_CSV
from data.demo.generate import generate, write_csv

SALES_ROWS = 900


@dataclass(frozen=True)
class Outcome:
    """What a command left: its exit code and what it printed."""

    code: int
    out: str
    err: str

    @property
    def json(self):
        return json.loads(self.out)


class Goods:
    """A folder with sales, units, one unit, a class of its own and a fitted model."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.sales = folder / "phone-sales.csv"
        self.units = folder / "phone-units.csv"
        self.unit = folder / "unit.json"
        self.model = folder / "phone.json"
        self.shelf = tuple(folder / f"{unit['number']}.json" for unit in SHELF)

    def write(self) -> None:
        goods = generate(3, rows={"phone": SALES_ROWS})
        write_csv(goods.tables["phone"], goods.device_classes["phone"], self.sales)
        self.units.write_text(UNITS_CSV)
        self.unit.write_text(json.dumps(STORY_UNIT))
        for unit, path in zip(SHELF, self.shelf, strict=True):
            path.write_text(json.dumps(unit))


@pytest.fixture
def plainsale(capsys, monkeypatch, tmp_path):
    """Run the command line in this process, with a home of its own."""
    monkeypatch.setenv("PLAINSALE_HOME", str(tmp_path / "home"))
    monkeypatch.delenv("PLAINSALE_STORE", raising=False)
    monkeypatch.setenv("COLUMNS", "100")

    def run(*arguments):
        capsys.readouterr()
        with pytest.raises(SystemExit) as left:
            main([str(argument) for argument in arguments])
        printed = capsys.readouterr()
        return Outcome(left.value.code or 0, printed.out, printed.err)

    return run


@pytest.fixture(scope="session")
def goods(tmp_path_factory):
    """Sales, units and a model fitted to them."""
    made = Goods(tmp_path_factory.mktemp("goods"))
    made.write()
    with pytest.raises(SystemExit) as left:
        main(["fit", "--class", "phone", "--sales", str(made.sales), "--model", str(made.model), "--json"])
    assert not left.value.code
    return made
