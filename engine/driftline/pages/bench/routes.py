"""The addresses of the bench: the page, its parts, the pictures, and what can be asked and done."""

from __future__ import annotations

import asyncio
from collections.abc import Callable, Mapping
from importlib.resources import files
from typing import Any, TypeVar

from starlette.applications import Starlette
from starlette.requests import Request
from starlette.responses import JSONResponse, Response
from starlette.routing import Route

from driftline.errors import UsageError
from driftline.pages.bench import deeds, past
from driftline.pages.bench.answering import Answer, asked_of, in_words, templates
from driftline.pages.bench.desk import Desk, titles
from driftline.pages.bench.edit import words_between
from driftline.pages.bench.lines import sheet
from driftline.pages.bench.preview import SMALL_EDGE, camera_picture, picture
from driftline.pages.bench.reading import drift_json, shares_json
from driftline.pages.bench.standing import LedgerStanding, standing_json
from driftline.recipe import Recipe, from_parameters, parameters

R = TypeVar("R")

_SCRIPTS = (
    *("bench", "causes", "deeds", "does", "field", "hues", "live"),
    *("scale", "sheet", "state", "thread", "track", "wire"),
)
PARTS: Mapping[str, str] = {
    "bench.css": "text/css",
    "icon.svg": "image/svg+xml",
    **{f"{name}.js": "text/javascript" for name in _SCRIPTS},
}
"""The files of the page; nothing else on the disk has an address."""


class Bench:
    """Answers what the page asks, for one desk."""

    def __init__(self, desk: Desk) -> None:
        self.desk = desk
        self._standing = LedgerStanding(desk.ledger)
        self._sheet = sheet()

    def application(self) -> Starlette:
        """The application, without a guard."""
        asked: dict[str, Answer] = {
            "/": self.page,
            "/state": self.state,
            "/past": self.past,
            "/ways": self.ways,
        }
        done: dict[str, Answer] = {
            "/change": self.change,
            "/undo": self.undo,
            "/redo": self.redo,
            "/write-over": self.write_over,
            "/open": self.open,
            "/pixels": self.pixels,
            "/drift": self.drift,
            "/shares": self.shares,
            "/compare": self.compare,
            "/save": self.save,
            "/take-in": self.take_in,
            "/fork": self.fork,
            "/restore": self.restore,
            "/softer": self.softer,
            "/take-softer": self.take_softer,
        }
        return Starlette(
            routes=[
                *(Route(path, in_words(answer), methods=["GET"]) for path, answer in asked.items()),
                *(Route(path, in_words(answer), methods=["POST"]) for path, answer in done.items()),
                Route("/camera/{place:int}", in_words(self.camera), methods=["GET"]),
                Route("/part/{name}", in_words(self.part), methods=["GET"]),
            ]
        )

    async def page(self, request: Request) -> Response:
        """The page itself."""
        text = templates().get_template("bench.html").render(recipe=self.desk.edit.name)
        return Response(text, media_type="text/html")

    async def part(self, request: Request) -> Response:
        """A stylesheet or script of the page."""
        name = request.path_params["name"]
        if name not in PARTS:
            return Response("nothing here", 404, media_type="text/plain")
        content = (files("driftline.pages.bench") / "templates" / name).read_bytes()
        return Response(content, media_type=PARTS[name])

    async def state(self, request: Request) -> Response:
        """The recipe as it stands, after a look at its file; nothing when the window knows it already."""
        found = await self._in("ledger", lambda: self._looked(request.query_params.get("known", "")))
        return Response(status_code=204) if found is None else JSONResponse(found)

    async def past(self, request: Request) -> Response:
        """Every version of the recipe."""
        name = self.desk.edit.name
        found = await self._in("ledger", lambda: past.versions_json(self.desk.ledger, name))
        return JSONResponse({"recipe": name, "versions": found})

    async def ways(self, request: Request) -> Response:
        """The way of each parameter through the versions."""
        name = self.desk.edit.name
        found = await self._in("shares", lambda: past.ways_json(self.desk.ledger, name))
        return JSONResponse({"recipe": name, **found})

    async def change(self, request: Request) -> Response:
        """Change parameters."""
        asked = await asked_of(request)
        edit = self.desk.edit
        if asked["recipe"] != edit.name:
            raise UsageError(
                "bench-other-recipe",
                f"another window opened {edit.name}; the change of {asked['recipe']} was not made",
                hint="open it again here",
            )
        clashes = await self._in(
            "ledger",
            lambda: edit.change(
                asked["changes"], seen=asked["seen"], window=asked["window"], gesture=asked["gesture"]
            ),
        )
        return await self._now(clashes=[clash.json() for clash in clashes])

    async def undo(self, request: Request) -> Response:
        """Go back one step."""
        asked = await asked_of(request)
        await self._in("ledger", lambda: self.desk.edit.undo(asked["window"]))
        return await self._now()

    async def redo(self, request: Request) -> Response:
        """Go on one step."""
        asked = await asked_of(request)
        await self._in("ledger", lambda: self.desk.edit.redo(asked["window"]))
        return await self._now()

    async def write_over(self, request: Request) -> Response:
        """Write what the page shows over a file that cannot be read."""
        asked = await asked_of(request)
        await self._in("ledger", lambda: self.desk.edit.write_over(asked["window"]))
        return await self._now()

    async def open(self, request: Request) -> Response:
        """Go on with another recipe."""
        asked = await asked_of(request)
        await self._in("ledger", lambda: self.desk.open(asked["recipe"]))
        return await self._now()

    async def pixels(self, request: Request) -> Response:
        """A frame with given parameters, or with those of a version, as JPEG."""
        asked = await asked_of(request)
        proof = self.desk.proof(asked["place"])
        check = self.desk.newest("pixels", asked["who"], asked["turn"])

        def made() -> bytes:
            check()
            edge = {"edge": SMALL_EDGE} if asked.get("small") else {}
            return picture(proof, self._recipe(asked), **edge)

        return Response(await self._in("pixels", made), media_type="image/jpeg")

    async def camera(self, request: Request) -> Response:
        """A frame as the camera made it."""
        proof = self.desk.proof(request.path_params["place"])
        content = await self._in("pixels", lambda: camera_picture(proof))
        if content is None:
            return JSONResponse({"problem": {"message": proof.camera_rendering_reason, "hint": ""}}, 404)
        return Response(content, media_type="image/jpeg")

    async def drift(self, request: Request) -> Response:
        """How far a frame with given parameters stands from the camera."""
        asked = await asked_of(request)
        checking = self.desk.checking(asked["place"])
        check = self.desk.newest("drift", asked["who"], asked["turn"])

        def measured() -> dict[str, Any]:
            check()
            past = self._standing.past(self.desk.edit.name)
            return drift_json(checking.check(self._recipe(asked)), checking.bands, past)

        return JSONResponse(await self._in("drift", measured))

    async def shares(self, request: Request) -> Response:
        """Which section moved a frame how far."""
        asked = await asked_of(request)
        checking = self.desk.checking(asked["place"])
        check = self.desk.newest("shares", asked["who"], asked["turn"])

        def measured() -> dict[str, Any]:
            check()
            recipe = self._recipe(asked)
            found = checking.shares(recipe, pause=check)
            check()
            return shares_json(found, checking.check(recipe))

        return JSONResponse(await self._in("shares", measured))

    async def compare(self, request: Request) -> Response:
        """Two versions beside one another."""
        asked = await asked_of(request)
        found = await self._in(
            "drift",
            lambda: deeds.compare(self.desk, a=asked["a"], b=asked["b"], place=asked["place"]),
        )
        return JSONResponse(found)

    async def save(self, request: Request) -> Response:
        """Save a version."""
        asked = await asked_of(request)
        saved = await self._in(
            "ledger", lambda: deeds.save(self.desk, note=asked["note"], keep=asked["keep"])
        )
        return await self._now(done=saved)

    async def take_in(self, request: Request) -> Response:
        """Save a file from outside as a new recipe."""
        asked = await asked_of(request)
        saved = await self._in(
            "ledger",
            lambda: deeds.take_in(self.desk, new=asked["new"], note=asked["note"], keep=asked["keep"]),
        )
        return await self._now(done=saved)

    async def fork(self, request: Request) -> Response:
        """Begin a new recipe."""
        asked = await asked_of(request)
        saved = await self._in("ledger", lambda: deeds.fork(self.desk, new=asked["new"], note=asked["note"]))
        return await self._now(done=saved)

    async def restore(self, request: Request) -> Response:
        """Make an old version the newest."""
        asked = await asked_of(request)
        saved = await self._in(
            "ledger", lambda: deeds.restore(self.desk, ref=asked["ref"], note=asked["note"])
        )
        return await self._now(done=saved)

    async def softer(self, request: Request) -> Response:
        """Find a softer recipe, to be looked at."""
        asked = await asked_of(request)
        check = self.desk.newest("softer", asked["who"], asked["turn"])
        found = await self._in(
            "shares",
            lambda: deeds.softer(
                self.desk, self._recipe(asked), verdict=asked["verdict"], along=asked["along"], check=check
            ),
        )
        return JSONResponse(found)

    async def take_softer(self, request: Request) -> Response:
        """Take a softer recipe as an edit."""
        asked = await asked_of(request)
        taken = await self._in(
            "ledger",
            lambda: deeds.take_softer(
                self.desk, self._recipe(asked), seen=asked["seen"], window=asked["window"]
            ),
        )
        return await self._now(**taken)

    def _recipe(self, asked: Mapping[str, Any]) -> Recipe:
        if "ref" in asked:
            return deeds.recipe_of(self.desk, asked["ref"])
        values = {
            path: tuple(value) if isinstance(value, list) else value
            for path, value in asked["values"].items()
        }
        return from_parameters(values)

    def _looked(self, known: str) -> dict[str, Any] | None:
        self.desk.edit.look()
        found = self._state()
        return None if found["known"] == known else found

    def _state(self) -> dict[str, Any]:
        edit = self.desk.edit
        standing = self._standing.now(edit.name)
        told = {**edit.json(), **standing_json(standing, content=edit.content)}
        known = (told["recipe"], told["revision"], bool(edit.problem), told["last"], told["unsaved"])
        return {
            **told,
            "known": ".".join(map(str, known)),
            "saved": parameters(standing.saved) if standing.saved else {},
            "changed": words_between(standing.saved, edit.recipe) if standing.saved else [],
            "frames": titles(self.desk.proofs),
            "beside": self.desk.beside,
            **self.desk.outside_json(),
            "sheet": self._sheet,
        }

    async def _now(self, **more: Any) -> Response:
        if "done" in more:
            self._standing.forget()
        return JSONResponse({**await self._in("ledger", self._state), **more})

    async def _in(self, kind: str, work: Callable[[], R]) -> R:
        return await asyncio.get_running_loop().run_in_executor(self.desk.worker(kind), work)
