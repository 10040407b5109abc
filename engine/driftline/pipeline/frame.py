"""A frame that can be developed: the raw file plus its demosaicked picture."""

from __future__ import annotations

from functools import partial
from os import PathLike
from pathlib import Path
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from driftline.arrays import CameraRGB, EncodedRGB, Matrix, Mosaic
from driftline.colorimetry.encodings import srgb_decode
from driftline.frames import RawFrame, upright
from driftline.pipeline.compiled import encode
from driftline.pipeline.kernels.area import light_of_codes, resize
from driftline.pipeline.kernels.demosaic import demosaic
from driftline.pipeline.kernels.highlights import rebuild
from driftline.pipeline.kernels.linearise import linearise as linearise_mosaic
from driftline.pipeline.kernels.noise import reduce_chroma_noise
from driftline.pipeline.memory import give_back
from driftline.pipeline.strips import in_strips
from driftline.recipe import Likeness
from driftline.stages.linearise import linearise
from driftline.stages.noise import estimate_noise
from driftline.stages.resize import fit
from driftline.stages.white import light_of

_LIGHT = srgb_decode(np.arange(256) / 255).astype(np.float32)


def reduced(codes: NDArray[np.uint8], max_edge: int) -> EncodedRGB:
    """Average code values (H, W, 3) down in linear light, so that the long edge is ``max_edge``."""
    height, width = fit(codes.shape[0], codes.shape[1], max_edge)
    light = light_of_codes(codes, _LIGHT, height=height, width=width)
    return in_strips(partial(encode, eight_bits=False), light)


def open_frame(path: str | PathLike[str]) -> Frame:
    """Open a frame; cheap, since the sensor data are decoded on first use.

    Raises
    ------
    FrameError
        The file is not there or not a file. What only decoding shows is raised by the methods.
    """
    return Frame(Path(path))


class Developable(Protocol):
    """What developing needs of a frame: a :class:`Frame`, or a kept proof of one."""

    likeness: Likeness | None

    @property
    def camera_to_srgb(self) -> Matrix:
        """(3, 3) balanced camera RGB to linear sRGB."""

    @property
    def white_problem(self) -> str:
        """Why there is no valid as-shot white, or ''."""

    @property
    def camera_rendering_reason(self) -> str:
        """Where the camera rendering comes from, or why there is none."""

    def size(self) -> tuple[int, int]:
        """Height and width of the picture, upright."""

    def light(self) -> tuple[float, float]:
        """CCT in kelvin and Duv of the light that the balance makes neutral."""

    def fingerprint(self) -> str:
        """SHA-256 of the raw file."""

    def camera_rendering(self, max_edge: int | None = None) -> EncodedRGB | None:
        """The camera's own picture, upright, encoded sRGB."""

    def developable(self, *, chroma_noise: float = 0.0, long_edge: int | None = None) -> CameraRGB:
        """Camera RGB with highlights rebuilt and colour noise taken out."""


class Frame(RawFrame):
    """One exposure: its sensor data, exposure data, camera rendering, and camera RGB.

    ``likeness`` says how its camera renders, where that was learned; it is set before the frame is developed.
    """

    reduce_codes = staticmethod(reduced)

    def __init__(self, path: Path) -> None:
        super().__init__(path)
        self.likeness: Likeness | None = None
        self._full: tuple[float, CameraRGB] | None = None
        self._developable: dict[tuple[float, int | None], CameraRGB] = {}

    @property
    def camera_to_srgb(self) -> Matrix:
        """(3, 3) balanced camera RGB to linear sRGB."""
        return self.sensor().camera_to_srgb

    @property
    def white_problem(self) -> str:
        """Why there is no valid as-shot white, or ''."""
        return self.sensor().as_shot_problem

    def size(self) -> tuple[int, int]:
        """Height and width of the picture, cropped and upright."""
        sensor = self.sensor()
        height, width = sensor.crop[2:]
        return (width, height) if sensor.orientation > 4 else (height, width)

    def multipliers(self) -> NDArray[np.float64]:
        """(3,) as-shot balance with green 1; daylight's where the file states no valid one."""
        sensor = self.sensor()
        return sensor.daylight if sensor.as_shot is None else sensor.as_shot

    def light(self) -> tuple[float, float]:
        """CCT in kelvin and Duv of the light that the balance makes neutral."""
        return light_of(self.multipliers(), self.sensor().xyz_to_camera)

    def camera_rgb(self) -> CameraRGB:
        """Linear, balanced, demosaicked, cropped, upright; nothing is clipped, rebuilt or smoothed.

        Returns
        -------
        CameraRGB
            (H, W, 3) float32; 1.0 is where green clips.

        Raises
        ------
        FrameError
            The file cannot be decoded into a picture.
        """
        return self._trimmed(self._planes(self._mosaic()))

    def developable(self, *, chroma_noise: float = 0.0, long_edge: int | None = None) -> CameraRGB:
        """Camera RGB with clipped highlights rebuilt and colour noise taken out, kept for the next call.

        Parameters
        ----------
        chroma_noise
            0 … 1, the recipe's ``noise.chroma``.
        long_edge
            Reduce to this size by area, in linear light; None keeps every pixel.
        """
        key = (chroma_noise, long_edge)
        if key not in self._developable:
            if self._full is None or self._full[0] != chroma_noise:
                self._full = chroma_noise, self._rebuilt(chroma_noise)
            rgb = self._full[1]
            if long_edge is None:
                return rgb
            height, width = fit(rgb.shape[0], rgb.shape[1], long_edge)
            self._developable[key] = resize(rgb, height=height, width=width)
        return self._developable[key]

    def let_go(self, *, reduced_alone: bool = False) -> None:
        """Give the memory of the demosaicked picture back, or of its reduced copies alone.

        They are made again when they are asked for.
        """
        self._developable.clear()
        if not reduced_alone:
            self._full = None
        give_back()

    def _mosaic(self) -> Mosaic:
        sensor, gain = self.sensor(), self.multipliers()
        levels = {"black": sensor.black, "white": sensor.white, "multipliers": gain}
        if sensor.pattern is None:
            return linearise(sensor.values, pattern=None, **levels)
        return linearise_mosaic(sensor.values, pattern=sensor.pattern, **levels)

    def _planes(self, mosaic: Mosaic) -> CameraRGB:
        pattern = self.sensor().pattern
        return mosaic if pattern is None else demosaic(mosaic, pattern)

    def _trimmed(self, rgb: CameraRGB) -> CameraRGB:
        top, left, height, width = self.sensor().crop
        return upright(rgb[top : top + height, left : left + width], self.sensor().orientation)

    def _rebuilt(self, chroma_noise: float) -> CameraRGB:
        sensor, mosaic = self.sensor(), self._mosaic()
        rgb = self._planes(mosaic)
        if sensor.values.max() >= sensor.saturation.min():
            black = sensor.black.mean()
            full = self.multipliers() * (sensor.saturation - black) / (sensor.white - black)
            rgb = rebuild(rgb, clip=full.astype(np.float32))
        if chroma_noise and sensor.pattern is not None:
            noise = estimate_noise(mosaic, sensor.pattern)
            rgb = reduce_chroma_noise(rgb, strength=chroma_noise, noise=noise)
        return self._trimmed(rgb)
