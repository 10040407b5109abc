"""From planes to a file: one frame through lens, camera and rendering, with its truth written down."""

from __future__ import annotations

import hashlib
from collections.abc import Mapping
from dataclasses import asdict, dataclass, field
from datetime import datetime
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from making import camera, lens, rendering
from making.dng import write_dng

Array = NDArray[np.float64]
_TURNS = {1: 0, 3: 2, 6: 1, 8: 3}  # quarter turns counter-clockwise from upright to sensor


@dataclass(frozen=True)
class Plan:
    """What the photographer did for one frame, and what the frame is for.

    ``bias_ev`` is what was dialled in; ``slowest`` the longest time before ISO is raised;
    ``measured_white``: the white was set from a card on the subject, not estimated.
    """

    file: str
    what: str
    purpose: str
    taken: datetime
    body: camera.Body
    glass: lens.Lens
    f_number: float
    style: rendering.Style = rendering.EVERYDAY
    bias_ev: float = 0.0
    slowest: float = 1 / 60
    orientation: int = 1
    measured_white: bool = False
    seed: int = 1
    truth: Mapping[str, Any] = field(default_factory=dict)


def take(plan: Plan, planes: Array, white: Array, folder: Path, *, noise: bool = True) -> dict[str, Any]:
    """Take one frame and write its file.

    Parameters
    ----------
    plan
        The frame.
    planes
        (H, W, 3) upright planes of the scene (see :mod:`making.camera`), absolute in cd/m².
    white
        Planes (3,) of a perfect white card on the main subject, absolute like ``planes``.
    folder
        Where the file goes.
    noise
        False leaves photon and read noise out (rounding stays).

    Returns
    -------
    dict
        The frame's entry for the registry.
    """
    body = plan.body
    drawn = np.rot90(lens.through(plan.glass, planes), _TURNS[plan.orientation])
    metered = camera.meter(drawn)
    exposure = camera.choose_exposure(
        metered - plan.bias_ev, plan.f_number, slowest=plan.slowest, base_iso=body.base_iso
    )
    mosaic = camera.expose(body, drawn, exposure, seed=plan.seed if noise else None)
    as_shot, mired = camera.estimate_white(body, mosaic, exposure.ev100)
    if plan.measured_white:
        as_shot = white / white[1]
        mired = camera.mired_of(body, as_shot)
    path = _write(plan, mosaic, exposure, as_shot, folder)
    facts = _camera_facts(plan, exposure, metered, mosaic)
    light = _light_facts(plan, white, exposure, as_shot, mired)
    low, high = np.percentile(planes[..., 1], (0.5, 99.9))
    span = {"scene_range_ev": round(float(np.log2(high / low)), 2)}
    return _entry(plan, path, {**facts, **light, **span})


def _write(
    plan: Plan, mosaic: NDArray[np.uint16], exposure: camera.Exposure, as_shot: Array, folder: Path
) -> Path:
    body, glass = plan.body, plan.glass
    readout = rendering.Readout(
        signal=(mosaic.astype(np.float64) - body.black) / (body.white - body.black),
        sites=camera.colours(body, mosaic.shape),
        neutral=as_shot,
        xyz_to_camera=camera.xyz_to_camera(body),
        noise=camera.noise_profile(body, exposure.iso),
        distortion=glass.distortion,
        falloff_ev=glass.falloff_ev,
    )
    return write_dng(
        folder / plan.file,
        mosaic,
        pattern=body.pattern,
        black=body.black,
        white=body.white,
        as_shot_neutral=tuple(as_shot),
        color_matrix=camera.xyz_to_camera(body, camera.TUNGSTEN),
        illuminant=camera.TUNGSTEN,
        second=(camera.DAYLIGHT, camera.xyz_to_camera(body), None),
        orientation=plan.orientation,
        default_crop=(0, 0, *mosaic.shape),
        preview_jpeg=rendering.render(readout, plan.style, scale=body.rendering_scale),
        exif={
            "iso": exposure.iso,
            "exposure_time": exposure.seconds,
            "f_number": exposure.f_number,
            "focal_length": glass.focal_length,
            "focal_35mm": glass.focal_35mm,
            "bias_ev": plan.bias_ev,
            "taken": plan.taken,
            "lens": glass.name,
            "make": body.make,
            "model": body.model,
        },
        setting=plan.style.name,
        noise_profile=camera.noise_profile(body, exposure.iso),
        camera_model=f"{body.make} {body.model}",
    )


def _camera_facts(
    plan: Plan, exposure: camera.Exposure, metered: float, mosaic: NDArray[np.uint16]
) -> dict[str, Any]:
    body = plan.body
    return {
        "body": f"{body.make} {body.model}",
        "pattern": f"{len(body.pattern)}x{len(body.pattern[0])}",
        "black": body.black,
        "white": body.white,
        "orientation": plan.orientation,
        "exposure": asdict(exposure),
        "bias_ev": plan.bias_ev,
        "white_from_card": plan.measured_white,
        "ev100_metered": round(metered, 3),
        "ev100_used": round(exposure.ev100, 3),
        "clipped_share": round(float((mosaic >= body.white).mean()), 6),
        "noise_profile": list(camera.noise_profile(body, exposure.iso)),
        "lens": asdict(plan.glass),
        "style": asdict(plan.style),
    }


def _light_facts(
    plan: Plan, white: Array, exposure: camera.Exposure, as_shot: Array, mired: float
) -> dict[str, Any]:
    """The camera's white and the true one, and by how much an 18 % grey on the subject misses 12.7 %."""
    true = white / white[1]
    grey = camera.signal(0.18 * white, exposure)[1]
    return {
        "as_shot_neutral": [round(float(v), 6) for v in as_shot],
        "as_shot_mired": round(mired, 1),
        "true_neutral": [round(float(v), 6) for v in true],
        "true_mired": round(camera.mired_of(plan.body, true), 1),
        "subject_white_level": round(float(white[1]), 4),
        "subject_grey_error_ev": round(float(np.log2(grey / 0.127)), 3),
    }


def _entry(plan: Plan, path: Path, facts: Mapping[str, Any]) -> dict[str, Any]:
    return {
        "file": path.name,
        "sha256": hashlib.sha256(path.read_bytes()).hexdigest(),
        "bytes": path.stat().st_size,
        "what": plan.what,
        "for": plan.purpose,
        "truth": {**facts, **plan.truth},
    }
