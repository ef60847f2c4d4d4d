"""Answers of the intake from a file: JSON, or CSV with a row for each answer.

Columns of a CSV: ``key`` and ``answer`` are required, the others are fields of ``Answer``; a blank cell is not said.
"""

from __future__ import annotations

from pathlib import Path

from pydantic import ValidationError

from data.importing.text_table import TextTable, read_text_table
from data.importing.unit_json import problem_in, read_record
from pricing.errors import Problem, refused
from pricing.records.question import Answer, Answers

_REQUIRED = ("key", "answer")
_OTHERS = tuple(name for name in Answer.model_fields if name not in (*_REQUIRED, "line"))


def read_answers(path: Path) -> tuple[Answer, ...]:
    """Read the answers in a file, each with its line where the file has lines.

    Raises:
        NotFound: There is no such file.
        BadInput: It cannot be read, or holds something that is no answer; one Problem for each mistake.
    """
    if path.suffix.lower() == ".json":
        return read_record(path, Answers).answers
    table = read_text_table(path)
    _check_header(table)
    answers: list[Answer] = []
    problems = list(table.broken.values())
    for row in range(table.rows):
        if row in table.broken:
            continue
        line = int(table.line[row])
        cells = {name: column.stripped[column.codes[row]] for name, column in table.columns.items()}
        try:
            answers.append(Answer.model_validate({name: cell for name, cell in cells.items() if cell} | {"line": line}))
        except ValidationError as error:
            problems += [problem_in(table.source, line, detail) for detail in error.errors(include_url=False)]
    if problems:
        raise refused(table.source, problems)
    return tuple(answers)


def _check_header(table: TextTable) -> None:
    found = f"the columns {', '.join(table.header)[:60]}"
    problems = [
        Problem(table.source, 1, name, found, f"a column named {name}")
        for name in _REQUIRED
        if name not in table.columns
    ]
    allowed = ", ".join((*_REQUIRED, *_OTHERS))
    problems += [
        Problem(table.source, 1, name, "a column of this name", f"one of {allowed}")
        for name in table.header
        if name not in (*_REQUIRED, *_OTHERS)
    ]
    if problems:
        raise refused(table.source, problems)
