"""The application: every command, one catch for errors, the exit status."""

from __future__ import annotations

import sys
from collections.abc import Sequence
from importlib import import_module
from typing import Annotated

import typer

from driftline import __version__
from driftline.cli import say
from driftline.cli.helptext import HelpfulCommand, HelpfulGroup
from driftline.errors import DriftlineError

COMMANDS = (
    "demo",
    "init",
    "shoot",
    "set_aside",
    "check",
    "proof",
    "save",
    "apply",
    "correct",
    "history",
    "diff",
    "lineage",
    "restore",
    "fork",
    "blend",
    "temper",
    "reconcile",
    "trace",
    "page",
    "sheet",
    "bench",
    "learn",
)
"""In the order of a day's work; each is a module of this room with a function of its own name."""

STOPPED = 130
"""Exit status after Ctrl-C, as shells have it."""


def main(arguments: list[str] | None = None) -> None:
    """Run one command and leave with its exit status.

    0 done; 1 done, but some frames failed; 2 nothing done. No traceback for a user's mistake or a bad file.
    """
    sys.exit(run(sys.argv[1:] if arguments is None else arguments))


def run(arguments: list[str]) -> int:
    """Run one command and return its exit status, with errors printed to standard error."""
    say.any_text()
    try:
        program = _application(arguments)
        status = program(arguments or ["--help"], prog_name="driftline", standalone_mode=False)
    except DriftlineError as error:
        say.trouble(error.report())
        return error.exit_status
    except KeyboardInterrupt:
        status = STOPPED
    except OSError as error:
        return _refused(error)
    except Exception as error:
        return _usage(error, arguments)
    if status == STOPPED:
        say.trouble("stopped; what was finished is whole, and running it again does the rest")
    done = status if isinstance(status, int) else 0
    return done if arguments else 2


def _application(arguments: Sequence[str] = ()) -> typer.Typer:
    """The program; of its commands only the one that is asked for, if it is one: it starts 40 ms sooner."""
    app = typer.Typer(
        cls=HelpfulGroup, add_completion=False, rich_markup_mode=None, pretty_exceptions_enable=False
    )
    app.callback()(_driftline)
    asked = arguments[0].replace("-", "_") if arguments else ""
    for name in [asked] if asked in COMMANDS else COMMANDS:
        module = import_module(f"driftline.cli.{name}")
        app.command(name.replace("_", "-"), cls=HelpfulCommand)(getattr(module, name))
    return app


def _version(asked: bool) -> None:
    if asked:
        say.lines([f"driftline {__version__}"])
        raise typer.Exit


def _driftline(
    version: Annotated[
        bool, typer.Option("--version", callback=_version, is_eager=True, help="Say which driftline this is.")
    ] = False,
) -> None:
    """Keep raw-development looks as versions, and measure how far each goes from the camera's own picture.

    A look is a recipe: a small text file. A ledger is the folder that keeps its versions. Begin with:
    driftline demo, or driftline init looks.
    """


def _refused(error: OSError) -> int:
    """Exit status of what the system refused: no permission, a full disk, a folder where a file should be."""
    place = f"{error.filename}: " if error.filename else ""
    say.trouble(f"error [system-refused] {place}{error.strerror or error}")
    return 2


def _usage(error: Exception, arguments: Sequence[str]) -> int:
    """Exit status of wrong words on the command line; errors that are not meant for the user go on."""
    message = getattr(error, "format_message", None)
    if message is None:
        raise error
    context = getattr(error, "ctx", None)
    known = arguments and arguments[0].replace("-", "_") in COMMANDS
    command = context.command_path if context else f"driftline {arguments[0]}" if known else "driftline"
    told = str(message()).replace("Value error, ", "").partition(", unable to parse")[0]
    for kind, words in {"int": "whole number", "float": "number"}.items():
        told = told.replace(f"is not a valid {kind}", f"is not a {words}")
    say.trouble(f"error [usage] {told}\n  try: {command} --help")
    return 2
