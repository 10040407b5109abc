"""Messages between a process and its decoder child: a length, then JSON."""

from __future__ import annotations

import json
import struct
from collections.abc import Callable, Mapping
from typing import Any

_HEAD = struct.Struct(">I")


def pack_message(message: Mapping[str, Any]) -> bytes:
    """A message as bytes: four bytes of length (big-endian), then UTF-8 JSON.

    Examples
    --------
    >>> pack_message({"want": "sensor"})
    b'\\x00\\x00\\x00\\x12{"want": "sensor"}'
    """
    body = json.dumps(message).encode()
    return _HEAD.pack(len(body)) + body


def take_message(take: Callable[[int], bytes]) -> dict[str, Any]:
    """Read one message.

    Parameters
    ----------
    take
        Gives exactly the number of bytes it is asked for, or raises ``EOFError``.

    Raises
    ------
    EOFError
        If the other side has closed.

    Examples
    --------
    >>> import io
    >>> take_message(io.BytesIO(pack_message({"want": "sensor"})).read)
    {'want': 'sensor'}
    """
    (size,) = _HEAD.unpack(take(_HEAD.size))
    message = json.loads(take(size))
    if not isinstance(message, dict):
        raise ValueError(f"a message is a JSON object, not {type(message).__name__}")
    return message
