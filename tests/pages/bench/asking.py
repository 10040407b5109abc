"""Asking a bench in this process, as its own page would or as anybody else might."""

from __future__ import annotations

import asyncio
import json
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any
from urllib.parse import unquote

TOKEN, PORT = "a-token-of-the-tests", 8123
HOST = f"127.0.0.1:{PORT}"
PAGE = {"x-driftline": "bench", "origin": f"http://{HOST}"}


@dataclass(frozen=True)
class Answer:
    """What came back."""

    status: int
    headers: Mapping[str, str]
    content: bytes

    @property
    def text(self) -> str:
        """As text."""
        return self.content.decode()

    @property
    def json(self) -> Any:
        """As a document."""
        return json.loads(self.content)


class Asking:
    """A client of one bench that sends paths exactly as they are written; to be closed."""

    def __init__(self, application: Any) -> None:
        self._application = application
        self._runner = asyncio.Runner()
        self._turn = 0

    def close(self) -> None:
        """End the loop."""
        self._runner.close()

    def send(
        self, method: str, path: str, headers: Mapping[str, str] | None = None, body: bytes = b""
    ) -> Answer:
        """One request; ``host`` is the bench's own unless it is given."""
        given = {"host": HOST, "content-length": str(len(body)), **(headers or {})}
        return self._runner.run(self._send(method, path, given, body))

    def get(self, path: str, headers: Mapping[str, str] | None = None) -> Answer:
        """Ask for something below the token."""
        return self.send("GET", f"/{TOKEN}/{path}", headers)

    def post(self, path: str, **body: Any) -> Answer:
        """Ask as the page does."""
        self._turn += 1
        body = {"who": "w", "turn": self._turn, "window": "w", **body}
        return self.send("POST", f"/{TOKEN}/{path}", PAGE, json.dumps(body).encode())

    def state(self) -> dict[str, Any]:
        """The recipe as it stands."""
        found: dict[str, Any] = self.get("state").json
        return found

    def change(self, changes: dict[str, Any], *, window: str = "w", seen: int | None = None) -> Answer:
        """Change parameters from a window that has seen the newest revision, or an older one."""
        now = self.state()
        seen = now["revision"] if seen is None else seen
        return self.post(
            "change", recipe=now["recipe"], changes=changes, seen=seen, window=window, gesture=""
        )

    async def _send(self, method: str, path: str, headers: Mapping[str, str], body: bytes) -> Answer:
        raw, _, query = path.partition("?")
        scope = {
            "type": "http",
            "asgi": {"version": "3.0"},
            "http_version": "1.1",
            "method": method,
            "scheme": "http",
            "path": unquote(raw),
            "raw_path": raw.encode(),
            "query_string": query.encode(),
            "root_path": "",
            "headers": [(key.encode(), value.encode()) for key, value in headers.items()],
        }
        sent: list[Any] = []

        async def receive() -> dict[str, Any]:
            return {"type": "http.request", "body": body, "more_body": False}

        async def send(message: Any) -> None:
            sent.append(message)

        await self._application(scope, receive, send)
        start = next(message for message in sent if message["type"] == "http.response.start")
        content = b"".join(message.get("body", b"") for message in sent)
        return Answer(start["status"], {k.decode(): v.decode() for k, v in start["headers"]}, content)
