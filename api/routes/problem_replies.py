"""Errors as problem details (RFC 9457): every error of the service leaves in this one form."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from contextlib import AbstractAsyncContextManager
from pathlib import Path
from types import TracebackType
from typing import Any

from fastapi import FastAPI, Request
from fastapi.exceptions import RequestValidationError
from fastapi.responses import JSONResponse
from starlette.exceptions import HTTPException
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from api.error_replies import OUR_FAULT, problems_of, reply_to
from api.fault_log import record_fault
from api.routes.shapes import ProblemDetails, ProblemShape
from api.shop.shop import Shop
from pricing.errors import BadInput, PlainsaleError, counted, shortened, without_imeis
from pricing.records.identity import unspoken

MEDIA_TYPE = "application/problem+json"
_BODY = "body"


def add_problem_replies(app: FastAPI) -> None:
    """Make the app answer every error as problem details."""
    app.add_exception_handler(PlainsaleError, _answer_known)
    app.add_exception_handler(RequestValidationError, _answer_malformed)
    app.add_exception_handler(HTTPException, _answer_http)


class FaultAnswers:
    """Outermost layer: what nobody foresaw becomes a reference for the caller and details in the log."""

    def __init__(self, app: ASGIApp, shop: Shop) -> None:
        self._app = app
        self._folder = shop.settings.home

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Pass the request on, and answer for it when it fails."""
        async with _Answer(scope, receive, send, self._folder) as answer:
            await self._app(scope, receive, answer.send)


class _Answer(AbstractAsyncContextManager["_Answer"]):
    def __init__(self, scope: Scope, receive: Receive, send: Send, folder: Path) -> None:
        self._scope, self._receive, self._send, self._folder = scope, receive, send, folder
        self._started = False

    async def send(self, message: Message) -> None:
        """Send on, and remember that the caller has the head of a reply."""
        self._started = self._started or message["type"] == "http.response.start"
        await self._send(message)

    async def __aexit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> bool:
        if not isinstance(error, Exception) or self._scope["type"] != "http":
            return False
        # Where the log lies is nobody's business but the shop's.
        detail = record_fault(error, self._folder).split(";")[0]
        if not self._started:
            reply = _reply(Request(self._scope), OUR_FAULT.name, OUR_FAULT.title, OUR_FAULT.status, detail)
            await reply(self._scope, self._receive, self._send)
        return True


async def _answer_known(request: Request, error: Exception) -> JSONResponse:
    reply = reply_to(type(error))
    problems = [ProblemShape.model_validate(problem) for problem in problems_of(error)]
    return _reply(request, reply.name, reply.title, reply.status, str(error), problems)


async def _answer_malformed(request: Request, error: Exception) -> JSONResponse:
    assert isinstance(error, RequestValidationError)  # noqa: S101 - registered for this kind alone
    reply = reply_to(BadInput)
    problems = [_problem(mistake) for mistake in error.errors()]
    detail = f"{counted(len(problems), 'problem')} in the request"
    return _reply(request, reply.name, reply.title, reply.status, detail, problems)


async def _answer_http(request: Request, error: Exception) -> JSONResponse:
    assert isinstance(error, HTTPException)  # noqa: S101 - registered for this kind alone
    reply = _reply(request, "about:blank", error.detail, error.status_code, error.detail)
    reply.headers.update(error.headers or {})
    return reply


def _problem(mistake: Mapping[str, Any]) -> ProblemShape:
    place = ".".join(str(step) for step in mistake["loc"] if step != _BODY)
    said = str(mistake["msg"]).removeprefix("Value error, ")
    return ProblemShape(
        source="request",
        line=None,
        column=place or None,
        found=shortened(unspoken(mistake["loc"], mistake.get("input", ""))),
        expected=said[:1].lower() + said[1:],
    )


def _reply(
    request: Request,
    kind: str,
    title: str,
    status: int,
    detail: str,
    problems: Sequence[ProblemShape] = (),
) -> JSONResponse:
    details = ProblemDetails(
        type=kind,
        title=title,
        status=status,
        detail=detail,
        instance=without_imeis(request.url.path),
        problems=tuple(problems),
    )
    return JSONResponse(details.model_dump(mode="json"), status, media_type=MEDIA_TYPE)
