"""What made a print: everything that fixes its pixels, and nothing that depends on when it was made."""

from __future__ import annotations

import hashlib
import json
from importlib.metadata import version
from typing import Any, Final, Literal, Self, TypeAlias

import numpy as np
from numpy.typing import NDArray
from pydantic import BaseModel, ConfigDict, Field, field_validator, model_validator

from driftline.prints.icc import Space

FORMAT: Final = 1
Encoding: TypeAlias = Literal["jpeg", "tiff"]
_DIGEST = r"^[0-9a-f]{64}$"


class Making(BaseModel):
    """A print as it is asked for: which frame, by which recipe, in which form.

    Two makings with equal :meth:`key` ask for the same picture; the frame's name and place do not count.
    """

    model_config = ConfigDict(frozen=True, extra="forbid")

    fingerprint: str = Field(pattern=_DIGEST, description="SHA-256 of the frame's file")
    recipe: str = Field(description="name of the recipe")
    identity: str = Field(description="SHA-256 of the recipe's parameters, without its words")
    ref: str | None = Field(None, description="the version, tram-fog@7; None: a recipe outside any ledger")
    correction: str | None = Field(None, description="the frame's correction as text; None: none")
    likeness: str | None = Field(None, description="which likeness, with its digest; None: the standing one")
    edition: int = Field(ge=1, description="of the pipeline")
    space: Space = "srgb"
    long_edge: int | None = Field(None, ge=1, description="pixels; None: as developed")
    acutance: float = Field(0.0, description="added for the size of the print, on top of the recipe's")
    encoding: Encoding = Field("jpeg", description="8 bits, or tiff: 16 bits, nothing lost")
    quality: int | None = Field(None, ge=1, le=100, description="of a JPEG; None for TIFF")
    ceiling_bytes: int | None = Field(None, ge=1, description="quality goes down until the file is no larger")

    @model_validator(mode="after")
    def _jpeg_has_a_quality(self) -> Self:
        if (self.quality is None) == (self.encoding == "jpeg"):
            raise ValueError("a JPEG has a quality, a TIFF has none")
        return self

    def key(self) -> str:
        """SHA-256 over all fields: equal keys, equal picture."""
        return hashlib.sha256(_canonical(self.model_dump())).hexdigest()


class Provenance(BaseModel):
    """What a print says of itself.

    Examples
    --------
    >>> sha = "0" * 64
    >>> making = Making(fingerprint=sha, recipe="dusk", identity=sha, ref="dusk@7", edition=1, quality=92)
    >>> Provenance(making=making, frame="night-07.dng", decoder="none", mosaic=sha, pixels=sha).version
    '7'
    """

    model_config = ConfigDict(frozen=True, extra="forbid")

    making: Making
    frame: str = Field(description="the frame's file name, without its folder")
    quick: str | None = Field(None, description="the frame's quick fingerprint")
    commit: str | None = Field(None, description="the ledger's commit that holds the version")
    anchor_ev: float = Field(0.0, description="where the camera rendering put the frame's exposure")
    decoder: str = Field(description="name and version of what read the raw file")
    encoder: str = Field("", description="name and version of what wrote the picture")
    mosaic: str = Field(pattern=_DIGEST, description="SHA-256 of the decoded sensor values")
    pixels: str | None = Field(
        None, pattern=_DIGEST, description="SHA-256 of the developed pixels before encoding"
    )
    picture: str | None = Field(
        None, pattern=_DIGEST, description="SHA-256 of the picture as stored in the file"
    )
    recipe_text: str | None = Field(None, description="the whole recipe, if asked for")

    @field_validator("frame")
    @classmethod
    def _no_folder(cls, frame: str) -> str:
        """A folder says more of a disk than others need to know."""
        return frame.rsplit("/", 1)[-1]

    @property
    def version(self) -> str | None:
        """The part of the ref behind the @: ``7``, or ``8.laptop``."""
        return self.making.ref.partition("@")[2] if self.making.ref else None


def pixel_digest(pixels: NDArray[Any]) -> str:
    """SHA-256 of an array: its type, its shape and its values in row order, little-endian.

    Parameters
    ----------
    pixels
        Any shape and dtype.

    Returns
    -------
    str
        64 hexadecimal digits, equal on every machine.

    Examples
    --------
    >>> import numpy as np
    >>> pixel_digest(np.zeros((2, 2, 3), np.uint8))[:16]
    'ed27407997846a80'
    """
    little = np.ascontiguousarray(pixels, dtype=pixels.dtype.newbyteorder("<"))
    digest = hashlib.sha256(f"{little.dtype.str} {little.shape}\n".encode())
    digest.update(little.data)
    return digest.hexdigest()


def depth_of(making: Making) -> Literal[8, 16]:
    """Bits a channel that a print of this encoding is made of."""
    return 8 if making.encoding == "jpeg" else 16


def decoder_name() -> str:
    """Name and version of what reads raw files here, as it stands in a print."""
    return f"rawpy {version('rawpy')}"


def _canonical(fields: dict[str, Any]) -> bytes:
    return json.dumps(fields, sort_keys=True, separators=(",", ":"), ensure_ascii=True).encode()
