"""Published tables against colour-science."""

from __future__ import annotations

from types import ModuleType

import numpy as np

from driftline.colorimetry.tables import CIE_1931


def test_cie_1931_row_by_row(colour: ModuleType) -> None:
    """Every row of the standard observer equals colour-science's table (CIE 15:2004, table T.4)."""
    observer = colour.MSDS_CMFS["CIE 1931 2 Degree Standard Observer"]
    assert CIE_1931[:, 0].tolist() == list(range(360, 831, 5))
    for wavelength, *values in CIE_1931:
        np.testing.assert_allclose(
            values, observer[wavelength], rtol=2e-6, atol=1e-12, err_msg=f"{wavelength} nm"
        )


def test_equal_energy_is_nearly_neutral() -> None:
    """The three functions have equal sums within 0.03 %, so equal energy is x = y = 1/3 (CIE 15)."""
    sums = CIE_1931[:, 1:].sum(axis=0)
    np.testing.assert_allclose(sums / sums.mean(), 1, atol=3e-4)
