"""The intake of stored units over HTTP: what is still asked, and the answers."""

from __future__ import annotations

from datetime import date
from typing import Annotated

from fastapi import APIRouter, Header, Query, Response

from api.routes.access import ShopAccess
from api.routes.shapes import ProblemShape, Shape
from api.routes.units import version_in
from api.shop.intake import answer_stored, sheet_of
from pricing.records.question import Answers, Intake

router = APIRouter(prefix="/units/{number}", tags=["intake"])


class IntakeShape(Shape):
    """What is asked of a unit.

    Attributes:
        unit_number: The unit's number.
        version: Which version of the unit the questions are about; If-Match of the answers.
        intake: The questions in the order of the bench, and what was answered.
        cautions: What to heed before the look, before power and before opening.
    """

    unit_number: str | None
    version: int | None
    intake: Intake
    cautions: dict[str, tuple[str, ...]]


class AnswersKeptShape(Shape):
    """That a unit has the answers in it, at which version, and what was wrong with those that were left out."""

    unit_number: str | None
    version: int
    at: str
    problems: tuple[ProblemShape, ...]


@router.get("/questions")
def questions(shop: ShopAccess, number: str) -> IntakeShape:
    """Say what is still to be looked at on a stored unit, and what was answered; identities are masked."""
    return IntakeShape.model_validate(sheet_of(shop, number))


@router.post("/answers")
def answers(
    shop: ShopAccess,
    number: str,
    given: Answers,
    response: Response,
    if_match: Annotated[str, Header(description='The version that is changed, as an entity tag: "3".')],
    on: Annotated[date | None, Query(description="Day of answers that state none; today by default.")] = None,
    keep_good: Annotated[bool, Query(description="Leave bad answers out instead of taking none.")] = False,
) -> AnswersKeptShape:
    """Put answers into a stored unit, which gets a new version; refused as a whole when one is bad."""
    version = version_in(if_match)
    kept = answer_stored(shop, number, given.answers, version=version, on=on, keep_good=keep_good)
    response.headers["ETag"] = f'"{kept.stored.version}"'
    return AnswersKeptShape(
        unit_number=kept.stored.unit.number,
        version=kept.stored.version,
        at=kept.stored.at,
        problems=tuple(ProblemShape.model_validate(problem) for problem in kept.problems),
    )
