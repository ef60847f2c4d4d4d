"""The sandbox in which templates run: it cannot change what it is given, and sees no more than that.

Our own frozen classes of text are known to be harmless, so reading one of their fields needs no further look; every
other attribute, method and value goes the sandbox's own way.
"""

from __future__ import annotations

from dataclasses import fields
from typing import Any

from jinja2.sandbox import ImmutableSandboxedEnvironment

from listing_templates.context import ListingContext, SectionContext, SentenceContext

_FIELDS: dict[type, frozenset[str]] = {
    kind: frozenset(field.name for field in fields(kind)) for kind in (ListingContext, SectionContext, SentenceContext)
}


class ListingSandbox(ImmutableSandboxedEnvironment):
    """jinja2's sandbox for values that cannot be changed, with a short way to the fields of a listing."""

    def getattr(self, obj: Any, attribute: str) -> Any:  # noqa: ANN401 - a template may ask anything of anything
        """Return what ``obj.attribute`` is in a template; a field of a listing at once."""
        if attribute in _FIELDS.get(type(obj), ()):
            return getattr(obj, attribute)
        return super().getattr(obj, attribute)
