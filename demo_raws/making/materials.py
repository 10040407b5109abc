"""How every material scatters light, and what the lamps emit, as nodes of a Mitsuba scene.

Needs Mitsuba only to wrap bitmaps; everything returned is a plain dictionary for ``mitsuba.load_dict``.
"""

from __future__ import annotations

from typing import Any

import mitsuba as mi
import numpy as np
from numpy.typing import NDArray

from making import palette, spectra, textures

mi.set_variant("llvm_ad_spectral", "scalar_spectral")  # spectral to the film; scalar where there is no LLVM

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
    slab_height, joint, slab_shade = textures.bricks(2048, 5, courses=8, across=6)
    trodden = textures.mottled(2048, 11, fine=0.6)
    stain = textures.mottled(1024, 9)
    tones = {
        "setts": (
            spectra.step(0.085, 0.10, 550, 50),
            spectra.step(0.16, 0.21, 560, 60),
            shade,
            height,
            3.0,
            0.035,
        ),
        "flags": (
            r["flags"] * 0.50,
            r["flags"] * 1.25,
            (0.45 * slab_shade + 0.55 * trodden) * (1 - 0.5 * joint),
            slab_height,
            4.8,
            0.012,
        ),
        "kerb": (r["kerb"] * 0.65, r["kerb"] * 1.2, trodden, trodden, 3.0, 0.004),
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
    """Stained plaster with runs of rain, brickwork, stone, slate."""
    r = palette.reflectances()
    stain, runs = textures.mottled(2048, 31), textures.mottled(1024, 35, stretch=6)
    grain = textures.clouds(1024, 32, roughness=0.9)
    weathered = 0.68 * stain + 0.32 * np.kron(runs, np.ones((2, 2)))
    nodes = {}
    for name in ("ochre", "pale", "rose", "grey", "cream"):
        full = r[f"plaster_{name}"]
        mixed = _blend(weathered, 5.0, _diffuse(full * 0.55), _diffuse(np.clip(full * 1.22, 0, 0.95)))
        nodes[f"plaster_{name}"] = _bumped(mixed, grain, 1.2, 0.006)
    height, mortar, shade = textures.bricks(2048, 33)
    stones = _blend(shade, 1.5, _diffuse(r["brick_dark"] * 0.8), _diffuse(r["brick"] * 1.1))
    nodes["brick"] = _bumped(_blend(mortar, 1.5, stones, _diffuse(r["mortar"])), height, 1.5, 0.012)
    for name, metres, contrast in (("stone", 2.0, 0.32), ("plinth", 2.0, 0.30), ("inside_wall", 3.0, 0.15)):
        nodes[name] = _bumped(_uneven(r[name], stain, metres, contrast), grain, 1.3, 0.008)
    rows, gaps, tone = textures.bricks(1024, 37, courses=10, across=8)
    nodes["slate"] = _bumped(_uneven(r["slate"], tone * (1 - gaps), 2.4, 0.4), rows, 2.4, 0.02)
    return nodes


def _uneven(values: Array, map_: Array, metres: float, contrast: float) -> Node:
    """A matt reflectance that a map darkens and lightens by a share."""
    light = np.clip(values * (1 + contrast), 0, 0.95)
    return _blend(map_, metres, _diffuse(values * (1 - contrast)), _diffuse(light))


def _woven_and_sawn() -> dict[str, Node]:
    """Coats and awnings with a weave and wrinkles; timber with a grain, upright; bark."""
    r = palette.reflectances()
    twill, wrinkles = textures.weave(1024, 41, 48), textures.clouds(512, 43, roughness=1.9)
    grain = textures.mottled(1024, 45, fine=0.7, stretch=8)
    nodes = {}
    for name in r:
        if name.startswith(("coat_", "scarf_")) or name in ("trousers", "hat_brown", "seat"):
            nodes[name] = _bumped(_uneven(r[name], twill, 0.60, 0.20), wrinkles, 1.1, 0.018)
        elif name.startswith("cloth_") or name == "canvas":
            soiled = 0.5 * textures.mottled(1024, 47) + 0.5 * twill
            nodes[name] = _bumped(_uneven(r[name], soiled, 1.1, 0.22), wrinkles, 1.3, 0.05)
        elif name.startswith("hair_"):
            nodes[name] = _uneven(r[name], grain, 0.15, 0.45)
    for name, metres, contrast in (("wood", 1.0, 0.38), ("crate", 0.7, 0.28), ("bark", 0.6, 0.5)):
        nodes[name] = _bumped(_uneven(r[name], grain, metres, contrast), grain, metres, 0.004)
    nodes["hat_straw"] = _uneven(r["hat_straw"], textures.weave(512, 49, 40), 0.25, 0.35)
    return nodes


def surfaces(*, wet: bool, plain: bool = False) -> dict[str, Node]:
    """A two-sided scattering node for every material name; ``plain``: leaves and metal matt, for albedo."""
    nodes = {name: _diffuse(values) for name, values in palette.reflectances().items()}
    nodes.update(
        {name: _coated(palette.reflectances()[name], rough) for name, rough in palette.GLOSS.items()}
    )
    nodes.update(_ground(wet=wet))
    nodes.update(_walls())
    nodes.update(_woven_and_sawn())
    nodes["rail"] = {"type": "roughconductor", "material": "Cr", "alpha": 0.18}
    nodes["chrome"] = {"type": "roughconductor", "material": "Cr", "alpha": 0.08}
    nodes["pane"] = _coated(spectra.bumps(0.012), 0.03)
    if wet:
        nodes["slate"] = _coated(palette.reflectances()["slate"] * 0.6, 0.15)
    if plain:
        nodes.update({name: _diffuse(spectra.bumps(0.55)) for name in ("rail", "chrome")})
    two_sided: dict[str, Node] = {name: {"type": "twosided", "bsdf": node} for name, node in nodes.items()}
    if plain:
        return two_sided
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
