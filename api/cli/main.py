"""The command ``plainsale``: a table of commands that are loaded by name, so that --help is quick."""

from __future__ import annotations

import functools
import inspect
import os
import sys
from collections.abc import Callable, Sequence
from contextlib import AbstractContextManager
from importlib import import_module
from importlib.metadata import version
from pathlib import Path
from types import TracebackType
from typing import Annotated, NamedTuple

import typer

from api.cli.output import complain
from api.error_replies import OUR_FAULT, WELL, problems_of, reply_to
from api.fault_log import record_fault
from pricing.errors import PlainsaleError


class CommandEntry(NamedTuple):
    """Where a command is found.

    Attributes:
        module: Module that holds it.
        function: Its function there, which returns the exit code.
        summary: One line for the list of commands.
    """

    module: str
    function: str
    summary: str


COMMANDS: dict[str, CommandEntry] = {
    "demo": CommandEntry("api.cli.demo", "demo", "Show the whole job on invented goods."),
    "import": CommandEntry("api.cli.imports", "import_files", "Put sales or units into the store."),
    "intake": CommandEntry("api.cli.intake", "intake", "Ask what is to be looked at on a unit, and take the answers."),
    "fit": CommandEntry("api.cli.models", "fit", "Learn prices from sales."),
    "price": CommandEntry("api.cli.estimates", "price", "Say what units are worth, and how sure that is."),
    "what-if": CommandEntry("api.cli.estimates", "what_if", "Say what a repair or a fault changes."),
    "plan": CommandEntry("api.cli.plans", "plan", "Say which repairs pay, in which order, and when to stop."),
    "cost": CommandEntry("api.cli.costs", "cost", "Keep what units and lots cost."),
    "proceeds": CommandEntry("api.cli.proceeds", "proceeds", "Say what a sale leaves, and answer offers."),
    "lot": CommandEntry("api.cli.lots", "lot", "Say the most to bid for a lot."),
    "ask": CommandEntry("api.cli.asking", "ask", "Say what to ask, and how soon it then sells."),
    "list": CommandEntry("api.cli.listings", "list_unit", "Write a listing, or check a text against a unit."),
    "listings": CommandEntry("api.cli.kept_listings", "listings", "Check and publish kept listings, and follow them."),
    "photos": CommandEntry("api.cli.photos", "photos", "Say which photos a unit needs, and keep them."),
    "serve": CommandEntry("api.cli.serve", "serve", "Answer over HTTP on this machine."),
}


# The matrices of a price model are small: several threads on them gain nothing on an idle machine, and on a busy
# one they wait for each other and take ten times as long. Who sets these variables is obeyed.
_THREADS = ("OPENBLAS_NUM_THREADS", "OMP_NUM_THREADS", "MKL_NUM_THREADS")


def main(arguments: Sequence[str] | None = None) -> None:
    """Run the command line and leave with an exit code by kind of error; nothing else leaves it."""
    given = list(sys.argv[1:] if arguments is None else arguments)
    for variable in _THREADS:
        os.environ.setdefault(variable, "1")
    with _Replies():
        build(given)(given, prog_name="plainsale")


def build(arguments: Sequence[str]) -> typer.Typer:
    """Return the command line with the command that ``arguments`` name loaded, the others only listed."""
    chosen = next((word for word in arguments if not word.startswith("-")), None)
    app = typer.Typer(
        no_args_is_help=True, add_completion=False, pretty_exceptions_enable=False, rich_markup_mode="rich"
    )
    app.callback()(_plainsale)
    for name, entry in COMMANDS.items():
        if name == chosen:
            function: Callable[..., int] = getattr(import_module(entry.module), entry.function)
            app.command(name, help=_told_to_users(function))(_leaving_with_its_code(function))
        else:
            app.command(name, help=entry.summary)(_not_loaded)
    return app


def _print_version(wanted: bool) -> None:
    if wanted:
        typer.echo(f"plainsale {version('plainsale')}")
        raise typer.Exit(WELL)


def _plainsale(
    _version: Annotated[
        bool, typer.Option("--version", help="Print the version.", is_eager=True, callback=_print_version)
    ] = False,
) -> None:
    """Say what a damaged second-hand unit is worth, and write a listing that discloses every defect.

    Exit codes: 0 well, 2 usage, 3 findings or bad rows, 4 not found, 5 cannot fit or abstained, 70 our own
    fault. Errors go to the error output.
    """


def _told_to_users(function: Callable[..., int]) -> str:
    """Return a command's docstring without what it raises, which is for readers of the code."""
    return inspect.cleandoc(function.__doc__ or "").partition("\n\nRaises:")[0]


def _not_loaded() -> None:
    raise AssertionError("only listed, never run")


def _leaving_with_its_code(function: Callable[..., int]) -> Callable[..., None]:
    @functools.wraps(function)
    def _leave(*args: object, **options: object) -> None:
        raise typer.Exit(function(*args, **options))

    return _leave


class _Replies(AbstractContextManager[None]):
    """Turns every error into words on the error output and an exit code; a traceback goes to the log."""

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        if error is None or kind is None or not isinstance(error, Exception):
            return
        reply = reply_to(kind)
        if reply is OUR_FAULT and not isinstance(error, PlainsaleError):
            complain(record_fault(error, _log_folder()))
        else:
            complain(str(error), problems_of(error))
        raise SystemExit(reply.exit_code) from None


def _log_folder() -> Path:
    # By name and only here: what reads settings takes as long to load as all else that --help needs.
    settings = import_module("api.settings")
    try:
        return Path(settings.read_settings().home)
    except PlainsaleError:
        return Path.home() / ".plainsale"


if __name__ == "__main__":
    main()
