"""Named array types. Axes are (row, column, channel); the names say quantity and range.

A stage takes and returns float32 and never writes to its input.
"""

from __future__ import annotations

from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

Mosaic: TypeAlias = NDArray[np.float32]
"""(H, W) one value a photosite, linear; 0 black, 1 where green clips; balanced red and blue may exceed 1."""

CameraRGB: TypeAlias = NDArray[np.float32]
"""(..., 3) linear camera RGB, balanced as shot with green's multiplier 1; 1.0 is where green clips."""

SceneRGB: TypeAlias = NDArray[np.float32]
"""(..., 3) linear Rec. 2020 (D65), scene-referred, unbounded, negatives possible."""

DisplayRGB: TypeAlias = NDArray[np.float32]
"""(..., 3) linear Rec. 2020 (D65), display-referred, 0 … 1 nominal."""

Oklab: TypeAlias = NDArray[np.float32]
"""(..., 3) Oklab L, a, b; L 0 … 1."""

EncodedRGB: TypeAlias = NDArray[np.float32]
"""(..., 3) encoded output RGB (sRGB or Display P3, IEC 61966-2-1 curve), 0 … 1."""

Matrix: TypeAlias = NDArray[np.float64]
"""(3, 3) float64."""

Floats: TypeAlias = NDArray[np.floating]
"""Any floating array; the dtype comes back as it went in."""
