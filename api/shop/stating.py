"""Records from the single answers of a user, with a Problem for each answer that is wrong."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TypeVar

from pydantic import ValidationError

from pricing.errors import Problem, refused, shortened
from pricing.records.base import Record

Kind = TypeVar("Kind", bound=Record)


def stated(kind: type[Kind], source: str, answers: Mapping[str, object]) -> Kind:
    """Return the record that the answers make; ``source`` names them in messages.

    Raises:
        BadInput: With one Problem for each answer that is wrong.
    """
    try:
        return kind.model_validate(dict(answers))
    except ValidationError as error:
        problems = [
            Problem(
                source,
                None,
                ".".join(str(key) for key in detail["loc"]) or None,
                shortened(detail["input"]),
                detail["msg"].removeprefix("Input should be ").removeprefix("Value error, "),
            )
            for detail in error.errors(include_url=False)
        ]
        raise refused(source, problems) from error
