"""What the commands print: words and tables on the output, complaints on the error output."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import AbstractContextManager, contextmanager

from rich.console import Console
from rich.progress import Progress
from rich.table import Table
from rich.text import Text

from pricing.errors import Problem

_SHOWN_PROBLEMS = 20


def say(*lines: str) -> None:
    """Print lines of words, folded at the width of the screen."""
    for line in lines:
        _console().print(Text(line))


def print_text(text: str) -> None:
    """Print a text exactly as it is, never folded: a listing, a file."""
    print(text.rstrip("\n"))  # noqa: T201 - the words asked for are the output


def print_json(value: object) -> None:
    """Print plain values as JSON, one indented document."""
    print_text(json.dumps(value, indent=2, ensure_ascii=False))


def show_heading(words: str) -> None:
    """Print a heading between two parts of a longer output."""
    _console().print()
    _console().rule(Text(words, style="bold"), align="left", characters="─")


def show_table(columns: Sequence[str], rows: Iterable[Sequence[str]], right: Sequence[str] = ()) -> None:
    """Print a table; the columns named in ``right`` are amounts and stand to the right."""
    table = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0))
    for column in columns:
        table.add_column(Text(column), justify="right" if column in right else "left")
    for row in rows:
        table.add_row(*(Text(cell) for cell in row))
    _console().print(table)


def note(*lines: str) -> None:
    """Print remarks on the error output, where they are in nobody's way."""
    for line in lines:
        _error_console().print(Text(f"note: {line}"))


def complain(message: str, problems: Sequence[Problem] = (), *, unlisted: int = 0) -> None:
    """Print an error and what is wrong place by place on the error output; ``unlisted`` problems are only counted."""
    console = _error_console()
    console.print(Text(f"plainsale: {message}"))
    for problem in problems[:_SHOWN_PROBLEMS]:
        if str(problem) not in message:
            console.print(Text(f"  {problem}"))
    more = max(len(problems) - _SHOWN_PROBLEMS, 0) + unlisted
    if more:
        console.print(Text(f"  and {more} more"))


def working(words: str) -> AbstractContextManager[object]:
    """Show on a terminal that work goes on, until the block ends."""
    return _error_console().status(Text(words))


@contextmanager
def progress_bar(words: str) -> Iterator[Callable[[int, int], None]]:
    """Show on a terminal how much of some work is done; give what takes the rows done and all rows."""
    console = _error_console()
    with Progress(console=console, transient=True, disable=not console.is_terminal) as progress:
        task = progress.add_task(words, total=None)

        def tell(done: int, whole: int) -> None:
            """Show that so many of all are done."""
            progress.update(task, completed=done, total=whole)

        yield tell


def _console() -> Console:
    return Console(highlight=False, markup=False, soft_wrap=False)


def _error_console() -> Console:
    return Console(stderr=True, highlight=False, markup=False, soft_wrap=True)
