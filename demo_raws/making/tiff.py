"""TIFF directories: typed entries in, bytes out (TIFF 6.0, Adobe 1992, section 2; little endian)."""

from __future__ import annotations

import struct
from collections.abc import Sequence
from dataclasses import dataclass, field
from fractions import Fraction

BYTE, ASCII, SHORT, LONG, RATIONAL, UNDEFINED, SRATIONAL, DOUBLE = 1, 2, 3, 4, 5, 7, 10, 12
_CODES = {BYTE: "B", SHORT: "H", LONG: "I", UNDEFINED: "B", DOUBLE: "d"}
_LARGEST = {RATIONAL: 0xFFFFFFFF, SRATIONAL: 0x7FFFFFFF}


def _rational(value: float | Fraction, kind: int) -> tuple[int, int]:
    """The fraction nearest to a number whose two halves fit 32 bits."""
    exact = Fraction(value)
    limit = 1_000_000 if isinstance(value, float) else _LARGEST[kind]
    near = exact.limit_denominator(limit)
    while abs(near.numerator) > _LARGEST[kind] and limit > 1:
        limit //= 10
        near = exact.limit_denominator(max(limit, 1))
    return near.numerator, near.denominator


def _packed(kind: int, values: Sequence[float | Fraction] | bytes | str) -> tuple[bytes, int]:
    """The value bytes of one entry, and its count."""
    if kind == ASCII:
        text = str(values).encode("ascii", "replace") + b"\0"
        return text, len(text)
    if isinstance(values, bytes):
        return values, len(values)
    if kind in _LARGEST:
        layout = "<II" if kind == RATIONAL else "<ii"
        return b"".join(struct.pack(layout, *_rational(v, kind)) for v in values), len(values)  # type: ignore[arg-type]
    return struct.pack(f"<{len(values)}{_CODES[kind]}", *values), len(values)


@dataclass
class Directory:
    """One image file directory: entries by tag, and the block of pixel bytes it points to, if any."""

    entries: dict[int, tuple[int, bytes, int]] = field(default_factory=dict)
    pointers: dict[int, Directory] = field(default_factory=dict)
    block: bytes | None = None
    block_tag: int = 273

    def put(self, tag: int, kind: int, *values: float | Fraction) -> None:
        """Enter numbers under a tag."""
        packed, count = _packed(kind, values)
        self.entries[tag] = (kind, packed, count)

    def text(self, tag: int, text: str) -> None:
        """Enter ASCII text under a tag."""
        packed, count = _packed(ASCII, text)
        self.entries[tag] = (ASCII, packed, count)

    def raw(self, tag: int, kind: int, content: bytes) -> None:
        """Enter bytes under a tag (BYTE or UNDEFINED)."""
        self.entries[tag] = (kind, content, len(content))

    def point(self, tag: int, directory: Directory) -> None:
        """Let a tag point to another directory."""
        self.put(tag, LONG, 0)
        self.pointers[tag] = directory

    def hold(self, block: bytes) -> None:
        """Hold a block of pixel bytes as one strip."""
        self.block = block
        self.put(self.block_tag, LONG, 0)
        self.put(279, LONG, len(block))


def _even(position: int) -> int:
    return position + position % 2


def _place(directory: Directory, start: int) -> tuple[bytes, int]:
    """Lay a directory, what it points to, and its block from ``start`` on; returns bytes and their end."""
    tags = sorted(directory.entries)
    cursor = _even(start + 2 + 12 * len(tags) + 4)
    tail = bytearray()

    def append(content: bytes) -> int:
        nonlocal cursor
        at = cursor
        tail.extend(content + b"\0" * (len(content) % 2))
        cursor += _even(len(content))
        return at

    for tag, below in directory.pointers.items():
        content, _ = _place(below, cursor)
        directory.put(tag, LONG, append(content))
    if directory.block is not None:
        directory.put(directory.block_tag, LONG, append(directory.block))
    table = bytearray(struct.pack("<H", len(tags)))
    for tag in tags:
        kind, packed, count = directory.entries[tag]
        inline = packed.ljust(4, b"\0") if len(packed) <= 4 else struct.pack("<I", append(packed))
        table += struct.pack("<HHI", tag, kind, count) + inline
    table += struct.pack("<I", 0)
    table += b"\0" * (_even(start + len(table)) - start - len(table))
    return bytes(table) + bytes(tail), cursor


def tiff_bytes(first: Directory) -> bytes:
    """A whole little-endian TIFF file with one chain of one directory.

    >>> tiff_bytes(Directory())[:4]
    b'II*\\x00'
    """
    content, _ = _place(first, 8)
    return struct.pack("<2sHI", b"II", 42, 8) + content
