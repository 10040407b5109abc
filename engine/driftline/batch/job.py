"""One frame to one print: what a worker does, wherever it runs."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from typing import Any

import numpy as np
from numpy.typing import NDArray

from driftline.batch.asked import correction_of, likeness_among, making_of, recipe_of
from driftline.batch.location import location_of
from driftline.batch.order import Decoding, Job, Printed
from driftline.colorimetry.encodings import srgb_decode
from driftline.colorimetry.primaries import SRGB_LUMINANCE
from driftline.drift import anchor_ev, forget
from driftline.drift.anchoring import MEASURING_EDGE
from driftline.drift.checking import Checked, check_picture, edit_of
from driftline.drift.grid import Light
from driftline.errors import PrintError
from driftline.frames.child import Limits, set_limits
from driftline.pipeline import Frame, open_frame
from driftline.pipeline.developing import WORKING_RATIO
from driftline.pipeline.memory import keep_freed
from driftline.prints import (
    Credit,
    Provenance,
    decoder_name,
    developed,
    encode_print,
    glance,
    pixel_digest,
    write_file,
)

_limits = Limits()
_BLACK = 2.0**-9  # deeper shadows count no more than this


def print_frame(job: dict[str, Any]) -> dict[str, Any]:
    """Make one print; a job and its result in JSON, so that it can be called from anywhere.

    A job that is done once more (a cluster may do that, when a machine was lost) finds its print and is done.

    Raises
    ------
    DriftlineError
        The frame cannot be developed, or the print cannot be written; nothing is left behind then.
    """
    keep_freed()
    asked = Job.model_validate(job)
    _limit(asked.decoding)
    frame = open_frame(asked.frame)
    recipe = recipe_of(asked.look)
    frame.likeness = likeness_among(asked.likenesses, frame)
    frame.pairing_facts()  # what the decoder says soon; behind the sensor values the rendering would wait
    # The measuring and the digests are done beside the developing: the print waits for none of them.
    with ThreadPoolExecutor(1, thread_name_prefix="beside") as beside:
        mosaic = beside.submit(_mosaic_digest, frame)
        fingerprint = beside.submit(frame.fingerprint)
        ev = anchor_ev(frame)
        edit = edit_of(frame, recipe)
        making = making_of(
            fingerprint.result(),
            asked.look,
            recipe,
            asked.form,
            correction=asked.correction,
            likeness=frame.likeness,
        )
        correction = correction_of(asked.correction, asked.frame)
        pixels = developed(frame, recipe, making, anchor_ev=ev, correction=correction)
        frame.let_go()
        judging = beside.submit(_judged, frame, edit, asked.bands)
        told = Provenance(
            making=making,
            frame=asked.frame.name,
            quick=frame.quick_fingerprint(),
            commit=asked.look.commit,
            anchor_ev=ev,
            decoder=decoder_name(),
            mosaic=mosaic.result(),
            recipe_text=asked.look.text if asked.form.recipe_in_print else None,
        )
        content, told = _encoded(asked, frame, pixels, told)
        judged = judging.result()
    _write(asked, content, told)
    printed = Printed(
        frame=str(asked.frame),
        path=str(asked.target),
        verdict=judged.verdict,
        largest=judged.largest,
        anchor_ev=ev,
        floor_ev=judged.causes["exposure"].floor,
        midtone_ev=midtone_ev(pixels),
        making=making,
        quick=told.quick,
        replaced=asked.replace,
    )
    return printed.model_dump(mode="json")


def _mosaic_digest(frame: Frame) -> str:
    """Of the sensor values, once they are decoded and reduced: until then no processor is idle."""
    frame.developable(long_edge=WORKING_RATIO * MEASURING_EDGE)
    return pixel_digest(frame.sensor().values)


def _judged(frame: Frame, edit: Light, bands: Any) -> Checked:
    """The verdict; what it was measured with is let go."""
    try:
        return check_picture(frame, edit, bands=bands)
    finally:
        forget(frame)


def _encoded(asked: Job, frame: Frame, pixels: NDArray[Any], told: Provenance) -> tuple[bytes, Provenance]:
    return encode_print(
        pixels,
        provenance=told,
        exposure=frame.exposure(),
        credit=Credit(asked.form.creator, asked.form.rights, asked.form.caption),
        location=location_of(asked.frame) if asked.form.keep_location else None,
    )


def _write(asked: Job, content: bytes, told: Provenance) -> None:
    try:
        write_file(asked.target, content, replace=asked.replace)
    except PrintError as error:
        there = glance(asked.target) if error.code == "print-exists" else None
        if there is None or (there.making, there.pixels) != (told.making, told.pixels):
            raise


def _limit(decoding: Decoding) -> None:
    """Set the decoder's limits, unless they are set like that already: a change costs a new decoder."""
    limits = Limits(seconds=decoding.seconds, memory_bytes=decoding.megabytes << 20)
    global _limits  # noqa: PLW0603 (this process's decoder has them, too)
    if limits != _limits:
        set_limits(limits)
        _limits = limits


def midtone_ev(pixels: NDArray[Any]) -> float:
    """Where the geometric mean of a print's luminance stands about middle grey, EV.

    Parameters
    ----------
    pixels
        (H, W, 3) encoded, uint8 or uint16; every few pixels are looked at.
    """
    step = max(1, min(pixels.shape[:2]) // 200)
    few = pixels[::step, ::step].astype(np.float64) / np.iinfo(pixels.dtype).max
    luminance = srgb_decode(few) @ SRGB_LUMINANCE
    return round(float(np.log2(np.maximum(luminance, _BLACK) / 0.18).mean()), 3)
