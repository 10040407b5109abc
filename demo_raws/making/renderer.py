"""From a pile of triangles to planes: path tracing with the camera's own sensitivities as the film.

Mitsuba 3 (Jakob et al. 2022) in its spectral variant; the film integrates radiance against each colour's
sensitivity, so no RGB stands between light and photosite. What noise is left in the light on things is taken
out by Open Image Denoise (Áfra 2019 on), guided by albedo and normals; the texture of things stays.
"""

from __future__ import annotations

import tempfile
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import drjit as dr
import mitsuba as mi
import numpy as np
from numpy.typing import NDArray

from making import camera, materials, spectra
from making.shapes import Pile

Array = NDArray[np.float64]
Node = dict[str, Any]
_LANES = 4_000_000  # samples a pass; more would not fit small memories


@dataclass(frozen=True)
class View:
    """Where the camera stands and looks; distances and the aperture's radius in metres."""

    eye: tuple[float, float, float]
    target: tuple[float, float, float]
    focal_35mm: float
    aperture: float
    focus: float
    width: int
    height: int


def view_of(scene: Any, size: int) -> View:
    """The view of a scene at ``size`` pixels on the longer edge, 3 : 2."""
    short = round(size * 2 / 3)
    width, height = (short, size) if scene.upright else (size, short)
    aperture = scene.focal / scene.f_number / 2000.0
    return View(scene.eye, scene.target, scene.focal_35mm, aperture, scene.focus, width, height)


def film_of(responses: Mapping[str, Array], view: View) -> Node:
    """A film that records one channel a response."""
    film: Node = {
        "type": "specfilm",
        "width": view.width,
        "height": view.height,
        "rfilter": {"type": "box"},  # noise that neighbours do not share is the easiest to take out
        "component_format": "float32",
    }
    film.update({name: materials.spectrum(values) for name, values in responses.items()})
    return film


def responses_of(body: camera.Body | None) -> dict[str, Array]:
    """The sensitivities of a body, or for None the CIE 1931 observer."""
    columns = spectra.observer() if body is None else camera.sensitivities(body)
    return {f"s{k}": columns[:, k] for k in range(3)}


def _sensor(view: View, film: Node) -> Node:
    return {
        "type": "thinlens",
        "fov": float(np.degrees(2 * np.arctan(18.0 / view.focal_35mm))),
        "fov_axis": "larger",
        "aperture_radius": max(view.aperture, 1e-5),
        "focus_distance": view.focus,
        "near_clip": 0.05,
        "far_clip": 1000.0,
        "to_world": mi.ScalarTransform4f().look_at(list(view.eye), list(view.target), [0, 0, 1]),
        "film": film,
        "sampler": {"type": "independent", "sample_count": 16},
    }


def load(pile: Pile, lights: Mapping[str, Node], *, wet: bool, plain: bool = False) -> mi.Scene:
    """A scene without a sensor of its own; ``plain`` is for :func:`guides`."""
    nodes: Node = {"type": "scene", "integrator": {"type": "path", "max_depth": 6, "rr_depth": 3}, **lights}
    looks, glows = materials.surfaces(wet=wet, plain=plain), materials.lamps()
    with tempfile.TemporaryDirectory() as folder:
        for name, path in pile.write(Path(folder)).items():
            mesh: Node = {"type": "ply", "filename": str(path)}
            if name in glows:
                mesh["emitter"] = glows[name]
                mesh["bsdf"] = {"type": "diffuse", "reflectance": 0.5}
            else:
                mesh["bsdf"] = looks[name]
            nodes[f"mesh_{name}"] = mesh
        return mi.load_dict(nodes)


def _accumulate(scene: mi.Scene, sensor: Node, integrator: mi.Integrator, samples: int, seed: int) -> Array:
    loaded = mi.load_dict(sensor)
    film = sensor["film"]
    most = max(1, _LANES // (film["width"] * film["height"]))
    passes = -(-samples // most)
    each = -(-samples // passes)
    total: Array | float = 0.0
    for k in range(passes):
        image = mi.render(scene, sensor=loaded, integrator=integrator, spp=each, seed=seed * 10_000 + k)
        total = total + np.nan_to_num(np.array(image, dtype=np.float64), posinf=0.0)
    return np.asarray(total / passes)


def render(
    scene: mi.Scene,
    view: View,
    body: camera.Body | None,
    *,
    samples: int,
    seed: int = 1,
    window: tuple[int, int, int, int] | None = None,
) -> Array:
    """Planes (H, W, 3), or XYZ in cd/m² for the observer, still with the renderer's noise.

    Of a ``window`` (top, left, height, width) only, if one is given.
    """
    film = film_of(responses_of(body), view)
    if window is not None:
        names = ("crop_offset_y", "crop_offset_x", "crop_height", "crop_width")
        film.update(zip(names, window, strict=True))
    integrator = mi.load_dict({"type": "path", "max_depth": 6, "rr_depth": 3})
    return np.asarray(
        _accumulate(scene, _sensor(view, film), integrator, samples, seed)[..., :3] * _scale(body)
    )


def _plain_film(view: View) -> Node:
    return {
        "type": "hdrfilm",
        "width": view.width,
        "height": view.height,
        "pixel_format": "rgb",
        "component_format": "float32",
        "rfilter": {"type": "box"},
    }


_ALBEDO_NM = (606.0, 540.0, 462.0, 540.0)  # where red, green and blue see most; the film takes four


class _Surfaces(mi.SamplingIntegrator):  # type: ignore[misc]
    """What a primary ray meets: albedo at fixed wavelengths, its square, and the shading normal.

    Mitsuba's own albedo is drawn at random wavelengths; this one has no noise but that of lens and pixel.
    """

    def sample(
        self, scene: Any, sampler: Any, ray: Any, medium: Any = None, active: Any = True
    ) -> tuple[Any, Any, list[Any]]:
        met = scene.ray_intersect(mi.Ray3f(ray), active)
        met.wavelengths = mi.Spectrum(*_ALBEDO_NM)
        hit = met.is_valid()
        bsdf = met.bsdf(ray)
        seen = bsdf.eval_diffuse_reflectance(met, active & hit)
        lamp = met.shape.is_emitter()
        albedo = [mi.Float(dr.select(hit & ~lamp, seen[k], 1.0)) for k in range(3)]
        normal = [dr.select(hit, met.sh_frame.n[k], 0.0) for k in range(3)]
        return mi.Spectrum(0.0), hit, [*albedo, *(a * a for a in albedo), *normal]

    def aov_names(self) -> list[str]:
        return [f"{name}.{axis}" for name in ("albedo", "square", "normal") for axis in "RGB"]


mi.register_integrator("met_surfaces", _Surfaces)


@dataclass(frozen=True)
class Guides:
    """Albedo (H, W, 3), the standard error of its mean, and the shading normal (H, W, 3)."""

    albedo: Array
    error: Array
    normal: Array


def guides(pile: Pile, view: View, *, wet: bool, samples: int = 256, seed: int = 1) -> Guides:
    """What the denoiser is guided by, from so many primary rays a pixel."""
    scene = load(pile, {}, wet=wet, plain=True)
    integrator = mi.load_dict({"type": "met_surfaces"})
    channels = _accumulate(scene, _sensor(view, _plain_film(view)), integrator, samples, seed)[..., -9:]
    albedo, square, normal = channels[..., :3], channels[..., 3:6], channels[..., 6:]
    return Guides(albedo, np.sqrt(np.clip(square - albedo**2, 0, None) / samples), normal)


def transmittance(scene: mi.Scene, view: View, extinction: float, *, samples: int = 24) -> Array:
    """How much light of each pixel (H, W) gets through even fog (Koschmieder 1924); none from infinity."""
    integrator = mi.load_dict({"type": "aov", "aovs": "depth:depth"})
    sensor = _sensor(view, _plain_film(view))
    total = np.zeros((view.height, view.width))
    for k in range(samples):  # one sample at a time: the mean of exponentials, not of distances
        distance = _accumulate(scene, sensor, integrator, 1, 50_000 + k)[..., -1]
        total += np.where(distance > 0, np.exp(-extinction * distance), 0.0)
    return total / samples


_scales: dict[str, float] = {}


def _scale(body: camera.Body | None) -> float:
    """What one unit of the film is, measured on a uniform D65 field of 1 cd/m²."""
    key = "observer" if body is None else body.model
    if key not in _scales:
        field = materials.spectrum(spectra.of_luminance(spectra.daylight(6504.0), 1.0))
        scene = mi.load_dict({"type": "scene", "sky": {"type": "constant", "radiance": field}})
        view = View((0, 0, 0), (0, 1, 0), 35, 0, 1, 32, 32)
        integrator = mi.load_dict({"type": "path", "max_depth": 2})
        seen = _accumulate(scene, _sensor(view, film_of(responses_of(body), view)), integrator, 2048, 5)
        _scales[key] = 1.0 / float(seen[..., 1].mean())
    return _scales[key]


def denoise(planes: Array, met: Guides) -> Array:
    """Planes with the renderer's noise taken out, and the texture of surfaces left as it is.

    The planes are divided by the albedo, which is known all but exactly, so that the filter sees light and
    not texture; then multiplied by it again. Where the albedo itself is unsure by more than about a
    fiftieth (out of focus, before edges), a filtered albedo stands in. The filter is told of an even albedo:
    shown the true one, it would draw texture into the light once more (measured: a check of 10 % comes out
    at 20 %).
    """
    from pyoidn import denoise as clean  # noqa: PLC0415 - a tool for the final frames only

    raw = np.clip(met.albedo, 0, 1).astype(np.float32)
    calm = np.clip(clean(raw), 0, 1).astype(np.float64)
    normal = clean(met.normal.astype(np.float32))
    floor = 0.02
    sure = 1 / (1 + (met.error / (0.02 * (met.albedo + floor))) ** 2)
    albedo = np.maximum(sure * met.albedo + (1 - sure) * calm, floor)
    light = planes / albedo
    level = float(np.median(light)) or 1.0
    cleaned = clean(
        (light / level).astype(np.float32),
        albedo=np.ones_like(light, dtype=np.float32),
        normal=normal.clip(-1, 1),
        hdr=True,
        clean_aux=True,
    )
    return np.asarray(np.clip(np.asarray(cleaned, dtype=np.float64) * level * albedo, 0, None))


def card(scene: Any, pile: Pile, body: camera.Body, *, samples: int) -> Array:
    """Camera RGB of a perfect white card on the subject, facing the photographer; it is added to the pile."""
    place, eye = np.array(scene.card), np.array(scene.eye)
    ahead = (eye - place) / np.linalg.norm(eye - place)
    side = np.cross(ahead, (0, 0, 1.0))
    side /= np.linalg.norm(side)
    up = np.cross(side, ahead)
    corners = [place + 0.06 * (a * side + b * up) for a, b in ((-1, -1), (1, -1), (1, 1), (-1, 1))]
    pile.quads("card_white", np.array([corners]))
    x, y, z = (float(v) for v in place + 0.2 * ahead)
    view = View((x, y, z), scene.card, 90.0, 0.0, 0.2, 8, 8)
    from making import scenes  # noqa: PLC0415 - scenes stand above the renderer

    loaded = load(pile, scenes.lights(scene.light), wet=scene.wet)
    return np.asarray(render(loaded, view, body, samples=samples).mean(axis=(0, 1)) / 0.90)


def project(points: Array, view: View) -> Array:
    """Pixel (column, row) of world points (…, 3), by the pinhole of the view."""
    eye, target = np.array(view.eye), np.array(view.target)
    ahead = (target - eye) / np.linalg.norm(target - eye)
    side = np.cross(ahead, (0, 0, 1.0))
    side /= np.linalg.norm(side)
    up = np.cross(side, ahead)
    offset = points - eye
    depth = offset @ ahead
    scale = max(view.width, view.height) / 2 * view.focal_35mm / 18.0
    column = view.width / 2 + scale * (offset @ side) / depth
    row = view.height / 2 - scale * (offset @ up) / depth
    return np.stack((column, row), axis=-1)
