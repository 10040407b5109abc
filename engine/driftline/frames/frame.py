"""One frame: the raw file and its camera rendering. Cheap to make; everything is read on first use."""

from __future__ import annotations

import os
import threading
from functools import cached_property
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from driftline.arrays import EncodedRGB
from driftline.errors import FrameError
from driftline.frames import fingerprint as prints_of
from driftline.frames.child import Answer, ask_decoder
from driftline.frames.directories import Directories, read_directories
from driftline.frames.exposure import ExposureData, needs_decoder, read_exposure
from driftline.frames.jpeg import JpegSize, Reduce, reduced_codes
from driftline.frames.preview import Preview, preview_of
from driftline.frames.refusal import check_file, missing_sensor_data, refuse
from driftline.frames.rendering import (
    Source,
    beside_source,
    embedded_source,
    render_source,
    upright_size,
)
from driftline.frames.sensor import Sensor, make_sensor
from driftline.frames.tags import Tags, exif_of_file

_DECODING = threading.RLock()  # the decoder answers one at a time; whoever asks for the same frame waits


class RawFrame:
    """A raw file on disk.

    Parameters
    ----------
    path
        The file. Nothing is read before it is asked for, and the file is never written to.

    Examples
    --------
    >>> RawFrame("night-07.dng").path.name
    'night-07.dng'
    """

    reduce_codes: Reduce = staticmethod(reduced_codes)
    """What averages a camera rendering down."""

    def __init__(self, path: str | os.PathLike[str]) -> None:
        self.path = Path(path).expanduser()
        self._refused: FrameError | None = None  # whoever asks next need not wait for the decoder once more
        self._decoded: dict[str, Any] = {}  # beside the sensor values, once it was asked

    def __repr__(self) -> str:
        return f"{type(self).__name__}({str(self.path)!r})"

    def sensor(self) -> Sensor:
        """The sensor values and what gives them meaning; decoded once, then kept.

        Returns
        -------
        Sensor
            Values as decoded: not balanced, not turned, not cropped.

        Raises
        ------
        FrameError
            ``frame-missing``, ``frame-not-a-file``, ``frame-unreadable``, ``frame-not-raw``,
            ``frame-unsupported``, ``frame-truncated``, ``frame-damaged``, ``frame-empty``,
            ``frame-too-large``, ``frame-layout``, ``frame-four-colours``, ``frame-one-colour`` or
            ``frame-decoder-lost``; the message says what was found.
        """
        decoded: Sensor | None = vars(self).get("_sensor")
        if decoded is not None:
            return decoded
        with _DECODING:
            if self._refused is not None:
                raise self._refused
            try:
                return self._sensor
            except FrameError as refused:
                self._refused = refused
                raise

    def exposure(self) -> ExposureData:
        """How the frame was taken, as far as the file says; None is unknown, never a guess.

        Raises
        ------
        FrameError
            If there is no file to read. A damaged one says what it still can.
        """
        return self._exposure

    def camera_rendering(self, max_edge: int | None = None) -> EncodedRGB | None:
        """The camera's own picture of this exposure, upright, as encoded sRGB.

        Parameters
        ----------
        max_edge
            Longest edge wanted in pixels; a larger picture is averaged down in linear light.

        Returns
        -------
        float32 (h, w, 3) in [0, 1], or None
            The embedded JPEG; if that is no rendering, the JPEG of the same name beside the raw; else None,
            and :attr:`camera_rendering_reason` says why.

        Raises
        ------
        FrameError
            If there is no file to read.
        """
        return self._render(max_edge, linear=False)

    def camera_light(self, max_edge: int | None = None) -> NDArray[np.float32] | None:
        """As :meth:`camera_rendering`, as the light that it stands for: linear sRGB, float32 (h, w, 3)."""
        return self._render(max_edge, linear=True)

    @property
    def camera_rendering_reason(self) -> str:
        """Where the camera rendering comes from, or why there is none."""
        if not hasattr(self, "_reason"):
            self.camera_rendering(max_edge=64)
        return self._reason

    def pairing_facts(self) -> tuple[Tags, JpegSize | None]:
        """What a JPEG beside the file is held against: its EXIF, and its upright size if that is known."""
        check_file(self.path)
        sizes = self._preview.sizes
        return self._tags, upright_size(sizes) if sizes else None

    def fingerprint(self) -> str:
        """SHA-256 of the file's bytes, as hex."""
        check_file(self.path)
        return prints_of.fingerprint(self.path)

    def quick_fingerprint(self) -> str:
        """SHA-256 of the file's size and sampled blocks, as hex; for an index, not for records."""
        check_file(self.path)
        return prints_of.quick_fingerprint(self.path)

    @cached_property
    def _sensor(self) -> Sensor:
        check_file(self.path)
        answer = ask_decoder(self.path.absolute(), "sensor")
        self._decoded = answer.facts
        if answer.failed or answer.complaints:
            raise refuse(self.path, answer, self._directories, self._whole_rendering())
        missing = self._directories.missing_bytes(self.path.stat().st_size, binding=True)
        if missing:
            raise missing_sensor_data(self.path, missing)
        return make_sensor(self.path, answer.facts, answer.arrays["values"], self._directories)

    @cached_property
    def _exposure(self) -> ExposureData:
        check_file(self.path)
        tags, preview = self._tags, self._preview
        decoded: dict[str, Any] = {}
        if needs_decoder(tags, preview.tags):
            decoded = self._decoded or self._ask_quietly("facts").facts
        return read_exposure(tags, preview.tags, {**preview.facts, **decoded})

    @cached_property
    def _directories(self) -> Directories:
        return read_directories(self.path)

    @cached_property
    def _tags(self) -> Tags:
        return exif_of_file(self.path)

    @cached_property
    def _preview(self) -> Preview:
        return preview_of(self._ask_quietly("preview"))

    def _ask_quietly(self, want: str) -> Answer:
        """What the decoder says, a decoder lost included, as an answer."""
        try:
            return ask_decoder(self.path.absolute(), want)
        except FrameError as lost:
            return Answer(failed={"kind": "lost", "step": "open", "said": lost.message})

    def _render(self, max_edge: int | None, *, linear: bool) -> NDArray[np.float32] | None:
        check_file(self.path)
        found = render_source(self._embedded(), max_edge, self.reduce_codes, linear=linear)
        self._reason = found.reason
        if found.pixels is None:
            beside = beside_source(self.path, *self.pairing_facts())
            found = render_source(beside, max_edge, self.reduce_codes, linear=linear)
            self._reason += f"; {found.reason}"
        return found.pixels

    def _embedded(self) -> Source:
        return embedded_source(self._preview, self._tags, self._directories)

    def _whole_rendering(self) -> str:
        """Size of the embedded camera rendering in words if it decodes to the end, else ''."""
        whole = render_source(self._embedded(), None).pixels
        return "" if whole is None else f"{whole.shape[1]} × {whole.shape[0]}"
