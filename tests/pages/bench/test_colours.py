"""The page's colours, light and dark."""

from __future__ import annotations

import re
from importlib.resources import files

import pytest

CSS = (files("driftline.pages.bench") / "templates" / "bench.css").read_text()
ROOTS = re.findall(r":root \{(.*?)\}", CSS, re.DOTALL)


def colours(block: str) -> dict[str, str]:
    """The custom properties that hold a colour."""
    return dict(re.findall(r"--(\w+): (#[0-9a-f]{6});", block))


def luminance(colour: str) -> float:
    """Relative luminance of an sRGB colour, as WCAG 2.2 defines it."""
    parts = [int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)]
    linear = [part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in parts]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


@pytest.mark.parametrize("block", ROOTS, ids=["light", "dark"])
@pytest.mark.parametrize("ground", ["paper", "slab"])
@pytest.mark.parametrize("text", ["ink", "quiet", "brass"])
def test_text_can_be_read(block: str, ground: str, text: str) -> None:
    """At least 4.5 to 1 against what it stands on (WCAG 2.2, success criterion 1.4.3, level AA)."""
    shades = colours(block)
    lighter, darker = sorted((luminance(shades[ground]), luminance(shades[text])), reverse=True)
    assert (lighter + 0.05) / (darker + 0.05) >= 4.5


def test_both_schemes_set_the_same_colours() -> None:
    """Nothing that is set for the one is left over in the other."""
    light, dark = map(colours, ROOTS)
    assert light.keys() == dark.keys()
    assert all(light[name] != dark[name] for name in light)
