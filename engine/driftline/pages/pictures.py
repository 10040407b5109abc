"""The pictures of the pages: proofs developed from what the ledger keeps; the raw disk may be away."""

from __future__ import annotations

import io
from collections.abc import Callable, Sequence
from contextlib import suppress
from functools import lru_cache
from pathlib import Path
from typing import TYPE_CHECKING, Any

from driftline.errors import DriftlineError, FrameError
from driftline.pages.later import LaterReadings, edition_of

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from driftline.ledger import Ledger
    from driftline.pages.story import Marks, Print
    from driftline.pipeline import KeptFrame

LONG_EDGE = 720
QUALITY = 86


class ProofPictures:
    """Gives a version's rendering of a kept proof, or a proof's camera rendering, as JPEG bytes.

    Called with a ref and a fingerprint; None for the ref is the camera rendering.
    """

    def __init__(self, ledger: Ledger) -> None:
        self._ledger = ledger
        self._frame = lru_cache(maxsize=4)(self._open)

    def __call__(self, ref: str | None, fingerprint: str) -> bytes:
        """The picture as JPEG.

        Raises
        ------
        DriftlineError
            The proof is not kept, damaged or without a camera rendering, or the version cannot be read.
        """
        frame = self._frame(fingerprint)
        return _jpeg(_camera(frame) if ref is None else self._edit(frame, ref))

    def marks(self, ref: str, fingerprint: str) -> Marks:
        """Where a version's rendering of a kept proof differs from the camera rendering.

        Raises
        ------
        DriftlineError
            As when called.
        """
        from driftline.drift import difference_marks  # noqa: PLC0415  loaded where it is needed
        from driftline.drift.where import NAMES  # noqa: PLC0415
        from driftline.pages.story import Marks  # noqa: PLC0415

        found = difference_marks(self._frame(fingerprint), self._ledger.read(ref))
        return Marks(
            shape=found.shape,
            part=found.part,
            size=found.size,
            squares=tuple((r, c, NAMES[kind], amount) for r, c, kind, amount in found.squares),
            against=f"the {found.against}" if found.against == "camera rendering" else found.against,
        )

    def names(self) -> dict[str, str]:
        """The frame's own name of every kept proof, by fingerprint; those of damaged ones are left out."""
        from driftline.pipeline import kept_name  # noqa: PLC0415  loaded where it is needed

        found = {}
        for fingerprint in self._ledger.kept_proofs():
            with suppress(DriftlineError):
                found[fingerprint] = kept_name(self._ledger.read_proof(fingerprint))
        return found

    def edition(self) -> str:
        """What pictures depend on besides recipe and proof: the pipeline's edition and the likenesses."""
        return edition_of(self._ledger)

    def _open(self, fingerprint: str) -> KeptFrame:
        from driftline.drift import kept_frame  # noqa: PLC0415  loaded where it is needed

        return kept_frame(self._ledger, fingerprint)

    def _edit(self, frame: KeptFrame, ref: str) -> NDArray[Any]:
        from driftline.drift import render  # noqa: PLC0415  loaded where it is needed

        return render(frame, self._ledger.read(ref), long_edge=LONG_EDGE, depth=8)


def _camera(frame: KeptFrame) -> NDArray[Any]:
    from driftline.colorimetry.encodings import srgb_decode, srgb_encode  # noqa: PLC0415
    from driftline.stages.resize import fit, resize  # noqa: PLC0415

    rendering = frame.camera_rendering()
    if rendering is None:
        why = frame.camera_rendering_reason
        raise FrameError("no-picture", f"no camera rendering: {why}", hint="a proof with one, to measure on")
    height, width = fit(rendering.shape[0], rendering.shape[1], LONG_EDGE)
    small: NDArray[Any] = srgb_encode(resize(srgb_decode(rendering), height=height, width=width))
    return (small * 255 + 0.5).astype("uint8")


def _jpeg(pixels: NDArray[Any]) -> bytes:
    from PIL import Image  # noqa: PLC0415  loaded where it is needed

    file = io.BytesIO()
    Image.fromarray(pixels).save(file, "jpeg", quality=QUALITY)
    return file.getvalue()


def ledger_page(
    ledger: Ledger,
    out: Path,
    *,
    prints: Sequence[Print] = (),
    progress: Callable[[int, int], None] | None = None,
) -> Path:
    """Write the pages of a ledger's history, with pictures of its kept proofs.

    Versions are measured on proofs that were chosen after they were saved; see
    :class:`~driftline.pages.later.LaterReadings`.

    Parameters
    ----------
    ledger
        What is told.
    out
        Folder of the pages; only what changed is made anew.
    prints
        Prints to show on the first page.
    progress
        Told how many versions of how many are done: first measured, then written.

    Returns
    -------
    Path
        The first page.
    """
    from driftline.pages.build import build_page  # noqa: PLC0415
    from driftline.pages.telling import story_of  # noqa: PLC0415

    pictures = ProofPictures(ledger)
    later = LaterReadings(ledger, pictures.edition())
    later.measure(progress=progress)
    story = story_of(
        ledger,
        later=later.found,
        pictures=pictures,
        marks=pictures.marks,
        names=pictures.names(),
        edition=pictures.edition(),
        prints=prints,
    )
    return build_page(out, story, progress=progress)
