"""The service: routers, errors and the shop put together."""

from __future__ import annotations

from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from importlib.metadata import version

from fastapi import FastAPI
from starlette.middleware.trustedhost import TrustedHostMiddleware

from api.routes import (
    acceptances,
    asking,
    comparables,
    costs,
    estimates,
    intake,
    listings,
    lots,
    models,
    photos,
    plans,
    proceeds,
    units,
)
from api.routes.problem_replies import MEDIA_TYPE, FaultAnswers, add_problem_replies
from api.routes.shapes import Health, ProblemDetails
from api.settings import read_settings
from api.shop.shop import Shop

# A page of another site may make a browser ask a loopback address under that site's name: refused.
_HOSTS = ["127.0.0.1", "localhost", "::1", "[::1]"]
_PROBLEM = {"model": ProblemDetails, "content": {MEDIA_TYPE: {}}}


def create_app(shop: Shop | None = None) -> FastAPI:
    """Return the service; its shop has the environment's settings unless one is given."""
    chosen = shop or Shop(read_settings())

    @asynccontextmanager
    async def _open_and_close(_app: FastAPI) -> AsyncIterator[None]:
        # A store that cannot be opened is told at the start, not at the first request.
        assert chosen.store  # noqa: S101 - opens it
        yield
        chosen.close()

    app = FastAPI(
        title="plainsale",
        version=version("plainsale"),
        summary="What a damaged second-hand unit is worth, and a listing that says every defect.",
        lifespan=_open_and_close,
        # The usual pages for reading the interface load scripts from elsewhere; /openapi.json is enough.
        docs_url=None,
        redoc_url=None,
        responses={404: {**_PROBLEM}, 409: {**_PROBLEM}, 422: {**_PROBLEM}},
    )
    app.state.shop = chosen
    add_problem_replies(app)
    nouns = (
        comparables, models, units, intake, photos, estimates, plans, lots, asking, listings, acceptances, costs,
        proceeds,
    )  # fmt: skip
    for noun in nouns:
        app.include_router(noun.router)
    app.get("/health", tags=["health"])(health)
    app.add_middleware(TrustedHostMiddleware, allowed_hosts=_HOSTS)
    app.add_middleware(FaultAnswers, shop=chosen)
    return app


def health() -> Health:
    """Say that the service answers."""
    return Health(status="ok", version=version("plainsale"))
