"""Chromatic adaptation against published products and colour-science."""

from __future__ import annotations

from types import ModuleType
from typing import Literal

import numpy as np
import pytest

from driftline.arrays import Matrix
from driftline.colorimetry import adaptation_matrix, xy_to_XYZ
from driftline.colorimetry.adaptation import BRADFORD, CAT16
from driftline.colorimetry.primaries import D50_XY, D65_XY

D65, D50 = xy_to_XYZ(D65_XY), xy_to_XYZ(D50_XY)
A = xy_to_XYZ((0.44758, 0.40745))
METHODS: list[Literal["bradford", "cat16"]] = ["bradford", "cat16"]

# Products of the published cone matrices (Bradford: Lam 1985 as in ICC.1; CAT16: Li et al. 2017), computed
# with colour-science 0.4.7 for the whites of CIE 15.
PRODUCTS = [
    (
        "bradford", D65, D50,
        [[1.04792979, 0.02294687, -0.05019227], [0.02962781, 0.99043443, -0.01707380],
         [-0.00924304, 0.01505519, 0.75187428]],
    ),
    (
        "bradford", D50, D65,
        [[0.95547342, -0.02309845, 0.06325924], [-0.02836971, 1.00999540, 0.02104144],
         [0.01231401, -0.02050765, 1.33036593]],
    ),
    (
        "bradford", A, D65,
        [[0.84466898, -0.11795009, 0.39501339], [-0.13664966, 1.10412663, 0.12923543],
         [0.07989369, -0.13497786, 3.19358826]],
    ),
    (
        "cat16", D65, D50,
        [[1.01085433, 0.04070861, -0.03414458], [0.00542814, 0.99358193, 0.00115592],
         [0.00025072, -0.01149188, 0.76796495]],
    ),
]  # fmt: skip


@pytest.mark.parametrize(("method", "source", "target", "product"), PRODUCTS)
def test_published_products(
    method: Literal["bradford", "cat16"], source: Matrix, target: Matrix, product: list[list[float]]
) -> None:
    """The Bradford and CAT16 products come out to 1e-7."""
    np.testing.assert_allclose(adaptation_matrix(source, target, method=method), product, atol=1e-7)


@pytest.mark.parametrize(("method", "name"), [("bradford", "Bradford"), ("cat16", "CAT16")])
def test_against_colour_science(colour: ModuleType, method: Literal["bradford", "cat16"], name: str) -> None:
    """Random pairs of whites give the matrix colour-science gives."""
    for source, target in np.random.default_rng(8).uniform(0.4, 1.4, (20, 2, 3)):
        oracle = colour.adaptation.matrix_chromatic_adaptation_VonKries(source, target, transform=name)
        np.testing.assert_allclose(adaptation_matrix(source, target, method=method), oracle, atol=1e-7)


def test_cone_matrices_are_the_published_ones(colour: ModuleType) -> None:
    """The cone matrices equal colour-science's."""
    np.testing.assert_array_equal(BRADFORD, colour.adaptation.CAT_BRADFORD)
    np.testing.assert_array_equal(CAT16, colour.adaptation.CAT_CAT16)


@pytest.mark.parametrize("method", METHODS)
def test_white_goes_to_white(method: Literal["bradford", "cat16"]) -> None:
    """The first white is mapped to the second, and one white to itself is the identity."""
    np.testing.assert_allclose(adaptation_matrix(A, D65, method=method) @ A, D65, atol=1e-12)
    np.testing.assert_allclose(adaptation_matrix(A, A, method=method), np.eye(3), atol=1e-12)


@pytest.mark.parametrize("method", METHODS)
def test_there_and_back(method: Literal["bradford", "cat16"]) -> None:
    """The way back is the inverse."""
    there, back = adaptation_matrix(A, D65, method=method), adaptation_matrix(D65, A, method=method)
    np.testing.assert_allclose(back @ there, np.eye(3), atol=1e-12)
