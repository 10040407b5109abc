"""Keys and digests: equal for equal pictures, different for any other."""

from __future__ import annotations

import hashlib

import numpy as np
import pytest
from pydantic import ValidationError

from driftline.prints import Making, pixel_digest
from prints.prints_made import picture, provenance

OTHER = {
    "fingerprint": "f" * 64,
    "recipe": "quay-noon",
    "identity": "e" * 64,
    "ref": "tram-fog@9",
    "correction": None,
    "likeness": None,
    "edition": 4,
    "space": "display-p3",
    "long_edge": None,
    "acutance": 0.0,
    "encoding": "tiff",
    "quality": 93,
    "ceiling_bytes": None,
}


def test_every_field_of_the_making_counts() -> None:
    """Each field at another value gives another key; none is forgotten."""
    making = provenance(picture()).making
    assert set(OTHER) == set(Making.model_fields)
    keys = {making.model_copy(update={name: value}).key() for name, value in OTHER.items()}
    assert len(keys | {making.key()}) == len(OTHER) + 1


def test_the_key_does_not_ask_where_the_frame_lies() -> None:
    """Name and commit are told but do not make another picture."""
    one, other = provenance(picture()), provenance(picture(), frame="renamed.dng", commit=None)
    assert one.making.key() == other.making.key()


def test_a_folder_is_not_told() -> None:
    """Of the frame's path only the name is kept."""
    whole = provenance(picture()).model_dump() | {"frame": "/home/ines/shoots/night-07.dng"}
    assert type(provenance(picture()))(**whole).frame == "night-07.dng"


def test_a_digest_is_checked_for_form() -> None:
    """A digest that is none is refused at the door."""
    with pytest.raises(ValidationError):
        Making(fingerprint="short", recipe="a", identity="0" * 64, edition=1, quality=92)


@pytest.mark.parametrize(("encoding", "quality"), [("jpeg", None), ("tiff", 92), ("jpeg", 0)])
def test_a_quality_belongs_to_a_jpeg(encoding: str, quality: int | None) -> None:
    """A JPEG without a quality, or a TIFF with one, is no making."""
    with pytest.raises(ValidationError):
        Making(
            fingerprint="0" * 64,
            recipe="a",
            identity="0" * 64,
            edition=1,
            encoding=encoding,
            quality=quality,
        )


def test_pixel_digest_is_sha256_over_type_shape_and_values() -> None:
    """By hand: the text '|u1 (1, 2, 3)' and a line end, then the bytes in row order."""
    pixels = np.arange(6, dtype=np.uint8).reshape(1, 2, 3)
    assert pixel_digest(pixels) == hashlib.sha256(b"|u1 (1, 2, 3)\n\0\1\2\3\4\5").hexdigest()


def test_pixel_digest_ignores_how_memory_lies() -> None:
    """A view, another stride or another byte order is the same picture; another shape is not."""
    pixels = np.arange(24, dtype=np.uint16).reshape(2, 4, 3)
    turned = np.asfortranarray(pixels)
    assert pixel_digest(turned) == pixel_digest(pixels) == pixel_digest(pixels.astype(">u2"))
    assert pixel_digest(pixels.reshape(4, 2, 3)) != pixel_digest(pixels)
