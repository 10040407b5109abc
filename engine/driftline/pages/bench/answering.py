"""Answering the page: what is asked as an object, what is wrong in words, the page from its template."""

from __future__ import annotations

import json
from collections.abc import Awaitable, Callable
from typing import Any

from jinja2 import Environment, PackageLoader, StrictUndefined
from starlette.requests import Request
from starlette.responses import JSONResponse, Response

from driftline.errors import DriftlineError
from driftline.pages.bench.desk import OutdatedError

Answer = Callable[[Request], Awaitable[Response]]

_OUTDATED = 204


def in_words(answer: Answer) -> Answer:
    """The answer, or what is wrong in words; nothing when something newer was asked meanwhile."""

    async def answering(request: Request) -> Response:
        try:
            return await answer(request)
        except OutdatedError:
            return Response(status_code=_OUTDATED)
        except DriftlineError as error:
            problem = {"code": error.code, "message": error.message, "hint": error.hint}
            return JSONResponse({"problem": problem}, 409)
        except (KeyError, TypeError, ValueError) as error:
            problem = {"code": "bench-bad-request", "message": f"not understood: {error!r}", "hint": ""}
            return JSONResponse({"problem": problem}, 400)

    return answering


async def asked_of(request: Request) -> dict[str, Any]:
    """What a page asks for, an object."""
    asked = json.loads(await request.body())
    if not isinstance(asked, dict):
        raise TypeError("an object is expected")
    return asked


def templates() -> Environment:
    """The page's template; whatever is put into it is text."""
    return Environment(
        loader=PackageLoader("driftline.pages.bench"), autoescape=True, undefined=StrictUndefined
    )
