"""A likeness: text and back, its digest, and what it says of a lens."""

from __future__ import annotations

import pytest

from driftline.errors import RecipeError
from driftline.recipe import TONE_STOPS, LensTerms, Likeness, likeness_text, parse_likeness

PLAIN = Likeness(camera="Ostrel K2", matrix=(1.0, 0.0, 0.0, 0.0, 1.0, 0.0, 0.0, 0.0, 1.0), tone=TONE_STOPS)


def zoom(*focal_lengths: float) -> Likeness:
    """A likeness with one lens at several focal lengths; distortion rises by 0.01 with each."""
    terms = {
        f"zoom-{n}": LensTerms(name="zoom", focal_mm=mm, distortion=(-0.02 + 0.01 * n, 0.0, 0.0))
        for n, mm in enumerate(focal_lengths)
    }
    return Likeness(camera=PLAIN.camera, matrix=PLAIN.matrix, tone=PLAIN.tone, lens=terms)


def test_text_and_back() -> None:
    """What is written is read as the same, with lenses and without; without them the text has none."""
    for likeness in (PLAIN, zoom(18.0, 35.0)):
        assert parse_likeness(likeness_text(likeness), source="text") == likeness
    assert "lens" not in likeness_text(PLAIN)


def test_the_digest_changes_with_what_touches_a_pixel() -> None:
    """Lenses count, how many pairs they were learned from does not; a likeness without them keeps its own."""
    assert PLAIN.digest() == "eadc3653c768"  # as it was before likenesses knew lenses
    assert zoom(18.0).digest() != PLAIN.digest()
    more = zoom(18.0).lens["zoom-0"].model_copy(update={"pairs": 9})
    assert zoom(18.0).model_copy(update={"lens": {"zoom-0": more}}).digest() == zoom(18.0).digest()


def test_a_focal_length_between_two_has_part_of_each() -> None:
    """Half-way in ratio is half of each; a hair beside one is that one; beyond them nothing is known."""
    likeness = zoom(18.0, 72.0)
    between = likeness.lens_terms("zoom", 36.0)
    assert between is not None
    assert between.distortion[0] == pytest.approx(-0.015)
    nearly = likeness.lens_terms("zoom", 18.3)
    assert nearly is not None
    assert nearly.distortion[0] == -0.02
    assert likeness.lens_terms("zoom", 100.0) is None
    assert likeness.lens_terms("another", 36.0) is None
    assert likeness.lens_terms("zoom", None) is None


def test_terms_of_no_lens_are_refused() -> None:
    """A distortion that no lens has names the file, and what is allowed."""
    text = likeness_text(zoom(18.0)).replace("-0.02", "-2.0")
    with pytest.raises(RecipeError, match="text") as refused:
        parse_likeness(text, source="text")
    assert "0.5" in refused.value.message
