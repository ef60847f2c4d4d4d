"""A live service on a free port of this machine: started, asked by the example script, ended by its number."""

from __future__ import annotations

import json
import os
import signal
import socket
import subprocess
import sys
import urllib.request
from contextlib import contextmanager

import pytest

from api.cli.main import main
from api.examples import shop_script

_SECONDS = 60


@pytest.fixture(scope="module")
def store(goods, tmp_path_factory):
    """A store with a model and nothing else."""
    address = f"sqlite:///{tmp_path_factory.mktemp('served')}/shop.sqlite"
    fitted = ["fit", "--class", "phone", "--sales", str(goods.sales), "--store", address, "--json"]
    with pytest.raises(SystemExit) as left:
        main(fitted)
    assert not left.value.code
    return address


@contextmanager
def serving(store, home):
    """Run the command until the block ends; gives its address and its process."""
    command = [sys.executable, "-m", "api.cli.main", "serve", "--port", "0", "--store", store, "--json"]
    environment = os.environ | {"PLAINSALE_HOME": str(home)}
    process = subprocess.Popen(
        command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, env=environment
    )
    try:
        told = "".join(process.stdout.readline() for _ in range(4))
        yield json.loads(told)["url"], process
    finally:
        if process.poll() is None:
            process.terminate()
        process.wait(_SECONDS)
        process.stdout.close()
        process.stderr.close()


def test_the_shop_script_prices_a_shelf_and_a_signal_ends_the_service_well(store, goods, tmp_path, capsys):
    with serving(store, tmp_path) as (url, process):
        with urllib.request.urlopen(f"{url}/health", timeout=_SECONDS) as reply:
            assert json.loads(reply.read())["status"] == "ok"
        code = shop_script.main(["--url", url, *map(str, goods.shelf)])
        process.send_signal(signal.SIGTERM)
        assert process.wait(_SECONDS) == 0
        assert process.stderr.read() == ""
    lines = capsys.readouterr().out.splitlines()
    assert code == 0
    assert len(lines) == len(goods.shelf) + 1
    assert [line.split()[0] for line in lines[1:]] == ["P-104", "P-105", "P-106", "P-107", "P-108"]
    assert lines[1].split()[2] == "EUR"
    assert "no figure" in lines[5]
    assert "storage_gb" in lines[5]


def test_the_shop_script_says_when_nobody_answers(goods, capsys):
    with socket.socket() as unused:
        unused.bind(("127.0.0.1", 0))
        url = f"http://127.0.0.1:{unused.getsockname()[1]}"
        assert shop_script.main(["--url", url, str(goods.unit)]) == 1
    assert str(goods.unit) in capsys.readouterr().err


def test_a_port_in_use_is_told_in_words(plainsale, tmp_path):
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        taken.listen()
        port = taken.getsockname()[1]
        refused = plainsale("serve", "--port", port, "--store", f"sqlite:///{tmp_path}/shop.sqlite")
    assert refused.code == 2
    assert f"port {port}" in refused.err


def test_a_store_that_cannot_be_opened_is_told_before_serving(tmp_path, plainsale):
    (tmp_path / "notes").write_text("no store " * 99)
    refused = plainsale("serve", "--port", "0", "--store", f"sqlite:///{tmp_path}/notes")
    assert refused.code == 3
    assert "SQLite" in refused.err
