"""The whole demo shoot: render the scenes, take the frames, write the registry.

    python -m making.shoot --planes FOLDER [--out FOLDER] [--frames NAME …] [--size 1200] [--draft 1.0]

Rendered planes are kept in ``--planes``, so that frames can be taken again without rendering again.
"""

from __future__ import annotations

import argparse
import json
import time
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from making import camera, lens, palette, rendering, spectra
from making.frames import Plan, take

Array = NDArray[np.float64]
_PRIMARY = 16  # primary rays a pixel for albedo and normals
HERE = Path(__file__).resolve().parent.parent


@dataclass(frozen=True)
class Rendered:
    """What rendering leaves of a scene; ``patches`` and ``observed`` for the chart only."""

    planes: Array
    white: Array
    samples: Array
    patches: Array | None = None
    observed: Array | None = None


def _evening(minute: int) -> datetime:
    return datetime(2024, 11, 4, 18, minute)


def _next_day(hour: int, minute: int) -> datetime:
    return datetime(2024, 11, 5, hour, minute)


PLANS: dict[str, Plan] = {
    "night-wide": Plan(
        "01-night-wide.dng",
        "the terminus on a wet evening, tram and mixed lamps",
        "a night that the meter made 1 to 2 EV brighter than nights look; mixed lamps; ISO 6400",
        _evening(12),
        camera.K2,
        lens.WIDE,
        2.8,
        slowest=1 / 320,
        seed=101,
    ),
    "night-middle": Plan(
        "02-night-middle.dng",
        "someone waiting under an umbrella by the lit stop",
        "silhouette, mixed light, shallow focus, highest noise",
        _evening(19),
        camera.K2,
        lens.MIDDLE,
        1.8,
        slowest=1 / 250,
        seed=102,
    ),
    "night-tight": Plan(
        "03-night-tight.dng",
        "a potter's window with bare bulbs",
        "clipped lamps, warm light that is not neutralised",
        _evening(31),
        camera.K6,
        lens.MIDDLE,
        2.0,
        slowest=1 / 60,
        seed=103,
    ),
    "fog-wide": Plan(
        "04-fog-wide.dng",
        "the terminus in morning fog",
        "fog that the meter made grey: about 1 EV too dark",
        _next_day(7, 48),
        camera.K2,
        lens.WIDE,
        5.6,
        seed=104,
    ),
    "fog-middle": Plan(
        "05-fog-middle.dng",
        "a red coat between the rails, the fog behind",
        "low contrast; one strong colour",
        _next_day(7, 55),
        camera.K6,
        lens.MIDDLE,
        4.0,
        seed=105,
    ),
    "grey-middle": Plan(
        "06-grey-middle.dng",
        "a red coat at the market, camera on its side",
        "grey day; orientation; red and skin",
        _next_day(9, 14),
        camera.K2,
        lens.MIDDLE,
        2.8,
        orientation=6,
        seed=106,
    ),
    "grey-tight": Plan(
        "07-grey-tight.dng",
        "crates of fruit and greens under the arcade",
        "saturated colours and foliage in soft light",
        _next_day(9, 22),
        camera.K2,
        lens.MIDDLE,
        2.8,
        seed=107,
    ),
    "chart": Plan(
        "08-chart.dng",
        "a chart of 24 patches on a market table",
        "colour accuracy: patches of known reflectance",
        _next_day(9, 31),
        camera.K2,
        lens.REPRO,
        8.0,
        bias_ev=1 / 3,
        measured_white=True,
        seed=108,
    ),
    "shade-middle": Plan(
        "09-shade-middle.dng",
        "waiting at the stop in deep shade",
        "skylight only: a cold white",
        _next_day(11, 40),
        camera.K2,
        lens.MIDDLE,
        2.8,
        seed=109,
    ),
    "noon-wide": Plan(
        "10-noon-wide.dng",
        "the market and the square at noon",
        "harsh light, deep shade, blue sky; the richer setting",
        _next_day(11, 52),
        camera.K6,
        lens.WIDE,
        8.0,
        style=rendering.RICH,
        seed=110,
    ),
    "noon-middle": Plan(
        "11-noon-middle.dng",
        "someone walking through the arcade's light",
        "the camera's monochrome mode",
        _next_day(11, 58),
        camera.K2,
        lens.MIDDLE,
        8.0,
        style=rendering.MONOCHROME,
        bias_ev=-1 / 3,
        seed=111,
    ),
    "noon-tight": Plan(
        "12-noon-tight.dng",
        "leaves and the clock tower against the sky",
        "foliage and sky",
        _next_day(12, 6),
        camera.K6,
        lens.MIDDLE,
        4.0,
        seed=112,
    ),
}


def render_scene(name: str, size: int = 1200, draft: float = 1.0) -> Rendered:
    """Render one scene; ``draft`` multiplies the number of samples."""
    from making import renderer, scenes, sets  # noqa: PLC0415 - these need Mitsuba
    from making.shapes import Pile  # noqa: PLC0415

    scene, body = scenes.SCENES[name], PLANS[name].body
    view = renderer.view_of(scene, size)
    pile = Pile()
    scene.build(pile)
    loaded = renderer.load(pile, scenes.lights(scene.light), wet=scene.wet)
    samples = max(1, round(scene.samples * draft))
    planes = renderer.render(loaded, view, body, samples=samples)
    met = renderer.guides(pile, view, wet=scene.wet, samples=max(4, round(_PRIMARY * draft)))
    planes = renderer.denoise(planes, met)
    if scene.fog:
        air = camera.response(body, palette.fog_light())
        through = renderer.transmittance(loaded, view, scene.fog)[..., None]
        planes = planes * through + air * (1 - through)
    white = renderer.card(scene, pile, body, samples=max(64, round(2000 * draft)))
    if name != "chart":
        return Rendered(planes, white, np.array(samples))
    corners = renderer.project(sets.chart_corners(), view)
    left, top = (int(v) for v in corners.reshape(-1, 2).min(axis=0))
    right, bottom = (int(np.ceil(v)) for v in corners.reshape(-1, 2).max(axis=0))
    window = (top, left, bottom - top, right - left)
    observed = np.zeros_like(planes)  # patches are averaged, so nothing is filtered
    observed[top:bottom, left:right] = renderer.render(loaded, view, None, samples=4 * samples, window=window)
    return Rendered(planes, white, np.array(samples), corners, observed)


def rectangles(corners: Array, shape: tuple[int, ...]) -> list[list[int]]:
    """Upright rectangles (top, left, height, width) well inside quadrilaterals of (column, row) corners."""
    found = []
    for quad in corners:
        x, y = np.sort(quad[:, 0]), np.sort(quad[:, 1])
        left, right, top, bottom = x[1], x[2], y[1], y[2]
        inset_x, inset_y = 0.15 * (right - left), 0.15 * (bottom - top)
        box = [top + inset_y, left + inset_x, bottom - top - 2 * inset_y, right - left - 2 * inset_x]
        if min(box[:2]) < 0 or box[0] + box[2] > shape[0] or box[1] + box[3] > shape[1]:
            raise ValueError("a patch of the chart lies outside the picture")
        found.append([int(np.ceil(box[0])), int(np.ceil(box[1])), int(box[2]), int(box[3])])
    return found


def chart_truth(rendered: Rendered) -> dict[str, Any]:
    """Per patch: rectangle, reflectance, XYZ under the nominal light, XYZ as the CIE observer saw it."""
    assert rendered.patches is not None
    assert rendered.observed is not None
    light = palette.overcast(1.0)
    boxes = rectangles(rendered.patches, rendered.planes.shape)
    patches = []
    for (name, reflectance), box in zip(spectra.chart().items(), boxes, strict=True):
        top, left, height, width = box
        seen = rendered.observed[top : top + height, left : left + width].mean(axis=(0, 1))
        patches.append(
            {
                "name": name,
                "rectangle": box,
                "reflectance": [round(float(v), 4) for v in reflectance],
                "xyz": [round(float(v), 6) for v in spectra.tristimulus(reflectance * light)],
                "xyz_seen": [round(float(v), 4) for v in seen],
            }
        )
    return {
        "light_xyz": [round(float(v), 6) for v in spectra.tristimulus(light)],
        "wavelengths_nm": [float(v) for v in spectra.WAVELENGTHS],
        "patches": patches,
    }


def keep(rendered: Rendered, path: Path) -> None:
    """Keep what was rendered, in half precision relative to its median."""
    arrays = {k: v for k, v in vars(rendered).items() if v is not None}
    np.savez_compressed(path, **{k: v.astype(np.float32) for k, v in arrays.items()})


def kept(path: Path) -> Rendered:
    """What was kept."""
    with np.load(path) as stored:
        return Rendered(**{k: stored[k].astype(np.float64) for k in stored.files})


def take_frame(name: str, rendered: Rendered, out: Path, *, noise: bool = True) -> dict[str, Any]:
    """Take one frame of a rendered scene, with its truth."""
    truth: dict[str, Any] = {"samples": int(rendered.samples)}
    if rendered.patches is not None:
        truth["chart"] = chart_truth(rendered)
    plan = replace(PLANS[name], truth=truth)
    return take(plan, rendered.planes, rendered.white, out, noise=noise)


def write_registry(entries: Sequence[dict[str, Any]], out: Path) -> None:
    """Write the registry, frames in the order of their names."""
    ordered = sorted(entries, key=lambda entry: entry["file"])
    (out / "registry.json").write_text(json.dumps({"frames": ordered}, indent=1) + "\n")


def main(arguments: Sequence[str] | None = None) -> None:
    """Render what is not yet rendered, and take every frame."""
    parser = argparse.ArgumentParser(description="Make the demo shoot.")
    parser.add_argument("--planes", type=Path, required=True, help="folder for what is rendered")
    parser.add_argument("--out", type=Path, default=HERE, help="folder for the frames and the registry")
    parser.add_argument("--frames", nargs="*", default=list(PLANS), help="which frames; default all")
    parser.add_argument("--size", type=int, default=1200, help="longer edge in pixels")
    parser.add_argument("--draft", type=float, default=1.0, help="multiplies the number of samples")
    given = parser.parse_args(arguments)
    given.planes.mkdir(parents=True, exist_ok=True)
    entries = []
    for name in given.frames:
        store = given.planes / f"{name}.npz"
        if not store.exists():
            started = time.monotonic()
            keep(render_scene(name, given.size, given.draft), store)
            print(f"{name}: rendered in {time.monotonic() - started:.0f} s", flush=True)
        entries.append(take_frame(name, kept(store), given.out))
        print(entries[-1]["file"], entries[-1]["bytes"], flush=True)
    write_registry(entries, given.out)


if __name__ == "__main__":
    main()
