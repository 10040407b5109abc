"""Flat painted scenes that stand in until the rendered shoot replaces them."""

from __future__ import annotations

import json
from dataclasses import dataclass, replace
from datetime import datetime
from pathlib import Path
from typing import Any

import numpy as np
from PIL import Image, ImageDraw, ImageFilter

from making import camera, lens, rendering, spectra
from making.frames import Plan, take

WIDTH, HEIGHT = 900, 600
GREY = spectra.bumps(0.18)
MATERIALS = {
    "asphalt": spectra.bumps(0.09),
    "stone": spectra.step(0.30, 0.42, 560, 60),
    "plaster": spectra.step(0.45, 0.62, 540, 40),
    "brick": spectra.step(0.07, 0.32, 590, 18),
    "leaf": spectra.bumps(0.04, (0.12, 550, 28), (0.5, 740, 30)),
    "skin": spectra.step(0.20, 0.52, 580, 30),
    "coat": spectra.bumps(0.05, (0.08, 450, 35)),
    "red": spectra.step(0.04, 0.55, 605, 10),
    "yellow": spectra.step(0.06, 0.68, 520, 12),
    "blue": spectra.bumps(0.05, (0.3, 460, 30)),
    "white": spectra.bumps(0.85),
    "grey": GREY,
    "dark": spectra.bumps(0.02),
}
NAMES = list(MATERIALS)


@dataclass
class Scene:
    """A painted scene: material by place, and how much of two lights falls there."""

    labels: Image.Image
    first: np.ndarray
    second: np.ndarray


def _street(size: tuple[int, int], seed: int) -> Image.Image:
    """A street: sky, two rows of houses, road, rails, people, a tram-like body."""
    w, h = size
    generator = np.random.default_rng(seed)
    labels = Image.new("L", size, NAMES.index("white"))
    draw = ImageDraw.Draw(labels)
    horizon = int(h * 0.52)
    draw.rectangle((0, horizon, w, h), fill=NAMES.index("asphalt"))
    for side in (0, 1):
        x = 0.0
        while x < w * 0.42:
            wide = w * generator.uniform(0.06, 0.13)
            tall = h * generator.uniform(0.18, 0.46) * (1 - 0.7 * x / (0.42 * w)) + h * 0.1
            left, right = (x, x + wide) if side == 0 else (w - x - wide, w - x)
            wall = str(generator.choice(["stone", "plaster", "brick", "yellow"]))
            draw.rectangle((left, horizon - tall, right, horizon + h * 0.04), fill=NAMES.index(wall))
            for row in np.arange(horizon - tall + 12, horizon - 20, 26):
                for column in np.arange(left + 8, right - 10, 20):
                    draw.rectangle((column, row, column + 9, row + 14), fill=NAMES.index("dark"))
            x += wide
    for k in (-0.12, -0.08, 0.08, 0.12):
        draw.line((w * (0.5 + k), h, w * (0.5 + k * 0.1), horizon), fill=NAMES.index("stone"), width=3)
    draw.rounded_rectangle((w * 0.44, h * 0.40, w * 0.56, h * 0.60), 8, fill=NAMES.index("red"))
    draw.rectangle((w * 0.46, h * 0.43, w * 0.54, h * 0.50), fill=NAMES.index("dark"))
    for _ in range(7):
        x, size_h = generator.uniform(0.1, 0.9) * w, generator.uniform(0.10, 0.26) * h
        foot = horizon + h * 0.04 + size_h * 0.8
        coat = NAMES.index(str(generator.choice(["coat", "brick", "blue", "grey"])))
        draw.rounded_rectangle((x, foot - size_h, x + size_h * 0.3, foot), size_h * 0.1, fill=coat)
        head = size_h * 0.1
        draw.ellipse(
            (x + head * 0.5, foot - size_h - head * 1.6, x + head * 2.3, foot - size_h + head * 0.2),
            fill=NAMES.index("skin"),
        )
    for _ in range(40):
        x, y = generator.normal(0.16, 0.06) * w, generator.normal(0.34, 0.06) * h
        draw.ellipse((x, y, x + 26, y + 20), fill=NAMES.index("leaf"))
    draw.rectangle((w * 0.62, h * 0.72, w * 0.70, h * 0.84), fill=NAMES.index("grey"))
    draw.rectangle((w * 0.71, h * 0.72, w * 0.79, h * 0.84), fill=NAMES.index("white"))
    return labels


def _chart(size: tuple[int, int]) -> tuple[Image.Image, list[tuple[int, int, int, int]]]:
    """24 patches, six by four, on grey; and their inner rectangles (top, left, height, width)."""
    w, h = size
    labels = Image.new("L", size, NAMES.index("grey"))
    draw = ImageDraw.Draw(labels)
    pitch = int(w / 8)
    top, left = (h - 4 * pitch) // 2, w // 8
    draw.rectangle((left - 8, top - 8, left + 6 * pitch + 8, top + 4 * pitch + 8), fill=NAMES.index("dark"))
    rectangles = []
    for k in range(24):
        y, x = top + (k // 6) * pitch, left + (k % 6) * pitch
        draw.rectangle((x + 8, y + 8, x + pitch - 9, y + pitch - 9), fill=len(NAMES) + k)
        rectangles.append((y + 26, x + 26, pitch - 52, pitch - 52))
    return labels, rectangles


def planes(body: camera.Body, scene: Scene, first: np.ndarray, second: np.ndarray) -> np.ndarray:
    """Camera planes of a painted scene under two lights (radiance of a perfect white, per unit)."""
    reflectances = np.array([*MATERIALS.values(), *spectra.chart().values()])
    index = np.asarray(scene.labels)
    total = np.zeros((*index.shape, 3))
    for light, amount in ((first, scene.first), (second, scene.second)):
        total += camera.response(body, reflectances * light)[index] * amount[..., None]
    return total


def _amounts(kind: str, size: tuple[int, int]) -> tuple[np.ndarray, np.ndarray]:
    """How much of the two lights falls where."""
    w, h = size
    y, x = np.mgrid[0:h, 0:w] / np.array([h, w])[:, None, None]
    if kind == "noon":
        shade = Image.new("L", size, 255)
        ImageDraw.Draw(shade).polygon(((0, h * 0.5), (w * 0.4, h * 0.55), (w * 0.25, h), (0, h)), fill=0)
        sun = np.asarray(shade.filter(ImageFilter.GaussianBlur(3))) / 255.0
        return sun, np.full((h, w), 0.45) + 0.1 * (1 - y)
    if kind == "fog":
        far = np.clip(1.4 - np.abs(y - 0.5) * 2, 0.3, 1)
        return np.full((h, w), 0.7) + 0.3 * far, np.zeros((h, w))
    if kind == "night":
        pools = sum(
            np.exp(-(((x - a) / 0.12) ** 2 + ((y - b) / 0.25) ** 2))
            for a, b in ((0.2, 0.7), (0.55, 0.5), (0.85, 0.65))
        )
        lamps = sum(8000.0 * (np.hypot((x - a) * 1.5, y - b) < 0.012) for a, b in ((0.2, 0.2), (0.55, 0.33)))
        return 0.004 + pools + lamps, 0.02 * np.ones((h, w)) * (1 - y)
    if kind == "window":
        inside = np.exp(-(((x - 0.5) / 0.2) ** 2 + ((y - 0.45) / 0.2) ** 2))
        lamp = 900.0 * (np.hypot((x - 0.5) * 1.5, y - 0.25) < 0.02)
        return inside + lamp + 0.01, 0.05 * np.ones((h, w))
    return np.ones((h, w)), 0.1 * np.ones((h, w))


def _plans() -> list[tuple[Plan, str, np.ndarray, float, np.ndarray, float]]:
    """Every frame with its kind of light, and the two lights with the luminance of white in them."""
    day, sky, grey = spectra.daylight(5300), spectra.daylight(9500), spectra.daylight(6800)
    lamp, cold = spectra.planckian(2750), spectra.lamp("LED-B5")
    when = datetime
    return [
        (Plan("frame-01-night.dng", "night street, two lights", "metered", when(2031, 11, 4, 19, 12),
              camera.K2, lens.WIDE, 2.0), "night", lamp, 12.0, cold, 3.0),
        (Plan("frame-02-window.dng", "clipped lamp", "clipped highlights", when(2031, 11, 4, 19, 40),
              camera.K6, lens.MIDDLE, 2.0), "window", lamp, 60.0, cold, 4.0),
        (Plan("frame-03-fog.dng", "fog", "metered to grey", when(2031, 11, 5, 7, 55),
              camera.K2, lens.WIDE, 5.6), "fog", grey, 4000.0, grey, 1.0),
        (Plan("frame-04-grey.dng", "grey day, turned", "orientation", when(2031, 11, 5, 9, 20),
              camera.K2, lens.MIDDLE, 4.0, orientation=6), "flat", grey, 3000.0, sky, 800.0),
        (Plan("frame-05-chart.dng", "24-patch chart", "colour accuracy", when(2031, 11, 5, 9, 31),
              camera.K2, lens.REPRO, 5.6, bias_ev=0.3), "chart", spectra.daylight(5500), 4000.0, sky, 0.0),
        (Plan("frame-06-noon.dng", "harsh noon", "contrast", when(2031, 11, 5, 11, 58),
              camera.K6, lens.WIDE, 8.0, style=rendering.RICH), "noon", day, 24000.0, sky, 9000.0),
        (Plan("frame-07-mono.dng", "noon, monochrome mode", "monochrome rendering", when(2031, 11, 5, 12, 4),
              camera.K2, lens.MIDDLE, 8.0, style=rendering.MONOCHROME), "noon", day, 24000.0, sky, 9000.0),
        (Plan("frame-08-shade.dng", "deep shade", "cold light", when(2031, 11, 5, 12, 20),
              camera.K2, lens.LONG, 2.8), "flat", sky, 700.0, day, 30.0),
    ]  # fmt: skip


def make(folder: Path) -> list[dict[str, Any]]:
    """Make every frame and the registry in a folder."""
    entries = []
    for seed, (plan, kind, first, level, second, other) in enumerate(_plans()):
        size = (WIDTH, HEIGHT) if plan.orientation == 1 else (HEIGHT, WIDTH)
        truth: dict[str, Any] = {}
        one, two = spectra.of_luminance(first, level), spectra.of_luminance(second, max(other, 1e-6))
        if kind == "chart":
            labels, rectangles = _chart(size)
            lights = (np.ones((size[1], size[0])), np.zeros((size[1], size[0])))
            truth["chart"] = chart_truth(one, rectangles)
        else:
            labels, lights = _street(size, seed), _amounts(kind, size)
        scene = Scene(labels, *lights)
        full = replace(plan, seed=seed + 1, truth=truth)
        entries.append(take(full, planes(plan.body, scene, one, two), one, folder))
    (folder / "registry.json").write_text(json.dumps({"frames": entries}, indent=1) + "\n")
    return entries


def chart_truth(light: np.ndarray, rectangles: list[tuple[int, int, int, int]]) -> dict[str, Any]:
    """Patches with their upright rectangles and the XYZ they have under the light (white's Y = 1)."""
    white = spectra.tristimulus(light) / spectra.luminance(light)
    patches = []
    for (name, reflectance), rectangle in zip(spectra.chart().items(), rectangles, strict=True):
        xyz = spectra.tristimulus(reflectance * light) / spectra.luminance(light)
        patches.append(
            {
                "name": name,
                "rectangle": list(rectangle),
                "xyz": [round(float(v), 6) for v in xyz],
                "reflectance": [round(float(v), 4) for v in reflectance],
            }
        )
    return {
        "light_xyz": [round(float(v), 6) for v in white],
        "wavelengths_nm": [float(v) for v in spectra.WAVELENGTHS],
        "patches": patches,
    }


if __name__ == "__main__":
    for entry in make(Path(__file__).resolve().parent.parent):
        print(entry["file"], entry["bytes"], entry["truth"]["exposure"], entry["truth"]["as_shot_mired"])
