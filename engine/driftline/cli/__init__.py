"""The command line: one thin file a command over the library, and the only room that knows typer.

Owns words on the terminal, JSON documents and exit statuses; decides nothing about pixels, recipes or
git. Every error of the library is caught once, in :func:`main`. Read
:func:`~driftline.cli.application.main` and any one command file first.
"""

from driftline.cli.application import main

__all__ = ["main"]
