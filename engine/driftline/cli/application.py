"""The application: every command, one catch for errors, the exit status."""

from __future__ import annotations

import sys
from importlib import import_module

import typer

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
    "history",
    "diff",
    "lineage",
    "restore",
    "fork",
    "blend",
    "trace",
    "page",
)
"""In the order of a day's work; each is a module of this room with a function of its own name."""

app = typer.Typer(
    name="driftline",
    help="Versions, lineage and drift of raw-development recipes.",
    no_args_is_help=True,
    add_completion=False,
    rich_markup_mode=None,
    pretty_exceptions_enable=False,
)


def main(arguments: list[str] | None = None) -> None:
    """Run one command and leave with its exit status.

    0 done; 1 done, but some frames failed; 2 nothing done. No traceback for a user's mistake or a bad file.
    """
    sys.exit(run(sys.argv[1:] if arguments is None else arguments))


def run(arguments: list[str]) -> int:
    """Run one command and return its exit status, with errors printed to standard error."""
    for name in COMMANDS:
        module = import_module(f"driftline.cli.{name}")
        app.command(name.replace("_", "-"))(getattr(module, name))
    try:
        status = app(arguments, prog_name="driftline", standalone_mode=False)
    except DriftlineError as error:
        print(error.report(), file=sys.stderr)
        return error.exit_status
    except KeyboardInterrupt:
        print("stopped; what was finished is whole, running again does the rest", file=sys.stderr)
        return 130
    except Exception as error:
        return _usage(error)
    return status if isinstance(status, int) else 0


def _usage(error: Exception) -> int:
    """Exit status of typer's own signals and of wrong words on the command line; other errors go on."""
    if isinstance(error, typer.Exit):
        return int(error.exit_code)
    message = getattr(error, "format_message", None)
    if message is None:
        raise error
    print(f"error [usage] {message()}", file=sys.stderr)
    context = getattr(error, "ctx", None)
    command = context.command_path if context else "driftline"
    print(f"  try: {command} --help", file=sys.stderr)
    return 2
