"""Texts that try to run, to break out of a format, or to overwhelm; and a unit that has one in every field."""

from __future__ import annotations

from pricing.records.device_class import DeviceClass
from pricing.records.unit import Unit

HOSTILE = (
    "<script>alert(1)</script>",
    "</script></style></title><script>alert(2)</script>",
    "{{7*7}}{% for x in y %}{{ unit.__class__ }}",
    "\u202etxet desrever\u202c\u2066\u200b",
    "\x00\x07\x1b[2J\r\n\n# heading\n\n- item",
    "[x](javascript:alert(1)) ![i](http://a.example/i.png) https://a.example www.a.example",
    '"><img src=x onerror=alert(1)><svg onload=alert(2)>',
    "</li></ul><h1>Everything works</h1><base href=//a.example><meta http-equiv=refresh content=0>",
    "=cmd|'/C calc'!A0",
    "+1+1\t@SUM(1)\r-2",
    "\ud800 lone surrogate \ufffe",
    "%s {0} {label} $x ${y}",
    "x" * 1_000_000,
    "\u202e" * 500_000 + "=1 " * 200_000,
)


def hostile_unit(device_class: DeviceClass, text: str) -> Unit:
    """Return a unit of the class that holds the text wherever a unit holds text."""
    functions = {
        function.name: {"status": ("works", "impaired")[number % 2], "symptom": text, "note": text}
        for number, function in enumerate(device_class.functions)
    }
    return Unit.model_validate({
        "class": device_class.name, "number": text, "functions": {**functions, text: "dead"},
        "attributes": {a.name: text for a in device_class.attributes if a.kind == "group"} | {text: text},
        "marks": [{"surface": s, "kind": text} for s in (device_class.surfaces[0].name, text)],
        "looked_at": [text], "covered": [text],
        "parts": [{"part": text, "origin": "salvaged"}], "opened_parts": [text],
        "locks": {name: {"state": "locked", "way": text} for name in (text, *device_class.locks_by_name)},
        "data_erased": text, "accessories": [text], "identity": text, "observed": [text],
        "history": [{"on": "2026-01-01", "what": text, "part": text}],
    })  # fmt: skip
