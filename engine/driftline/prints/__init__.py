"""Prints: pixels in, a file that knows what made it out; and back from the file to what made it.

Owns encoding, ICC profiles, EXIF, XMP, provenance and the atomic writing of files. It must not know drift,
git or batches: versions and commits are words to it. Read :func:`~driftline.prints.encode.write_print` and
:func:`~driftline.prints.trace.read_provenance` first.
Names are loaded on first use, so that to read what made a print loads no kernels.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from driftline.first_use import on_first_use

_WHERE = {
    "Credit": "xmp",
    "Encoding": "provenance",
    "Location": "exif",
    "Making": "provenance",
    "Provenance": "provenance",
    "Remade": "remaking",
    "Space": "icc",
    "Traced": "trace",
    "Written": "encode",
    "decoder_name": "provenance",
    "depth_of": "provenance",
    "developed": "sized",
    "encode_print": "encode",
    "encoder_name": "jpeg",
    "glance": "trace",
    "icc_profile": "icc",
    "pixel_digest": "provenance",
    "read_provenance": "trace",
    "remake": "remaking",
    "sweep": "atomic",
    "write_file": "atomic",
    "write_new": "atomic",
    "write_print": "encode",
}

__all__ = [
    "Credit",
    "Encoding",
    "Location",
    "Making",
    "Provenance",
    "Remade",
    "Space",
    "Traced",
    "Written",
    "decoder_name",
    "depth_of",
    "developed",
    "encode_print",
    "encoder_name",
    "glance",
    "icc_profile",
    "pixel_digest",
    "read_provenance",
    "remake",
    "sweep",
    "write_file",
    "write_new",
    "write_print",
]

if TYPE_CHECKING:
    from driftline.prints.atomic import sweep, write_file, write_new
    from driftline.prints.encode import Written, encode_print, write_print
    from driftline.prints.exif import Location
    from driftline.prints.icc import Space, icc_profile
    from driftline.prints.jpeg import encoder_name
    from driftline.prints.provenance import Encoding, Making, Provenance, decoder_name, depth_of, pixel_digest
    from driftline.prints.remaking import Remade, remake
    from driftline.prints.sized import developed
    from driftline.prints.trace import Traced, glance, read_provenance
    from driftline.prints.xmp import Credit

__getattr__ = on_first_use(__name__, _WHERE)


def __dir__() -> list[str]:
    return sorted(__all__)
