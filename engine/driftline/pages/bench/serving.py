"""Serving the bench on the loopback address until it is stopped."""

from __future__ import annotations

import logging
import secrets
import socket
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

from driftline.errors import UsageError

if TYPE_CHECKING:
    from types import FrameType

    import uvicorn

    from driftline.ledger import Ledger
    from driftline.pages.bench.desk import Desk

LOOPBACK = "127.0.0.1"
_TOKEN_BYTES = 24
_PATIENCE_S = 2


def check_installed() -> None:
    """Refuse to begin without what the bench is served with.

    Raises
    ------
    UsageError
        ``bench-not-installed``.
    """
    try:
        import starlette  # noqa: F401, PLC0415
        import uvicorn  # noqa: F401, PLC0415
    except ImportError as error:
        raise UsageError(
            "bench-not-installed",
            f"the bench is served with {error.name}, which is not installed",
            hint="pip install 'driftline[bench]'",
        ) from error


def serve(
    ledger: Ledger,
    paths: Sequence[Path],
    recipe: str | None = None,
    *,
    port: int = 0,
    ready: Callable[[str], None],
) -> None:
    """Serve the bench on the loopback address until Ctrl-C.

    Parameters
    ----------
    ledger
        The ledger that is edited.
    paths
        Raw files to judge by.
    recipe
        The recipe to begin with; absent: the one that was saved last.
    port
        Where to listen; 0: any that is free.
    ready
        Called with the address as soon as it answers; the token in it is new each time.

    Raises
    ------
    UsageError
        ``bench-not-installed``, ``bench-port``, ``bench-too-many``.
    LedgerError, RecipeError
        There is no such recipe, or its working file cannot be read.
    """
    check_installed()
    from driftline.pages.bench.desk import Desk  # noqa: PLC0415
    from driftline.pages.bench.guards import Guard  # noqa: PLC0415
    from driftline.pages.bench.routes import Bench  # noqa: PLC0415

    desk = Desk(ledger, paths, recipe)
    listening = _listening(port)
    port = listening.getsockname()[1]
    token = secrets.token_urlsafe(_TOKEN_BYTES)
    guarded = Guard(Bench(desk).application(), token=token, port=port)
    server = _server(guarded, desk)
    ready(f"http://{LOOPBACK}:{port}/{token}/")
    try:
        server.run(sockets=[listening])
    except KeyboardInterrupt:  # the server has shut down; it passes the signal on
        pass
    finally:
        desk.close()
        listening.close()


def _server(application: Any, desk: Desk) -> uvicorn.Server:
    """What serves it; at Ctrl-C the work that was begun is given up, and what was asked for is not logged."""
    import uvicorn  # noqa: PLC0415

    class Server(uvicorn.Server):
        def handle_exit(self, sig: int, frame: FrameType | None) -> None:
            desk.close()
            logging.getLogger("uvicorn.error").setLevel(logging.CRITICAL)
            super().handle_exit(sig, frame)

    return Server(
        uvicorn.Config(
            application,
            lifespan="off",
            log_level="error",
            server_header=False,
            ws="none",
            timeout_graceful_shutdown=_PATIENCE_S,
        )
    )


def _listening(port: int) -> socket.socket:
    listening = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
    listening.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        listening.bind((LOOPBACK, port))
        listening.listen(64)
    except OSError as error:
        listening.close()
        raise UsageError(
            "bench-port", f"port {port}: {error.strerror or error}", hint="another --port, or none for any"
        ) from error
    return listening
