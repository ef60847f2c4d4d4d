"""Price a shelf of units over HTTP and print a table: an example for one's own scripts.

Start the service, then name the units, each a JSON file::

    plainsale serve --port 8000 --store sqlite:///plainsale-demo/shop.sqlite
    python -m api.examples.shop_script --url http://127.0.0.1:8000 plainsale-demo/shelf/*.json

Only the standard library is used, so that the script can be copied to where it is needed.
"""

from __future__ import annotations

import argparse
import json
import sys
from collections.abc import Sequence
from http.client import HTTPConnection, HTTPException
from pathlib import Path
from typing import Any, TextIO
from urllib.parse import urlsplit

LINE = "{number:<10} {worth:>12} {low:>12} {high:>12}  {remark}"


def main(arguments: Sequence[str] | None = None) -> int:
    """Print the table; return 0, or 1 when the service does not answer."""
    parser = argparse.ArgumentParser(description="Price a shelf of units over HTTP.")
    parser.add_argument("--url", default="http://127.0.0.1:8000", help="where plainsale answers")
    parser.add_argument("units", nargs="+", type=Path, help="units, each as a JSON file")
    given = parser.parse_args(arguments)
    write(LINE.format(number="unit", worth="worth", low="80 % from", high="to", remark="remark"))
    for path in given.units:
        try:
            write(line_of(path, given.url))
        except (OSError, HTTPException, ValueError) as error:
            write(f"{path}: {error}", sys.stderr)
            return 1
    return 0


def write(line: str, file: TextIO | None = None) -> None:
    """Write a line, on the output unless another file is named."""
    (file or sys.stdout).write(line + "\n")


def line_of(path: Path, url: str) -> str:
    """Return the line of the table for the unit in a file.

    Raises:
        OSError: The file cannot be read, or nobody answers at ``url``.
        HTTPException: The answer is no HTTP.
        ValueError: The file or the answer is no JSON.
    """
    unit = json.loads(path.read_text(encoding="utf-8"))
    status, answer = ask(url, "/estimates", {"unit": unit})
    number = str(unit.get("number") or path.stem)
    if status != 201:
        return LINE.format(number=number, worth="no figure", low="", high="", remark=answer["detail"])
    said = answer["estimate"]
    band = next(interval for interval in said["intervals"] if interval["level"] == 80)
    return LINE.format(
        number=number,
        worth=told(said["estimate"]),
        low=told(band["low"]),
        high=told(band["high"]),
        remark=f"{said['support']}; {said['reasons'][0]}" if said["reasons"] else said["support"],
    )


def ask(url: str, path: str, question: dict[str, Any]) -> tuple[int, dict[str, Any]]:
    """Return the HTTP status and the JSON that the service answers to a JSON question.

    Raises:
        OSError: Nobody answers.
        HTTPException: The answer is no HTTP.
        ValueError: The answer is no JSON.
    """
    where = urlsplit(url)
    connection = HTTPConnection(where.hostname or "127.0.0.1", where.port or 80, timeout=30)
    try:
        head = {"Content-Type": "application/json"}
        connection.request("POST", path, json.dumps(question), head)
        reply = connection.getresponse()
        answer: dict[str, Any] = json.loads(reply.read())
        return reply.status, answer
    finally:
        connection.close()


def told(money: dict[str, str]) -> str:
    """Return an amount as it is read: "214.37 EUR"."""
    return f"{money['amount']} {money['currency']}"


if __name__ == "__main__":
    sys.exit(main())
