"""How far a batch is, on the terminal."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager


@contextmanager
def progress_bar(*, quiet: bool, doing: str = "developing") -> Iterator[Callable[[int, int], None] | None]:
    """A bar on the terminal while frames are developed; nothing when the output is no terminal."""
    if quiet or not sys.stderr.isatty():
        yield None
        return
    from rich.console import Console  # noqa: PLC0415
    from rich.progress import Progress  # noqa: PLC0415

    with Progress(console=Console(stderr=True), transient=True) as bar:
        task = bar.add_task(doing, total=None)
        yield lambda done, total: bar.update(task, completed=done, total=total)
