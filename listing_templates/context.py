"""What the templates may use: one frozen class each, every field with its help text."""

from __future__ import annotations

from dataclasses import dataclass, field


@dataclass(frozen=True)
class PictureContext:
    """A photo beside a sentence."""

    source: str = field(metadata={"help": "The picture itself, small, as a data: address."})
    alt: str = field(metadata={"help": "What it shows, in the listing's language, not yet escaped."})


@dataclass(frozen=True)
class SentenceContext:
    """One sentence as a template sees it."""

    text: str = field(metadata={"help": "The sentence, free of control characters, not yet escaped."})
    kind: str = field(metadata={"help": "'disclosure' or 'description', for the look of the page."})
    pictures: tuple[PictureContext, ...] = field(metadata={"help": "Photos that prove it; none outside of a page."})


@dataclass(frozen=True)
class SectionContext:
    """One section with at least one sentence."""

    name: str = field(metadata={"help": "Stable name of the section, used as an anchor: 'first', 'locks'."})
    heading: str = field(metadata={"help": "Heading in the listing's language."})
    sentences: tuple[SentenceContext, ...] = field(metadata={"help": "Sentences in reading order, never empty."})


@dataclass(frozen=True)
class ListingContext:
    """A whole listing as the templates see it."""

    language: str = field(metadata={"help": "Language tag for the page ('en')."})
    title: str = field(metadata={"help": "Title of the listing."})
    sections: tuple[SectionContext, ...] = field(metadata={"help": "Sections in reading order, without the title."})
    written: str = field(metadata={"help": "'Written for 3 March 2026.', or empty when no day was given."})
    warning: str = field(metadata={"help": "Line that asks the buyer to read the whole list."})
