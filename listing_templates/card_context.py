"""What the templates of the model card may use: one frozen class each, every field with its help text."""

from __future__ import annotations

from dataclasses import dataclass, field


@dataclass(frozen=True)
class CardTable:
    """A table of words and figures."""

    columns: tuple[str, ...] = field(metadata={"help": "Heading of each column."})
    rows: tuple[tuple[str, ...], ...] = field(metadata={"help": "Cells row by row, as many as columns."})
    words: int = field(default=1, metadata={"help": "The first columns that hold words; the rest hold figures."})


@dataclass(frozen=True)
class CardSection:
    """One section of the card."""

    name: str = field(metadata={"help": "Stable name, used as an anchor and for the section's chart."})
    heading: str = field(metadata={"help": "Heading."})
    lines: tuple[str, ...] = field(default=(), metadata={"help": "Paragraphs."})
    items: tuple[str, ...] = field(default=(), metadata={"help": "A list below the paragraphs."})
    table: CardTable | None = field(default=None, metadata={"help": "A table below the chart."})


@dataclass(frozen=True)
class CardContext:
    """A whole card as the templates see it."""

    title: str = field(metadata={"help": "Title of the card."})
    lead: str = field(metadata={"help": "What the model is, in one or two sentences."})
    warning: str = field(metadata={"help": "That the goods are invented; empty for real ones."})
    sections: tuple[CardSection, ...] = field(metadata={"help": "Sections in reading order."})
    charts: dict[str, str] = field(metadata={"help": "Name of a section -> its chart as SVG; empty in Markdown."})
