"""How every material scatters light, and what the lamps emit, as nodes of a Mitsuba scene.

Needs Mitsuba only to wrap bitmaps; everything returned is a plain dictionary for ``mitsuba.load_dict``.
"""

from __future__ import annotations

from typing import Any

import mitsuba as mi
import numpy as np
from numpy.typing import NDArray

from making import palette, spectra, textures

mi.set_variant("scalar_spectral")  # no just-in-time compiler needed; spectral all the way to the film

Array = NDArray[np.float64]
Node = dict[str, Any]


def spectrum(values: Array) -> Node:
    """A spectrum node on our wavelength grid."""
    return {
        "type": "irregular",
        "wavelengths": ", ".join(f"{w:g}" for w in spectra.WAVELENGTHS),
        "values": ", ".join(f"{max(float(v), 0.0):.6g}" for v in values),
    }


def _diffuse(values: Array) -> Node:
    return {"type": "diffuse", "reflectance": spectrum(values)}


def _coated(values: Array, roughness: float) -> Node:
    return {
        "type": "roughplastic",
        "diffuse_reflectance": spectrum(values),
        "alpha": roughness,
        "nonlinear": True,
    }


def _bitmap(values: Array, metres: float) -> Node:
    return {
        "type": "bitmap",
        "bitmap": mi.Bitmap(np.ascontiguousarray(values[..., None], dtype=np.float32)),
        "raw": True,
        "wrap_mode": "repeat",
        "to_uv": mi.ScalarTransform4f().scale([1 / metres, 1 / metres, 1]),
    }


def _bumped(node: Node, height: Array, metres: float, scale: float) -> Node:
    return {"type": "bumpmap", "height": _bitmap(height, metres), "scale": scale, "bsdf": node}


def _blend(weight: Array, metres: float, zero: Node, one: Node) -> Node:
    return {"type": "blendbsdf", "weight": _bitmap(weight, metres), "zero": zero, "one": one}


def _ground(*, wet: bool) -> dict[str, Node]:
    """Setts, flagstones, asphalt: dry, or wet with puddles that mirror."""
    r = palette.reflectances()
    height, shade = textures.cobbles(1024, 3)
    slab_height, _, slab_shade = textures.bricks(1024, 5, courses=8, across=6)
    stain = textures.clouds(512, 9)
    tones = {
        "setts": (
            spectra.step(0.085, 0.10, 550, 50),
            spectra.step(0.16, 0.21, 560, 60),
            shade,
            height,
            3.0,
            0.035,
        ),
        "flags": (r["flags"] * 0.75, r["flags"] * 1.15, slab_shade, slab_height, 4.8, 0.012),
        "asphalt": (
            r["asphalt"] * 0.8,
            r["asphalt"] * 1.3,
            stain,
            textures.clouds(512, 10, roughness=1.0),
            2.0,
            0.01,
        ),
    }
    nodes = {}
    for k, (name, (dark, light, tone, relief, metres, deep)) in enumerate(tones.items()):
        if not wet:
            mixed = _blend(tone, metres, _diffuse(dark), _diffuse(light))
            nodes[name] = _bumped(mixed, relief, metres, deep)
            continue
        damp = _blend(tone, metres, _coated(dark * 0.45, 0.20), _coated(light * 0.5, 0.26))
        water = _coated(dark * 0.30, 0.035)
        pools = textures.puddles(1024, 21 + k, 0.42)
        nodes[name] = _blend(pools, 9.0, _bumped(damp, relief, metres, deep * 0.8), water)
    return nodes


def _walls() -> dict[str, Node]:
    """Stained plaster and brickwork."""
    r = palette.reflectances()
    stain, grain = textures.clouds(1024, 31), textures.clouds(512, 32, roughness=1.1)
    nodes = {}
    for name in ("ochre", "pale", "rose", "grey", "cream"):
        full = r[f"plaster_{name}"]
        mixed = _blend(stain, 7.0, _diffuse(full * 0.78), _diffuse(np.clip(full * 1.08, 0, 0.95)))
        nodes[f"plaster_{name}"] = _bumped(mixed, grain, 2.0, 0.006)
    height, mortar, shade = textures.bricks(1024, 33)
    stones = _blend(shade, 1.5, _diffuse(r["brick_dark"]), _diffuse(r["brick"]))
    nodes["brick"] = _bumped(_blend(mortar, 1.5, stones, _diffuse(r["mortar"])), height, 1.5, 0.012)
    nodes["stone"] = _bumped(
        _blend(stain, 3.0, _diffuse(r["stone"] * 0.8), _diffuse(r["stone"] * 1.05)), grain, 1.3, 0.008
    )
    return nodes


def surfaces(*, wet: bool) -> dict[str, Node]:
    """A two-sided scattering node for every material name."""
    nodes = {name: _diffuse(values) for name, values in palette.reflectances().items()}
    nodes.update(
        {name: _coated(palette.reflectances()[name], rough) for name, rough in palette.GLOSS.items()}
    )
    nodes.update(_ground(wet=wet))
    nodes.update(_walls())
    nodes["rail"] = {"type": "roughconductor", "material": "Cr", "alpha": 0.18}
    nodes["chrome"] = {"type": "roughconductor", "material": "Cr", "alpha": 0.08}
    nodes["pane"] = _coated(spectra.bumps(0.012), 0.03)
    if wet:
        nodes["slate"] = _coated(palette.reflectances()["slate"] * 0.6, 0.15)
        nodes["kerb"] = _coated(palette.reflectances()["kerb"] * 0.6, 0.2)
    two_sided: dict[str, Node] = {name: {"type": "twosided", "bsdf": node} for name, node in nodes.items()}
    for name in ("leaf", "leaf_light"):
        two_sided[name] = {
            "type": "principledthin",
            "base_color": spectrum(palette.reflectances()[name] * 1.7),
            "roughness": 0.45,
            "diff_trans": 0.9,
            "eta": 1.35,
        }
    return two_sided


def lamps() -> dict[str, Node]:
    """An area emitter for every lamp name."""
    return {
        name: {
            "type": "area",
            "radiance": spectrum(spectra.of_luminance(palette.lamp_spectrum(kind), level)),
            "sampling_weight": weight,
        }
        for name, (kind, level, weight) in palette.LAMPS.items()
    }
