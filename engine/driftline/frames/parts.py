"""Parts of an open file, most of them out of one first read."""

from __future__ import annotations

import os
from typing import Final

_HEAD: Final = 64 * 1024
_MORE: Final = 4096


class Parts:
    """The bytes of a file by their place; what was read last is kept for the next question.

    Parameters
    ----------
    descriptor
        Open for reading; it stays open.
    """

    def __init__(self, descriptor: int) -> None:
        self._descriptor = descriptor
        self.size = os.fstat(descriptor).st_size
        self._start, self._block = 0, os.pread(descriptor, _HEAD, 0)

    def take(self, offset: int, count: int) -> bytes:
        """So many bytes from there on; ValueError where the file ends before."""
        at = offset - self._start
        if at < 0 or at + count > len(self._block):
            if offset < 0 or offset + count > self.size:
                raise ValueError("beyond the end")
            self._start, self._block = offset, os.pread(self._descriptor, max(count, _MORE), offset)
            at = 0
        part = self._block[at : at + count]
        if len(part) < count:
            raise ValueError("beyond the end")
        return part
