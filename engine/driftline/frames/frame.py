"""One frame: the raw file and its camera rendering. Cheap to make; everything is read on first use."""

from __future__ import annotations

import os
from functools import cached_property
from pathlib import Path

from driftline.arrays import EncodedRGB
from driftline.frames import fingerprint as prints_of
from driftline.frames.child import Answer, ask_decoder
from driftline.frames.exposure import ExposureData, has_exposure, read_exposure
from driftline.frames.orientation import flip_to_orientation
from driftline.frames.refusal import check_file, refuse
from driftline.frames.rendering import Rendering, embedded_rendering
from driftline.frames.sensor import Sensor, make_sensor
from driftline.frames.tags import Tags, exif_of_bytes, exif_of_file


class RawFrame:
    """A raw file on disk.

    Parameters
    ----------
    path
        The file. Nothing is read before it is asked for, and the file is never written to.
    """

    def __init__(self, path: str | os.PathLike[str]) -> None:
        self.path = Path(path).expanduser()

    def __repr__(self) -> str:
        return f"{type(self).__name__}({str(self.path)!r})"

    @cached_property
    def _sensor(self) -> Sensor:
        answer = self._ask("sensor")
        return make_sensor(self.path, answer.facts, answer.arrays["values"])

    def sensor(self) -> Sensor:
        """The decoded sensor values and what gives them meaning; decoded once, then kept.

        Raises
        ------
        FrameError
            With a code that says what is wrong with the file.
        """
        return self._sensor

    def exposure(self) -> ExposureData:
        """How the frame was taken, as far as the file says; None is unknown, never a guess."""
        check_file(self.path)
        file_tags = exif_of_file(self.path)
        preview_tags = {} if has_exposure(file_tags) else self._preview_tags()
        facts = {} if has_exposure(file_tags) else ask_decoder(self.path.absolute(), "facts").facts
        return read_exposure(file_tags, preview_tags, facts)

    def camera_rendering(self, max_edge: int | None = None) -> EncodedRGB | None:
        """The camera's own picture of this exposure, upright, as encoded sRGB.

        Returns
        -------
        float32 (h, w, 3) in [0, 1], or None; :attr:`camera_rendering_reason` says why.
        """
        rendering = self._render(max_edge)
        self._reason = rendering.reason
        return rendering.pixels

    @property
    def camera_rendering_reason(self) -> str:
        """Where the camera rendering comes from, or why there is none."""
        if not hasattr(self, "_reason"):
            self.camera_rendering(max_edge=64)
        return self._reason

    def fingerprint(self) -> str:
        """SHA-256 of the file's bytes, as hex."""
        check_file(self.path)
        return prints_of.fingerprint(self.path)

    def quick_fingerprint(self) -> str:
        """SHA-256 of the file's size and sampled blocks, as hex; for an index, not for records."""
        check_file(self.path)
        return prints_of.quick_fingerprint(self.path)

    def _render(self, max_edge: int | None) -> Rendering:
        check_file(self.path)
        answer = ask_decoder(self.path.absolute(), "preview")
        if answer.failed:
            return Rendering(None, f"no embedded JPEG: {answer.failed['said']}")
        orientation = flip_to_orientation(answer.facts["sizes"]["flip"])
        return embedded_rendering(answer.arrays["preview"], answer.facts["preview"], orientation, max_edge)

    def _preview_tags(self) -> Tags:
        answer = ask_decoder(self.path.absolute(), "preview")
        if answer.failed or answer.facts["preview"] != "jpeg":
            return {}
        return exif_of_bytes(answer.arrays["preview"].tobytes())

    def _ask(self, want: str) -> Answer:
        check_file(self.path)
        answer = ask_decoder(self.path.absolute(), want)
        if answer.failed or answer.complaints:
            raise refuse(self.path, answer)
        return answer
