"""Prints: pixels in, a file that knows what made it out; and back from the file to what made it.

Owns encoding, ICC profiles, EXIF, XMP, provenance and the atomic writing of files. It must not know drift,
git or batches: versions and commits are words to it. Read :func:`~driftline.prints.encode.write_print` and
:func:`~driftline.prints.trace.read_provenance` first.
"""

from driftline.prints.atomic import sweep, write_file, write_new
from driftline.prints.encode import Written, encode_print, write_print
from driftline.prints.exif import Location
from driftline.prints.icc import Space, icc_profile
from driftline.prints.jpeg import encoder_name
from driftline.prints.provenance import Encoding, Making, Provenance, decoder_name, depth_of, pixel_digest
from driftline.prints.remake import Remade, remake
from driftline.prints.sized import developed
from driftline.prints.trace import Traced, glance, read_provenance
from driftline.prints.xmp import Credit

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
