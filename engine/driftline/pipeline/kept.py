"""A kept proof: a small linear copy of a frame that can be developed for ever, with the raw away."""

from __future__ import annotations

import io
import json
from collections.abc import Mapping
from pathlib import PurePath
from typing import Any

import numpy as np
from numpy.typing import NDArray

from driftline.arrays import CameraRGB, EncodedRGB, Matrix
from driftline.errors import FrameError
from driftline.pipeline.compiled import decode
from driftline.pipeline.frame import Frame
from driftline.recipe import Likeness
from driftline.stages.resize import fit, resize

LONG_EDGE = 1000
"""Enough for every cause of drift to be measured; about 2 MB a proof."""
FORMAT = 1
LIGHT, RENDERING, FACTS = "light.tif", "camera.jpg", "facts.json"
_TOP = 65535.0


def keep(frame: Frame) -> dict[str, bytes]:
    """The files of a kept proof.

    Parameters
    ----------
    frame
        A frame that decodes.

    Returns
    -------
    dict
        ``light.tif``: camera RGB at 1000 px on a square-root scale in 16 bits, losslessly packed;
        ``camera.jpg``: the camera rendering at that size, if there is one; ``facts.json``: the rest.

    Raises
    ------
    FrameError
        The frame cannot be decoded.
    """
    rgb = frame.developable(long_edge=LONG_EDGE)
    low, high = float(rgb.min()), float(rgb.max())
    files = {LIGHT: _packed(rgb, low, high)}
    rendering = frame.camera_rendering(max_edge=LONG_EDGE)
    if rendering is not None:
        files[RENDERING] = _jpeg(rendering)
    exposure = frame.exposure()
    facts = {
        "format": FORMAT,
        "fingerprint": frame.fingerprint(),
        "name": frame.path.name,
        "low": low,
        "high": high,
        "camera_to_srgb": frame.camera_to_srgb.tolist(),
        "full_edge": max(frame.size()),
        "light": list(frame.light()),
        "white_problem": frame.white_problem,
        "rendering_reason": frame.camera_rendering_reason,
        "exposure": {
            "make": exposure.make,
            "model": exposure.model,
            "lens": exposure.lens,
            "iso": exposure.iso,
            "shutter_s": exposure.shutter_s,
            "aperture": exposure.aperture,
            "focal_mm": exposure.focal_mm,
            "taken": exposure.taken.isoformat() if exposure.taken else None,
            "setting": exposure.setting,
        },
    }
    files[FACTS] = (json.dumps(facts, indent=1, sort_keys=True) + "\n").encode()
    return files


def kept_name(files: Mapping[str, bytes]) -> str:
    """What the frame of a kept proof is called, without unpacking the picture.

    Raises
    ------
    FrameError
        ``proof-damaged``.
    """
    try:
        return str(json.loads(files[FACTS])["name"])
    except (KeyError, ValueError, TypeError) as error:
        raise FrameError(
            "proof-damaged",
            f"kept proof: {type(error).__name__}: {error}; {FACTS} of one frame is expected",
            hint="keep it again from the raw file: driftline proof RECIPE FRAME",
        ) from None


class KeptFrame:
    """A frame made from a kept proof; develops and measures like a :class:`~driftline.pipeline.frame.Frame`.

    Parameters
    ----------
    files
        What :func:`keep` returned.

    Raises
    ------
    FrameError
        ``proof-damaged``.
    """

    def __init__(self, files: Mapping[str, bytes]) -> None:
        try:
            self.facts: dict[str, Any] = json.loads(files[FACTS])
            self._light = _unpacked(files[LIGHT], self.facts["low"], self.facts["high"])
            self.path = PurePath(self.facts["name"])
            self.camera_to_srgb: Matrix = np.array(self.facts["camera_to_srgb"], dtype=np.float64)
            self.white_problem: str = self.facts["white_problem"]
            self.camera_rendering_reason: str = self.facts["rendering_reason"]
        except (KeyError, ValueError, OSError, TypeError) as error:
            raise FrameError(
                "proof-damaged",
                f"kept proof: {type(error).__name__}: {error}; {LIGHT} and {FACTS} of one frame are expected",
                hint="keep it again from the raw file: driftline proof RECIPE FRAME",
            ) from None
        self._rendering = files.get(RENDERING)
        self.full_edge: int = self.facts.get("full_edge", max(self._light.shape[:2]))
        """Longer side of the frame it was kept from, in pixels; of proofs that do not say: its own."""
        self.likeness: Likeness | None = None

    def size(self) -> tuple[int, int]:
        """Height and width of the kept picture, upright."""
        return self._light.shape[0], self._light.shape[1]

    def light(self) -> tuple[float, float]:
        """CCT in kelvin and Duv of the light that the balance makes neutral."""
        cct, duv = self.facts["light"]
        return float(cct), float(duv)

    def fingerprint(self) -> str:
        """SHA-256 of the raw file it was kept from."""
        return str(self.facts["fingerprint"])

    def developable(self, *, chroma_noise: float = 0.0, long_edge: int | None = None) -> CameraRGB:
        """Camera RGB; ``chroma_noise`` has no part in it: the small copy has averaged the noise away."""
        height, width = fit(self._light.shape[0], self._light.shape[1], long_edge)
        return resize(self._light, height=height, width=width)

    def camera_rendering(self, max_edge: int | None = None) -> EncodedRGB | None:
        """The camera rendering as it was kept, encoded sRGB, or None."""
        if self._rendering is None:
            return None
        from PIL import Image  # noqa: PLC0415  loaded where it is needed

        with Image.open(io.BytesIO(self._rendering)) as picture:
            return np.asarray(picture.convert("RGB"), dtype=np.float32) / np.float32(255)

    def camera_light(self, max_edge: int | None = None) -> NDArray[np.float32] | None:
        """The same in linear sRGB."""
        rendering = self.camera_rendering(max_edge)
        return None if rendering is None else decode(rendering)


def _packed(rgb: CameraRGB, low: float, high: float) -> bytes:
    import tifffile  # noqa: PLC0415  loaded where it is needed

    share = np.sqrt((rgb.astype(np.float64) - low) / max(high - low, 1e-9))
    file = io.BytesIO()
    tifffile.imwrite(
        file,
        np.rint(share * _TOP).astype(np.uint16),
        photometric="rgb",
        compression="zlib",
        predictor=True,
        metadata=None,
        software=False,
    )
    return file.getvalue()


def _unpacked(content: bytes, low: float, high: float) -> CameraRGB:
    import tifffile  # noqa: PLC0415  loaded where it is needed

    share: NDArray[Any] = tifffile.imread(io.BytesIO(content)) / _TOP
    return np.asarray(low + share * share * (high - low), dtype=np.float32)


def _jpeg(rendering: EncodedRGB) -> bytes:
    from PIL import Image  # noqa: PLC0415  loaded where it is needed

    from driftline.colorimetry.encodings import srgb_decode, srgb_encode  # noqa: PLC0415

    height, width = fit(rendering.shape[0], rendering.shape[1], LONG_EDGE)
    small = srgb_encode(resize(srgb_decode(rendering), height=height, width=width))
    file = io.BytesIO()
    Image.fromarray(np.rint(small * 255).astype(np.uint8)).save(file, "jpeg", quality=95, subsampling=0)
    return file.getvalue()
