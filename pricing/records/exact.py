"""Decimal numbers as people write them in files and requests: whole or with a point, never a binary float."""

from __future__ import annotations

from decimal import Decimal, InvalidOperation
from typing import Annotated

from pydantic import BeforeValidator, Field
from pydantic_core import PydanticCustomError

# An amount of 12 + 6 digits times a percentage of 3 + 6 still fits the 28 digits of a Decimal.
MOST_DIGITS = 18
MOST_PLACES = 6


def _exact(value: object) -> object:
    if isinstance(value, bool) or not isinstance(value, int | str | float | Decimal):
        raise PydanticCustomError("exact_number", "Input should be a number such as 12.5")
    try:
        # A float arrives from JSON only; what was written there is its shortest form.
        return Decimal(repr(value)) if isinstance(value, float) else Decimal(value)
    except InvalidOperation as error:
        raise PydanticCustomError("exact_number", "Input should be a number such as 12.5") from error


ExactDecimal = Annotated[Decimal, BeforeValidator(_exact), Field(max_digits=MOST_DIGITS, decimal_places=MOST_PLACES)]
