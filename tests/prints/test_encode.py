"""Quality and ceiling of JPEG prints."""

from __future__ import annotations

from pathlib import Path

import pytest
from PIL import Image

from driftline.errors import PrintError, UsageError
from driftline.prints import Provenance, Written, write_print
from driftline.prints.encode import check_quality
from driftline.prints.jpeg import encode_jpeg
from prints.prints_made import picture, provenance

LARGE = picture(400, 600)


def told(quality: int, ceiling: int | None) -> Provenance:
    """A provenance that asks for a quality under a ceiling."""
    whole = provenance(LARGE)
    form = {"quality": quality, "ceiling_bytes": ceiling}
    return whole.model_copy(update={"making": whole.making.model_copy(update=form)})


def written(path: Path, quality: int, ceiling: int | None = None) -> Written:
    """A print of the large picture."""
    return write_print(LARGE, path, provenance=told(quality, ceiling))


def test_quality_is_what_was_asked(tmp_path: Path) -> None:
    """The tables in the file are those of Pillow at that quality."""
    for quality in (60, 92):
        with Image.open(written(tmp_path / f"{quality}.jpg", quality).path) as ours:
            found = ours.quantization
        (tmp_path / "plain.jpg").write_bytes(encode_jpeg(LARGE, quality=quality))
        with Image.open(tmp_path / "plain.jpg") as plain:
            assert found == plain.quantization


def test_a_ceiling_is_kept_and_used(tmp_path: Path) -> None:
    """The whole file, metadata and all, stays below the ceiling, and the next quality up would not."""
    free = written(tmp_path / "free.jpg", 95).size_bytes
    ceiling = free // 2
    bound = written(tmp_path / "bound.jpg", 95, ceiling)
    assert bound.path.stat().st_size == bound.size_bytes <= ceiling
    metadata = free - len(encode_jpeg(LARGE, quality=95))
    fitting = [q for q in range(40, 96) if len(encode_jpeg(LARGE, quality=q)) + metadata <= ceiling]
    assert bound.size_bytes - metadata == pytest.approx(len(encode_jpeg(LARGE, quality=max(fitting))), abs=40)


def test_a_ceiling_that_is_high_enough_changes_nothing(tmp_path: Path) -> None:
    """The picture is that of the quality asked for."""
    free, bound = written(tmp_path / "a.jpg", 90), written(tmp_path / "b.jpg", 90, 10_000_000)
    assert free.provenance.picture == bound.provenance.picture


def test_an_impossible_ceiling_is_refused(tmp_path: Path) -> None:
    """A ceiling no quality reaches is an error with the figures, and no file."""
    with pytest.raises(PrintError) as caught:
        written(tmp_path / "a.jpg", 90, 5_000)
    assert caught.value.code == "ceiling-too-small"
    assert not list(tmp_path.iterdir())


@pytest.mark.parametrize("quality", [0, 101, -5])
def test_odd_qualities_are_refused(quality: int) -> None:
    """Outside 1 … 100."""
    with pytest.raises(UsageError) as caught:
        check_quality(quality)
    assert caught.value.code == "quality-out-of-range"
