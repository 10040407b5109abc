"""A frame on the bench: decoded once, then held at the two sizes that are asked for again and again."""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Callable
from functools import cached_property
from pathlib import Path
from threading import RLock

import numpy as np
from numpy.typing import NDArray

from driftline.arrays import CameraRGB, EncodedRGB, Matrix
from driftline.drift import frame_in
from driftline.ledger import Ledger
from driftline.pipeline import Frame
from driftline.pipeline.compiled import decode
from driftline.pipeline.lens import taken_with
from driftline.recipe import Likeness
from driftline.stages.resize import fit, resize

PREVIEW_EDGE = 1500
"""The longer side of a picture on the bench: 1.5 megapixels of a 3:2 frame."""
_RENDERING_EDGE = 2000
_KEPT = 6


class LastOpened:
    """The full frame that was decoded last: a frame of 24 megapixels takes a third of a gigabyte."""

    def __init__(self) -> None:
        self._lock = RLock()
        self._kept: tuple[Path, Frame] | None = None

    def frame(self, path: Path, opened: Callable[[], Frame]) -> Frame:
        """The frame of a path, opened now if it is not the last one."""
        with self._lock:
            if self._kept is None or self._kept[0] != path:
                self._kept = path, opened()
            return self._kept[1]

    def drop(self) -> None:
        """Let it go."""
        with self._lock:
            self._kept = None


class BenchProof:
    """One of the frames a look is judged by; develops and measures like any frame.

    The full frame is let go once it has been reduced, so that a dozen of them fit into memory. It is decoded
    again only for another amount of colour noise to take out.

    Parameters
    ----------
    ledger
        Whose likenesses are used.
    path
        The raw file.
    opened
        Where the frame that was decoded last is kept; one for all the proofs of a bench.
    """

    def __init__(self, ledger: Ledger, path: Path, opened: LastOpened | None = None) -> None:
        self.path = path
        self.likeness: Likeness | None = None
        self._ledger = ledger
        self._lock = RLock()
        self._last = opened or LastOpened()
        self._reduced: OrderedDict[tuple[float, int | None], CameraRGB] = OrderedDict()
        self._rendering: NDArray[np.uint8] | None = None
        self._facts: tuple[Matrix, str, str, tuple[int, int], tuple[float, float], str] | None = None

    @property
    def camera_to_srgb(self) -> Matrix:
        """(3, 3) balanced camera RGB to linear sRGB."""
        return self._known()[0]

    @property
    def white_problem(self) -> str:
        """Why there is no valid as-shot white, or ''."""
        return self._known()[1]

    @property
    def camera_rendering_reason(self) -> str:
        """Where the camera rendering comes from, or why there is none."""
        return self._known()[2]

    def size(self) -> tuple[int, int]:
        """Height and width of the frame, upright, no larger than the bench shows it."""
        height, width = self._known()[3]
        return fit(height, width, PREVIEW_EDGE)

    def light(self) -> tuple[float, float]:
        """CCT in kelvin and Duv of the light that the balance makes neutral."""
        return self._known()[4]

    def fingerprint(self) -> str:
        """SHA-256 of the raw file."""
        return self._known()[5]

    def taken_with(self) -> tuple[str, float | None]:
        """Name of the lens and focal length, for its distortion and falloff."""
        return self._lens

    @cached_property
    def _lens(self) -> tuple[str, float | None]:
        return taken_with(Frame(self.path))

    def camera_rendering(self, max_edge: int | None = None) -> EncodedRGB | None:
        """The camera's own picture, encoded sRGB, at measuring size."""
        self._known()
        if self._rendering is None:
            return None
        return self._rendering.astype(np.float32) / np.float32(255)

    def camera_light(self, max_edge: int | None = None) -> NDArray[np.float32] | None:
        """The same in linear sRGB."""
        rendering = self.camera_rendering(max_edge)
        return None if rendering is None else decode(rendering)

    def developable(self, *, chroma_noise: float = 0.0, long_edge: int | None = None) -> CameraRGB:
        """Camera RGB, reduced; without ``long_edge`` at the size of the preview.

        Raises
        ------
        FrameError
            The frame cannot be decoded.
        """
        edge = min(long_edge or PREVIEW_EDGE, _RENDERING_EDGE)
        with self._lock:
            key = (chroma_noise, edge)
            if key not in self._reduced:
                self._reduced[key] = self._reduce(chroma_noise, edge)
                while len(self._reduced) > _KEPT:
                    self._reduced.popitem(last=False)
            self._reduced.move_to_end(key)
            return self._reduced[key]

    def _known(self) -> tuple[Matrix, str, str, tuple[int, int], tuple[float, float], str]:
        with self._lock:
            if self._facts is None:
                frame = self._opened()
                rendering = frame.camera_rendering(max_edge=_RENDERING_EDGE)
                if rendering is not None:
                    self._rendering = (rendering * 255 + 0.5).astype(np.uint8)
                self._facts = (
                    frame.camera_to_srgb,
                    frame.white_problem,
                    frame.camera_rendering_reason,
                    frame.size(),
                    frame.light(),
                    frame.fingerprint(),
                )
                for edge in (PREVIEW_EDGE, _RENDERING_EDGE):
                    self.developable(long_edge=edge)
                self._last.drop()
            return self._facts

    def _reduce(self, chroma_noise: float, edge: int) -> CameraRGB:
        largest = self._reduced.get((chroma_noise, _RENDERING_EDGE))
        if largest is None or edge == _RENDERING_EDGE:
            largest = self._opened().developable(chroma_noise=chroma_noise, long_edge=_RENDERING_EDGE)
        height, width = fit(largest.shape[0], largest.shape[1], edge)
        return resize(largest, height=height, width=width)

    def _opened(self) -> Frame:
        frame = self._last.frame(self.path, lambda: frame_in(self._ledger, self.path))
        self.likeness = frame.likeness
        return frame
