"""What names a frame wherever it lies."""

from __future__ import annotations

import hashlib
import os
from pathlib import Path

_BLOCK = 64 * 1024
_SAMPLES = 8


def fingerprint(path: Path) -> str:
    """SHA-256 of all bytes of a file, as hex."""
    with path.open("rb") as file:
        return hashlib.file_digest(file, "sha256").hexdigest()


def quick_fingerprint(path: Path) -> str:
    """SHA-256 of a file's size and of eight blocks of 64 KB spread evenly over it, as hex.

    For an index: it reads half a megabyte at most, and two files that differ only between the blocks have
    one quick fingerprint. Records and prints hold the full one.
    """
    digest = hashlib.sha256()
    with path.open("rb") as file:
        size = os.fstat(file.fileno()).st_size
        digest.update(f"{size}\n".encode())
        for offset in _offsets(size):
            file.seek(offset)
            digest.update(file.read(_BLOCK))
    return digest.hexdigest()


def _offsets(size: int) -> list[int]:
    if size <= _BLOCK * _SAMPLES:
        return list(range(0, size, _BLOCK))
    last = size - _BLOCK
    return [last * step // (_SAMPLES - 1) for step in range(_SAMPLES)]
