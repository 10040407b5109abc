"""Triangles of the demo's scenes: closed, of the right size, facing out."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from making.shapes import Pile, turned
from making.stalls import chart_board


def _volume(pile: Pile, material: str) -> float:
    """Volume enclosed by triangles that face out, by the divergence theorem."""
    points = np.concatenate(pile.triangles[material])
    return float(np.einsum("ni,ni->n", points[:, 0], np.cross(points[:, 1], points[:, 2])).sum() / 6)


def test_a_box_encloses_its_volume() -> None:
    """Two by three by four metres are 24 m³, positive since every face looks out."""
    pile = Pile()
    pile.box("wood", (1, 1, 1), (3, 4, 5))
    assert _volume(pile, "wood") == pytest.approx(24.0)


def test_a_ball_encloses_its_volume() -> None:
    """A fine ellipsoid comes within 2 % of 4/3 π abc, and its normals point out, as lamps need."""
    pile = Pile()
    pile.ball("lamp", (2, 0, 1), (0.5, 0.4, 0.3), 64)
    assert _volume(pile, "lamp") == pytest.approx(4 / 3 * np.pi * 0.5 * 0.4 * 0.3, rel=0.02)
    points, normals = np.concatenate(pile.triangles["lamp"]), np.concatenate(pile.normals["lamp"])
    assert np.all(np.einsum("nki,nki->nk", points - (2, 0, 1), normals) > 0)


def test_a_bent_rod_keeps_its_thickness() -> None:
    """A rod along a quarter of a circle is its radius thick all along: it does not twist or pinch."""
    pile, angle = Pile(), np.linspace(0, np.pi / 2, 91)
    path = np.stack((np.sin(angle), 0.2 * np.sin(angle), np.cos(angle)), axis=1)
    pile.tube("rod", path, 0.05, 64)
    points, normals = np.concatenate(pile.triangles["rod"]), np.concatenate(pile.normals["rod"])
    nearest = np.linalg.norm(points[:, :, None] - path, axis=-1).argmin(axis=-1)
    np.testing.assert_allclose(np.linalg.norm(points - path[nearest], axis=-1), 0.05, rtol=0.01)
    assert np.all(np.einsum("nki,nki->nk", points - path[nearest], normals) > 0)


def test_a_pile_is_put_into_another_scaled_turned_and_shifted() -> None:
    """A box of 2 x 1 x 1, half as large and turned a quarter, covers 0.5 x 1 x 0.5."""
    inner, pile = Pile(), Pile()
    inner.box("wood", (0, 0, 0), (2, 1, 1))
    pile.put(inner, (10, 0, 0), 90, scale=0.5)
    points = np.concatenate(pile.triangles["wood"]).reshape(-1, 3)
    np.testing.assert_allclose(np.ptp(points, axis=0), (0.5, 1.0, 0.5), atol=1e-12)
    np.testing.assert_allclose(points.max(axis=0), (10, 1, 0.5), atol=1e-12)


def test_turning_a_quarter_takes_east_to_north() -> None:
    """90° about the vertical takes (1, 0, 0) to (0, 1, 0)."""
    np.testing.assert_allclose(turned([[1, 0, 0]], 90), [[0, 1, 0]], atol=1e-12)


def test_the_pile_stands_where_it_is_told() -> None:
    """A turned and shifted box ends where its corners should."""
    pile = Pile()
    pile.at((10, 0, 0), 90).box("wood", (0, 0, 0), (2, 1, 1))
    points = np.concatenate(pile.triangles["wood"]).reshape(-1, 3)
    np.testing.assert_allclose(points.min(axis=0), (9, 0, 0), atol=1e-12)
    np.testing.assert_allclose(points.max(axis=0), (10, 2, 1), atol=1e-12)


def test_the_chart_has_24_equal_flat_patches() -> None:
    """Each patch is a square of 39 mm on a chart 0.30 m wide, in a plane that leans back by 20°."""
    corners = chart_board(Pile(), (0, 0, 0), 0, 20)
    assert corners.shape == (24, 4, 3)
    edges = np.linalg.norm(np.diff(corners, axis=1, append=corners[:, :1]), axis=2)
    np.testing.assert_allclose(edges, 0.84 * 0.30 / 6.5, rtol=1e-9)
    normal = np.cross(corners[0, 1] - corners[0, 0], corners[0, 3] - corners[0, 0])
    tilt = np.degrees(np.arcsin(normal[2] / np.linalg.norm(normal)))
    assert tilt == pytest.approx(20, abs=1e-6)


def test_a_pile_is_written_as_readable_ply(tmp_path: Path) -> None:
    """The header counts what the body holds."""
    pile = Pile()
    pile.box("wood", (0, 0, 0), (1, 1, 1))
    content = pile.write(tmp_path)["wood"].read_bytes()
    header, body = content.split(b"end_header\n", 1)
    assert b"element vertex 36\n" in header
    assert b"element face 12\n" in header
    assert len(body) == 36 * 8 * 4 + 12 * (1 + 3 * 4)
