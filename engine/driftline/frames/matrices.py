"""Camera colour matrices, from wherever LibRaw has them.

For cameras in its own table LibRaw gives ``rgb_xyz_matrix`` (XYZ under D65 to camera). For DNG it gives
``color_matrix``: from balanced camera RGB to linear sRGB, made of the file's ColorMatrix tags. Where both
exist, LibRaw's own output takes the file's (measured: of a DNG of a known model the developed colours
follow ``color_matrix``), and so do we.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from driftline.arrays import Matrix
from driftline.colorimetry.primaries import SRGB_TO_XYZ
from driftline.frames.white import multipliers

NO_MATRIX = "neither the file nor the decoder knows a colour matrix; camera colours are taken as they are"


@dataclass(frozen=True)
class CameraColour:
    """What is known of a camera's colours.

    Attributes
    ----------
    camera_to_srgb
        (3, 3) balanced camera RGB to linear sRGB; rows sum to 1.
    daylight
        (3,) multipliers that balance D65, green 1.
    xyz_to_camera
        (3, 3) XYZ under D65 to unbalanced camera RGB, or None.
    doubt
        Why this is a guess, or ''.
    """

    camera_to_srgb: Matrix
    daylight: NDArray[np.float64]
    xyz_to_camera: Matrix | None
    doubt: str = ""

    def of_balanced_values(self) -> CameraColour:
        """The same camera for values that it balanced itself, for a light that nobody stated."""
        doubt = "the camera balanced the sensor values before it wrote them; for which light is unknown"
        return CameraColour(self.camera_to_srgb, np.ones(3), None, self.doubt or doubt)


def camera_colour(facts: dict[str, Any]) -> CameraColour:
    """The camera's colours from the decoder's facts."""
    from_file = np.asarray(facts["color_matrix"], dtype=np.float64)[:3, :3]
    from_table = np.asarray(facts["rgb_xyz_matrix"], dtype=np.float64)[:3]
    daylight = multipliers(facts["daylight_whitebalance"])
    if _usable(from_file) and daylight is not None:
        return from_balanced_matrix(from_file, daylight)
    if _usable(from_table):
        return from_xyz_matrix(from_table)
    return CameraColour(np.eye(3), np.ones(3) if daylight is None else daylight, None, NO_MATRIX)


def from_xyz_matrix(xyz_to_camera: ArrayLike) -> CameraColour:
    """Colours of a camera given as XYZ (D65) to camera.

    Camera RGB of sRGB's primaries is normalised so that white is (1, 1, 1), then inverted; the sums it was
    normalised by are what daylight reads, so their inverses balance it.

    Examples
    --------
    >>> from_xyz_matrix(np.linalg.inv(SRGB_TO_XYZ)).daylight.round(6).tolist()
    [1.0, 1.0, 1.0]
    """
    matrix = np.asarray(xyz_to_camera, dtype=np.float64)
    srgb_to_camera = matrix @ SRGB_TO_XYZ
    sums = srgb_to_camera.sum(axis=1)
    daylight = sums[1] / sums
    return CameraColour(np.linalg.inv(srgb_to_camera / sums[:, None]), daylight, matrix / sums[1])


def from_balanced_matrix(camera_to_srgb: ArrayLike, daylight: NDArray[np.float64]) -> CameraColour:
    """Colours of a camera given as balanced camera RGB to linear sRGB, and its daylight multipliers."""
    matrix = np.asarray(camera_to_srgb, dtype=np.float64)
    matrix = matrix / matrix.sum(axis=1, keepdims=True)
    xyz_to_camera = np.linalg.inv(SRGB_TO_XYZ @ matrix) / daylight[:, None]
    return CameraColour(matrix, daylight, xyz_to_camera)


def _usable(matrix: Matrix) -> bool:
    return bool(np.isfinite(matrix).all() and np.linalg.matrix_rank(matrix) == 3)
