"""Pages of HTML that the service gives: they run nothing, load nothing, and send forms back to the service only."""

from __future__ import annotations

from fastapi.responses import HTMLResponse

_HEADERS = {
    "Content-Security-Policy": "default-src 'none'; style-src 'unsafe-inline'; form-action 'self'; base-uri 'none'",
    "X-Content-Type-Options": "nosniff",
    "Referrer-Policy": "no-referrer",
    "Cache-Control": "no-store",
}


def page(content: str, status: int = 200) -> HTMLResponse:
    """Return a page, or a piece of one, under rules that let it do nothing but be read and sent."""
    return HTMLResponse(content, status, headers=_HEADERS)
