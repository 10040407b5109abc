"""A frame that can be developed: the raw file plus its demosaicked picture."""

from __future__ import annotations

import threading
from collections.abc import Callable
from functools import cached_property, partial
from os import PathLike
from pathlib import Path
from typing import Any, Protocol

import numpy as np
from numpy.typing import NDArray

from driftline.arrays import CameraRGB, EncodedRGB, Matrix, Mosaic
from driftline.colorimetry.encodings import srgb_decode
from driftline.frames import RawFrame, upright
from driftline.pipeline.compiled import encode
from driftline.pipeline.kernels.area import light_of_codes, resize
from driftline.pipeline.kernels.cells import cells
from driftline.pipeline.kernels.demosaic import by_tiles as demosaicked_by_tiles
from driftline.pipeline.kernels.demosaic import demosaic
from driftline.pipeline.kernels.highlights import rebuild_mosaic
from driftline.pipeline.kernels.linearise import Levels, levels_of, linearised
from driftline.pipeline.kernels.noise import reduce_chroma_noise
from driftline.pipeline.strips import in_strips
from driftline.recipe import Likeness
from driftline.stages.demosaic_two_by_two import applies_to
from driftline.stages.highlights import rebuild
from driftline.stages.linearise import linearise
from driftline.stages.noise import NoiseModel, estimate_noise, stated_noise
from driftline.stages.resize import fit
from driftline.stages.white import light_of

TileWriter = Callable[[CameraRGB, NDArray[Any], int, int], None]
_LIGHT = srgb_decode(np.arange(256) / 255).astype(np.float32)


def reduced(codes: NDArray[np.uint8], max_edge: int, *, linear: bool = False) -> NDArray[np.float32]:
    """Average code values (H, W, 3) down in linear light, so that the long edge is ``max_edge``."""
    height, width = fit(codes.shape[0], codes.shape[1], max_edge)
    light = light_of_codes(codes, _LIGHT, height=height, width=width)
    return light if linear else in_strips(partial(encode, eight_bits=False), light)


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

    def camera_light(self, max_edge: int | None = None) -> NDArray[np.float32] | None:
        """The same in linear sRGB."""

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
        self._making = threading.RLock()
        self._raised: Mosaic | None = None

    def __getstate__(self) -> dict[str, Any]:
        """What goes along to another process: all but the lock."""
        return {name: value for name, value in vars(self).items() if name != "_making"}

    def __setstate__(self, state: dict[str, Any]) -> None:
        """With a lock of its own there."""
        vars(self).update(state, _making=threading.RLock())

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
        return self._trimmed(self._planes(self.sensor().values, self._levels()))

    def developable(self, *, chroma_noise: float = 0.0, long_edge: int | None = None) -> CameraRGB:
        """Camera RGB with clipped highlights rebuilt and colour noise taken out, kept for the next call.

        Parameters
        ----------
        chroma_noise
            0 … 1, the recipe's ``noise.chroma``.
        long_edge
            Reduce to this size by area, in linear light; None keeps every pixel. Of a 2 × 2 mosaic, half the
            size or less is made from cells of photosites (:mod:`driftline.stages.cells`), which is soon done.
        """
        key = (chroma_noise, long_edge)
        with self._making:
            if key not in self._developable:
                height, width = fit(*self.size(), long_edge)
                halved = self._in_cells and not chroma_noise and 2 * max(height, width) <= max(self.size())
                large = self._halved() if halved else self._whole(chroma_noise)
                if long_edge is None:
                    return large
                self._developable[key] = resize(large, height=height, width=width)
            return self._developable[key]

    @property
    def by_tiles(self) -> bool:
        """Whether :meth:`write_by_tiles` can be asked, and is the shorter way."""
        return self._in_cells and (self._full is None or self._full[0] != 0)

    def write_by_tiles(self, write: TileWriter, dtype: type) -> NDArray[Any]:
        """Develop a 2 × 2 mosaic tile by tile, so that camera RGB is never there as a whole.

        Parameters
        ----------
        write
            Called with a tile of what :meth:`developable` gives, the picture that it belongs to, and the row
            and column where it begins; from several threads.
        dtype
            Of the picture.

        Returns
        -------
        NDArray
            (H, W, 3), upright.
        """
        sensor, window = self.sensor(), self.sensor().crop
        out: NDArray[Any] = np.empty((*window[2:], 3), dtype)

        def use(tile: CameraRGB, top: int, left: int) -> None:
            write(tile, out, top, left)

        values, levels = self._clear_of_clipping()
        assert sensor.pattern is not None
        demosaicked_by_tiles(values, sensor.pattern, levels, window, use)
        return np.ascontiguousarray(upright(out, sensor.orientation))

    def let_go(self) -> None:
        """Give the memory of the pictures back; they are made again when they are asked for."""
        self._developable.clear()
        self._full = self._raised = None

    @property
    def _in_cells(self) -> bool:
        pattern = self.sensor().pattern
        return pattern is not None and applies_to(pattern)

    def _levels(self) -> Levels | None:
        sensor = self.sensor()
        if sensor.pattern is None:
            return None
        return levels_of(
            sensor.pattern, black=sensor.black, white=sensor.white, multipliers=self.multipliers()
        )

    def _mosaic(self) -> Mosaic:
        levels = self._levels()
        assert levels is not None
        return linearised(self.sensor().values, levels)

    def _clear_of_clipping(self) -> tuple[NDArray[Any], Levels | None]:
        """What the sensor gave and what makes it linear; if it clips, the mosaic raised there, and None."""
        sensor, levels = self.sensor(), self._levels()
        if not self._clips or sensor.pattern is None or levels is None:
            return sensor.values, levels
        with self._making:
            if self._raised is None:
                self._raised = rebuild_mosaic(sensor.values, sensor.pattern, levels, clip=self._clip())
            return self._raised, None

    def _planes(self, values: NDArray[Any], levels: Levels | None) -> CameraRGB:
        sensor = self.sensor()
        if sensor.pattern is None:
            stated = {"black": sensor.black, "white": sensor.white, "multipliers": self.multipliers()}
            return linearise(values, pattern=None, **stated)
        return demosaic(values, sensor.pattern, levels=levels)

    def _trimmed(self, rgb: CameraRGB) -> CameraRGB:
        top, left, height, width = self.sensor().crop
        return upright(rgb[top : top + height, left : left + width], self.sensor().orientation)

    @cached_property
    def _clips(self) -> bool:
        sensor = self.sensor()
        return bool(sensor.values.max() >= sensor.saturation.min())

    def _clip(self) -> NDArray[np.float32]:
        sensor = self.sensor()
        black = sensor.black.mean()
        full = self.multipliers() * (sensor.saturation - black) / (sensor.white - black)
        return np.asarray(full, dtype=np.float32)

    def _halved(self) -> CameraRGB:
        """Half-size camera RGB with highlights rebuilt, upright; soon made, and as large as a print."""
        sensor = self.sensor()
        assert sensor.pattern is not None
        values, levels = self._clear_of_clipping()
        return upright(cells(values, sensor.pattern, levels, sensor.crop), sensor.orientation)

    def _whole(self, chroma_noise: float) -> CameraRGB:
        if self._full is None or self._full[0] != chroma_noise:
            self._full = chroma_noise, self._rebuilt(chroma_noise)
        return self._full[1]

    def _rebuilt(self, chroma_noise: float) -> CameraRGB:
        sensor, rgb = self.sensor(), self._planes(*self._clear_of_clipping())
        if sensor.pattern is None and self._clips:
            rgb = rebuild(rgb, clip=self._clip())
        if chroma_noise and sensor.pattern is not None:
            rgb = reduce_chroma_noise(rgb, strength=chroma_noise, noise=self._noise(sensor.pattern))
        return self._trimmed(rgb)

    def _noise(self, pattern: NDArray[np.uint8]) -> NoiseModel:
        """What the file states of its noise; else what the mosaic shows."""
        profile = self.sensor().noise_profile
        if profile is None:
            return estimate_noise(self._mosaic(), pattern)
        return stated_noise(profile, multipliers=self.multipliers())
