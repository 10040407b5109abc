"""A run: a look over many frames, in parallel, until each has its print or its reason."""

from __future__ import annotations

import os
import time
from collections.abc import Callable, Iterable, Mapping
from concurrent.futures import Executor, Future, as_completed
from pathlib import Path
from typing import Any

from driftline.batch.lock import run_lock
from driftline.batch.order import Decoding, Failed, Form, Job, Look, Printed, RunResult
from driftline.batch.plan import Corrections, Plan, frames_of, plan_run
from driftline.batch.pool import WorkerPool
from driftline.batch.task import print_frame
from driftline.errors import DriftlineError, PrintError, UsageError
from driftline.prints import sweep
from driftline.prints.encode import check_quality

Progress = Callable[[int, int], None]
"""Called with how many frames are done, and how many there are."""

Finished = Callable[[Printed], None]
"""Called with each print as soon as it is made."""


def run_batch(
    look: Look,
    frames: Iterable[str | os.PathLike[str]],
    out: str | os.PathLike[str],
    form: Form | None = None,
    *,
    refresh: bool = False,
    pinned: bool = True,
    bands: Mapping[str, tuple[float, float, float, float]] | None = None,
    decoding: Decoding | None = None,
    corrections: Corrections | None = None,
    likenesses: Mapping[str, str] | None = None,
    workers: int | None = None,
    pool: Executor | None = None,
    progress: Progress | None = None,
    finished: Finished | None = None,
) -> RunResult:
    """Print frames with one look.

    Parameters
    ----------
    look
        Recipe text and what the ledger calls it.
    frames
        Raw files and folders.
    out
        Output folder; made if it is not there.
    form
        Space, size, quality and what the prints may say.
    refresh
        Print anew what was printed with another version or in another form.
    pinned
        The version was asked for by its number; otherwise a print by an older version is left at that.
    bands
        Of drift, upwards and downwards notice and over; None: the usual ones.
    decoding
        What reading one raw file may cost.
    corrections
        Of single frames, by fingerprint.
    likenesses
        How cameras render: texts by name.
    workers
        How many processes; None: one a processor.
    pool
        Another executor to run on, which stays open: that of a cluster. Frames and prints are on a path that
        all its machines share.
    progress
        Told after each frame.
    finished
        Told of each print.

    Returns
    -------
    RunResult
        In the order of the frames, however they were finished.

    Raises
    ------
    DriftlineError
        Nothing can be done at all: no frames, no output folder, another run in it, a recipe that cannot be
        read. One frame's trouble is in the result instead.
    """
    start = time.monotonic()
    form = form or Form()
    check_form(form)
    wanted = frames_of(frames)
    folder = _output_folder(Path(out))
    with run_lock(folder):
        sweep(folder)
        plan = plan_run(
            wanted,
            look,
            form,
            folder,
            refresh=refresh,
            pinned=pinned,
            corrections=corrections,
            likenesses=likenesses,
        )
        limits = {"bands": bands, "decoding": decoding or Decoding()}
        plan.jobs = [job.model_copy(update=limits) for job in plan.jobs]
        outcomes = _run(plan, wanted, workers, pool, progress, finished)
    order = {str(frame): place for place, frame in enumerate(wanted)}
    return RunResult(
        prints=sorted((o for o in outcomes if isinstance(o, Printed)), key=lambda o: order[o.frame]),
        failed=sorted(
            [*plan.failed, *(o for o in outcomes if isinstance(o, Failed))], key=lambda o: order[o.frame]
        ),
        there=plan.there,
        older=plan.older,
        seconds=round(time.monotonic() - start, 3),
    )


def check_form(form: Form) -> None:
    """Refuse a size or quality that makes no sense."""
    check_quality(form.quality)
    if form.long_edge is not None and not 16 <= form.long_edge <= 65_500:
        raise UsageError(
            "size-out-of-range", f"size {form.long_edge}; allowed 16 to 65500 pixels", hint="2048"
        )


def _run(
    plan: Plan,
    frames: list[Path],
    workers: int | None,
    pool: Executor | None,
    progress: Progress | None,
    finished: Finished | None,
) -> list[Printed | Failed]:
    done = len(frames) - len(plan.jobs)
    if progress:
        progress(done, len(frames))
    if not plan.jobs:
        return []
    own = None if pool else WorkerPool(min(workers or os.cpu_count() or 1, len(plan.jobs)))
    executor = pool or own
    assert executor is not None
    outcomes: list[Printed | Failed] = []
    try:
        futures = {executor.submit(print_frame, _anywhere(job)): job for job in plan.jobs}
        for future in as_completed(futures):
            outcome = _outcome(future, futures[future])
            outcomes.append(outcome)
            if finished and isinstance(outcome, Printed):
                finished(outcome)
            if progress:
                progress(done + len(outcomes), len(frames))
    except BaseException:
        if own:
            own.kill()
        raise
    if own:
        own.shutdown()
    return outcomes


def _anywhere(job: Job) -> dict[str, Any]:
    """A job in JSON that means the same in whatever folder a worker was started."""
    places = {"frame": job.frame.absolute(), "target": job.target.absolute()}
    return job.model_copy(update=places).model_dump(mode="json")


def _outcome(future: Future[dict[str, object]], job: Job) -> Printed | Failed:
    try:
        told = {**future.result(), "frame": str(job.frame), "path": str(job.target)}
        return Printed.model_validate(told)
    except DriftlineError as error:
        if error.code == "frame-missing" and job.frame.exists():
            return _unseen(job)
        reason = error.message.replace(str(job.frame.absolute()), str(job.frame))
        return Failed(frame=str(job.frame), code=error.code, reason=reason, hint=error.hint)
    except Exception as error:  # an executor of others may fail in ways of its own
        return Failed(frame=str(job.frame), code="worker-lost", reason=f"{type(error).__name__}: {error}")


def _unseen(job: Job) -> Failed:
    """A frame that is here, but not where it was to be printed: a machine that joined a cluster later."""
    return Failed(
        frame=str(job.frame),
        code="path-not-shared",
        reason=f"{job.frame}: there is such a file here, but not on the machine that was to print it",
        hint="frames and output folder on a path that all machines share",
    )


def _output_folder(out: Path) -> Path:
    out = out.expanduser()
    try:
        out.mkdir(parents=True, exist_ok=True)
    except FileExistsError:
        raise PrintError(
            "output-not-a-folder", f"{out}: a file stands there", hint="the name of a folder"
        ) from None
    except OSError as error:
        raise PrintError(
            "cannot-write", f"{out}: {error.strerror or error}", hint="a folder that can be written to"
        ) from error
    if not os.access(out, os.W_OK | os.X_OK):
        raise PrintError("cannot-write", f"{out}: no permission to write", hint="another output folder")
    return out
