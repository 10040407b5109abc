"""Who may speak to the bench: only the page it served, on this machine, with the token in its address."""

from __future__ import annotations

import hmac
from collections.abc import Awaitable, Callable, MutableMapping
from typing import Any

from starlette.datastructures import Headers
from starlette.responses import PlainTextResponse

Scope = MutableMapping[str, Any]
Receive = Callable[[], Awaitable[MutableMapping[str, Any]]]
Send = Callable[[MutableMapping[str, Any]], Awaitable[None]]
App = Callable[[Scope, Receive, Send], Awaitable[None]]

LARGEST_BODY = 256 * 1024
HEADERS = {
    "content-security-policy": (
        "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' blob:; connect-src 'self';"
        " base-uri 'none'; form-action 'none'; frame-ancestors 'none'"
    ),
    "cross-origin-opener-policy": "same-origin",
    "cross-origin-resource-policy": "same-origin",
    "referrer-policy": "no-referrer",
    "x-content-type-options": "nosniff",
    "cache-control": "no-store",
}


class Guard:
    """Lets a request through to the application, or refuses it before anything is looked up.

    A request must name the loopback address and the bench's own port as its host (so that a name elsewhere
    that was made to lead here is refused), come from no other origin, and carry the token as the first part
    of its path. What comes back is for this page alone.

    Parameters
    ----------
    application
        What is guarded; its paths have no token.
    token
        The first part of every path.
    port
        Where the bench listens.
    """

    def __init__(self, application: App, *, token: str, port: int) -> None:
        self._application = application
        self._token = token
        self._hosts = {f"127.0.0.1:{port}", f"localhost:{port}"}
        self._origins = {f"http://{host}" for host in self._hosts}

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer one request."""
        if scope["type"] != "http":
            await self._application(scope, receive, send)
            return
        refused = self._refusal(scope)
        if refused:
            await PlainTextResponse(refused[1], refused[0], headers=HEADERS)(scope, receive, send)
            return
        inner = {**scope, "path": scope["path"].removeprefix(f"/{self._token}"), "raw_path": b""}
        await self._application(inner, receive, _with_headers(send))

    def _refusal(self, scope: Scope) -> tuple[int, str] | None:
        headers = Headers(scope=scope)
        if headers.get("host", "") not in self._hosts:
            return 421, "not this host"
        origin = headers.get("origin")
        if origin is not None and origin not in self._origins:
            return 403, "not this origin"
        if headers.get("sec-fetch-site", "none") not in ("none", "same-origin"):
            return 403, "not from another site"
        if scope["method"] not in ("GET", "HEAD") and headers.get("x-driftline") != "bench":
            return 403, "not from the page"
        first = scope["path"].removeprefix("/").partition("/")[0]
        if not hmac.compare_digest(first.encode("utf-8", "replace"), self._token.encode()):
            return 404, "nothing here"
        try:
            too_large = int(headers.get("content-length", "0")) > LARGEST_BODY
        except ValueError:
            too_large = True
        chunked = "transfer-encoding" in headers
        return (413, "too large") if too_large or chunked else None


def _with_headers(send: Send) -> Send:
    async def sending(message: MutableMapping[str, Any]) -> None:
        if message["type"] == "http.response.start":
            added = [(name.encode(), value.encode()) for name, value in HEADERS.items()]
            message = {**message, "headers": [*message.get("headers", ()), *added]}
        await send(message)

    return sending
