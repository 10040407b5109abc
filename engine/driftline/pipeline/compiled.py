"""A plan as tables for the compiled pass, and the pass itself over strips."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache, lru_cache
from typing import Any

import numpy as np
from numpy.typing import NDArray

from driftline.colorimetry.encodings import srgb_decode, srgb_encode
from driftline.colorimetry.oklab import LAB_TO_LMS, LMS_TO_LAB, LMS_TO_REC2020, REC2020_TO_LMS
from driftline.colorimetry.primaries import REC2020_LUMINANCE
from driftline.pipeline.kernels import point
from driftline.pipeline.plan import Pixels, Plan, curve_settings, split_settings
from driftline.recipe import Curve, Split
from driftline.stages.chroma import HueBand, Response, by_hue
from driftline.stages.curve import FLOOR_STOPS, characteristic
from driftline.stages.gamut import LMS_TO_OUTPUT, ROUNDS, SLACK
from driftline.stages.split import split
from driftline.stages.standing import MIDDLE_GREY, SHOWN_GREY, Tone, shown_stops

_KEPT = 8  # tables of each kind
NODES = 2.0 ** (np.arange(point.GAIN_NODES + 1) // 256 - 24) * (
    1 + np.arange(point.GAIN_NODES + 1) % 256 / 256
)


@dataclass(frozen=True)
class Tables:
    """Settings of :func:`driftline.pipeline.kernels.point.develop_rows`, all float32."""

    settings: NDArray[np.float32]
    tables: tuple[NDArray[np.float32], ...]
    acts: tuple[bool, ...]

    def run(self, camera: Pixels) -> Pixels:
        """Balanced camera RGB (rows, width, 3) to linear output RGB in [0, 1]."""
        out = np.empty(camera.shape, np.float32)
        self.write(camera, out)
        return out

    def write(self, camera: Pixels, out: Pixels) -> None:
        """As :meth:`run`, into a picture of the same size."""
        point.develop_rows(*self._asked(camera), out)

    def write_8(self, camera: Pixels, out: NDArray[np.uint8], top: int = 0, left: int = 0) -> None:
        """Straight to sRGB code values, into a picture from row ``top`` and column ``left`` on."""
        point.develop_rows_8(*self._asked(camera), code_table(), out, top, left)

    def _asked(self, camera: Pixels) -> tuple[Any, ...]:
        camera = np.ascontiguousarray(camera)
        return camera, self.settings, self.tables, self.acts, ROUNDS, np.float32(SLACK)


def compile_plan(plan: Plan) -> Tables:
    """Work out every table in float64 and round it to float32; of sections met before they are kept."""
    hues = _hues(plan.bands, plan.response)
    return Tables(
        settings=_settings(plan),
        tables=(_curve_gains(plan.curve), _standing_gains(plan.tone), hues, _tones(plan.split)),
        acts=(
            plan.curve is not None,
            plan.acts_by_hue,
            bool(hues[:, 4:].any()),
            plan.weights is not None,
            plan.split is not None,
        ),
    )


def encode(linear: Pixels, *, eight_bits: bool) -> NDArray[Any]:
    """Linear RGB in [0, 1] to sRGB code values, uint8 or float32 in [0, 1]."""
    flat = np.ascontiguousarray(linear).reshape(-1)
    if eight_bits:
        out = np.empty(flat.size, np.uint8)
        point.encode_8(flat, code_table(), out)
        return out.reshape(linear.shape)
    encoded = np.empty(flat.size, np.float32)
    point.encode_float(flat, _encoding_gains(), encoded)
    return encoded.reshape(linear.shape)


def decode(encoded: Pixels) -> Pixels:
    """sRGB code values as float32 in [0, 1] to linear light; relative error below 1e-5."""
    flat = np.ascontiguousarray(encoded).reshape(-1)
    linear = np.empty(flat.size, np.float32)
    point.decode_float(flat, _decoding_gains(), linear)
    return linear.reshape(encoded.shape)


def _settings(plan: Plan) -> NDArray[np.float32]:
    out = np.zeros(point.SETTINGS)
    for at, values in (
        (point.CAMERA_TO_REC2020, plan.matrix * 2.0**plan.ev),
        (point.LUMINANCE, REC2020_LUMINANCE),
        (point.REC2020_TO_LMS, REC2020_TO_LMS),
        (point.LMS_TO_LAB, LMS_TO_LAB),
        (point.LAB_TO_LMS, LAB_TO_LMS),
        (point.LMS_TO_OUTPUT, LMS_TO_OUTPUT[plan.space]),
        (point.CHROMA_SCALE, np.array([plan.scale])),
        (point.MONO_WEIGHTS, np.array(plan.weights or (0, 0, 0))),
        (point.LMS_TO_REC2020, LMS_TO_REC2020),
    ):
        out[at : at + values.size] = values.ravel()
    return out.astype(np.float32)


@lru_cache(_KEPT)
def _curve_gains(curve: Curve | None) -> NDArray[np.float32]:
    stops = np.maximum(np.log2(NODES / MIDDLE_GREY), FLOOR_STOPS)
    gains = np.exp2(characteristic(stops, **curve_settings(curve)) - stops)
    return _with_steps(gains)


def _standing_gains(tone: Tone | None) -> NDArray[np.float32]:
    if tone is None:
        return _default_standing_gains()
    return _with_steps(SHOWN_GREY * np.exp2(shown_stops(np.log2(NODES / MIDDLE_GREY), tone=tone)) / NODES)


@cache
def _default_standing_gains() -> NDArray[np.float32]:
    return _with_steps(SHOWN_GREY * np.exp2(shown_stops(np.log2(NODES / MIDDLE_GREY))) / NODES)


@cache
def _encoding_gains() -> NDArray[np.float32]:
    return _with_steps(srgb_encode(NODES) / NODES)


@cache
def _decoding_gains() -> NDArray[np.float32]:
    return _with_steps(srgb_decode(NODES) / NODES)


@cache
def code_table() -> NDArray[np.int32]:
    """Of each node of the code table: its lowest code, and how far on the next one begins.

    The sum of an entry and the 16 low bits of the light has the code in its upper half: the very code that
    the encoded float32 is rounded to.
    """
    codes = np.arange(1, 256)
    below, first = np.full(255, point.CODE_LOWEST), np.full(255, np.float32(1).view(np.int32))
    while (first - below).max() > 1:  # bisect for the least light, as bits, that is rounded to each code
        middle = ((below + first) // 2).astype(np.int32)
        encoded = encode(middle.view(np.float32), eight_bits=False)
        reached = (encoded * np.float32(255) + np.float32(0.5)).astype(int) >= codes
        below, first = np.where(reached, below, middle), np.where(reached, middle, first)
    node, low = np.divmod(first - point.CODE_LOWEST, 1 << point.CODE_SHIFT)
    table = np.searchsorted(node, np.arange(point.CODE_NODES)) << point.CODE_SHIFT
    table[node] += (1 << point.CODE_SHIFT) - low
    return table.astype(np.int32)


def _with_steps(*columns: NDArray[Any]) -> NDArray[np.float32]:
    """(nodes - 1, 2 x columns): each column's value and its step to the next node, side by side."""
    pairs = [(column[:-1], np.diff(column)) for column in columns]
    stacked = np.stack([one for pair in pairs for one in pair], axis=1)
    return np.ascontiguousarray(stacked, dtype=np.float32)


@lru_cache(_KEPT)
def _hues(bands: tuple[HueBand, ...], response: Response | None) -> NDArray[np.float32]:
    """Cosine and sine of each hue's turn, times its scale, and its lift, over the kernel's pseudo-angle."""
    measure = np.linspace(0, 4, point.HUE_NODES + 1)
    quarter, part = np.divmod(measure, 1)
    corner = np.stack([1 - part, part], axis=1)  # the diamond |a| + |b| = 1, anticlockwise from +a
    a = np.select([quarter % 4 == 0, quarter == 1, quarter == 2], [corner[:, 0], -part, -corner[:, 0]], part)
    b = np.select([quarter % 4 == 0, quarter == 1, quarter == 2], [part, corner[:, 0], -part], -corner[:, 0])
    hue = np.degrees(np.arctan2(b, a))
    turn, log_scale, lift = by_hue(hue, bands=bands, response=response)
    turn, scale = np.radians(turn), np.exp(log_scale)
    return _with_steps(scale * np.cos(turn), scale * np.sin(turn), lift)


@lru_cache(_KEPT)
def _tones(tones: Split | None) -> NDArray[np.float32]:
    greys = np.zeros((point.TONE_NODES + 1, 3))
    greys[:, 0] = np.linspace(0, 1, point.TONE_NODES + 1)
    toned = split(greys, **split_settings(tones))
    return _with_steps(toned[:, 1], toned[:, 2])
