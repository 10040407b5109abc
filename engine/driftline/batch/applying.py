"""Apply a ledger's recipe to a batch, and write down in the ledger what was printed."""

from __future__ import annotations

import os
from collections.abc import Iterable, Mapping
from concurrent.futures import Executor
from contextlib import AbstractContextManager, nullcontext, suppress
from datetime import datetime
from pathlib import Path
from typing import Any

from driftline.batch.cluster import cluster
from driftline.batch.index import open_index
from driftline.batch.measured import MeasuredPrints
from driftline.batch.order import Decoding, Form, Kept, Look, Printed, RunResult
from driftline.batch.purposes import purpose_settings
from driftline.batch.recorded import marks
from driftline.batch.run import Progress, run_batch
from driftline.batch.scan import learn
from driftline.drift import bands_from
from driftline.errors import DriftlineError, UsageError
from driftline.ledger import Ledger
from driftline.ledger.settings import Settings
from driftline.prints import Space
from driftline.recipe import parse_recipe, read_text


def apply(
    ledger: Ledger | None,
    recipe: str | os.PathLike[str],
    frames: Iterable[str | os.PathLike[str]],
    out: str | os.PathLike[str],
    *,
    purpose: str | None = None,
    size: int | None = None,
    quality: int | None = None,
    space: Space | None = None,
    workers: int | None = None,
    refresh: bool = False,
    keep_location: bool = False,
    recipe_in_print: bool = False,
    scheduler: str | None = None,
    progress: Progress | None = None,
    pool: Executor | None = None,
) -> RunResult:
    """Print frames with a recipe.

    Parameters
    ----------
    ledger
        Holds the recipe, the settings, and the record of what was printed. None only with a recipe file.
    recipe
        ``tram-fog`` (its last saved version; frames printed with an older one are left at that unless
        `refresh`), ``tram-fog@7``, or a file, whose text is then put into each print.
    frames
        Raw files and folders of them.
    out
        Output folder; made if it is not there.
    purpose
        What the prints are for: ``display``, ``feed``, ``portfolio``, ``lab``, ``archive``, or one of the
        ledger's settings. What is given besides comes first.
    size
        Longer side in pixels; None: as the purpose says, else each frame's own.
    quality
        JPEG quality, 1 … 100; None: as the purpose says, else 92.
    space
        ``srgb`` or ``display-p3``; None: as the purpose says, else sRGB.
    workers
        Processes; None: as the ledger's settings say, else one a processor.
    refresh
        Print anew what was printed with another version, in another form or saying something else.
    keep_location
        Keep where the frame was taken in the print.
    recipe_in_print
        Put the recipe's text into each print, so that it can be made again without the ledger.
    scheduler
        Address of a cluster's scheduler, ``tcp://host:8786``, to run there instead; frames and output folder
        are on a path that its machines share.
    progress
        Told after each frame how many are done, and how many there are.
    pool
        An executor to run on, which stays open.

    Returns
    -------
    RunResult
        Prints, failures, what was there already; a frame's failure is in it and stops nothing.

    Raises
    ------
    DriftlineError
        Nothing can be done at all: no such version, no frames, no output folder, another run in it.
    """
    look, pinned = look_of(ledger, recipe)
    settings = ledger.settings() if ledger else Settings()
    given = {"long_edge": size, "quality": quality, "space": space, "keep_location": keep_location}
    form = form_of(settings, purpose, {**given, "recipe_in_print": recipe_in_print or look.ref is None})
    limits, bands = settings.limits, _bands(settings.bands)
    wanted = [_everywhere(frame) if scheduler else Path(frame) for frame in frames]
    folder = _everywhere(out) if scheduler else Path(out)
    with _running_on(scheduler, pool, [*wanted, folder]) as executor, open_index(ledger) as index:
        measured = MeasuredPrints(index, bands)
        result = run_batch(
            look,
            wanted,
            folder,
            form,
            refresh=refresh,
            pinned=pinned,
            bands=bands,
            decoding=Decoding(seconds=limits.decode_seconds, megabytes=limits.decode_megabytes),
            corrections=ledger.correction if ledger and _has_corrections(ledger) else None,
            likenesses=_likenesses(ledger),
            workers=workers or limits.workers,
            pool=executor,
            progress=progress,
            finished=measured.keep,
        )
        result = measured.recalled(result)
    if ledger is None:
        return result
    unrecorded = record(ledger, result)
    _learn(ledger, result)
    return result.model_copy(update={"unrecorded": unrecorded})


def _learn(ledger: Ledger, result: RunResult) -> None:
    """What was read for the prints, the next look at the shoot need not read."""
    known = {Path(one.frame): (one.quick, one.making.fingerprint) for one in result.prints}
    known |= {Path(one.frame): (one.quick, one.fingerprint) for one in [*result.there, *result.older]}
    with suppress(DriftlineError, OSError), open_index(ledger) as index:
        learn(index, known)


def look_of(ledger: Ledger | None, recipe: str | os.PathLike[str]) -> tuple[Look, bool]:
    """What a recipe argument means, and whether its version was asked for by number.

    Raises
    ------
    DriftlineError
        No such recipe or version, a text that is no recipe, or a name without a ledger.
    """
    asked = os.fspath(recipe)
    if asked.endswith(".toml") or "/" in asked:
        path = Path(asked).expanduser()
        text = read_text(path)
        return Look(name=parse_recipe(text, source=str(path)).name or path.stem, text=text), True
    if ledger is None:
        raise UsageError(
            "no-ledger", f"{asked}: a recipe's name means nothing without a ledger", hint="a recipe file"
        )
    version = ledger.version(asked)
    look = Look(name=version.recipe, text=ledger.text(version.ref), ref=version.ref, commit=version.commit)
    return look, "@" in asked


def form_of(settings: Settings, purpose: str | None, given: Mapping[str, Any]) -> Form:
    """How the prints shall be: what is given, then what the purpose says, then the settings."""
    own = {name: one.model_dump(exclude_none=True) for name, one in settings.purposes.items()}
    chosen = dict(purpose_settings(purpose, own)) if purpose else {}
    chosen.update({name: value for name, value in given.items() if value is not None})
    chosen.update(purpose=purpose, name_parts=settings.file_name, **settings.credit.model_dump())
    return Form(**{name: value for name, value in chosen.items() if name in Form.model_fields})


def record(ledger: Ledger, result: RunResult) -> str:
    """Write down in the ledger which prints there are now, those that a killed run left unrecorded too.

    Returns
    -------
    str
        Why it could not be written, or nothing. The prints are made; the next run records them.
    """
    lines = [_line(one.making.fingerprint, one) for one in result.prints]
    lines += [_line(one.fingerprint, one) for one in result.there]
    try:
        known = {_identity(record.line) for record in ledger.printed()}
        new = [line for line in lines if line["ref"] and _identity(line) not in known]
        if new:
            now = datetime.now().astimezone()
            ledger.record_run(now.year, f"{now:%m%d-%H%M%S}-{os.getpid()}", new)
    except DriftlineError as error:
        return error.report()
    return ""


def _line(fingerprint: str, one: Printed | Kept) -> dict[str, Any]:
    """One print in the record: the frame by content, the version, and what files and shoot were called."""
    ref = one.making.ref if isinstance(one, Printed) else one.ref
    frame = Path(one.frame).absolute()
    return {
        "frame": fingerprint,
        **marks(frame, one.quick),
        "ref": ref,
        "name": frame.name,
        "shoot": frame.parent.name,
        "print": Path(one.path).name,
    }


def _identity(line: Mapping[str, Any]) -> tuple[Any, ...]:
    return tuple(line.get(key) for key in ("frame", "ref", "print"))


def _has_corrections(ledger: Ledger) -> bool:
    """Whether any frame has one: only then are all frames read for their fingerprints."""
    return (ledger.path / "corrections").is_dir()


def _likenesses(ledger: Ledger | None) -> dict[str, str]:
    names = ledger.likenesses() if ledger else []
    return {name: text for name in names if ledger and (text := ledger.likeness(name)) is not None}


def _running_on(
    scheduler: str | None, pool: Executor | None, paths: Iterable[Path]
) -> AbstractContextManager[Executor | None]:
    """The cluster, if its workers see what is here of these paths; else the executor that was given."""
    if not scheduler:
        return nullcontext(pool)
    here = (next(place for place in (path, *path.parents) if place.exists()) for path in paths)
    return cluster(scheduler, here)


def _everywhere(path: str | os.PathLike[str]) -> Path:
    """A path that means the same from any working folder."""
    return Path(path).expanduser().absolute()


def _bands(settings: Any) -> dict[str, tuple[float, float, float, float]]:
    return {key: (*band.limits(1.0), *band.limits(-1.0)) for key, band in bands_from(settings).items()}
