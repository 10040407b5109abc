"""Public names of a package that are loaded on first use: a command pays for what it asks for alone."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from importlib import import_module
from typing import Any


def on_first_use(package: str, where: Mapping[str, str]) -> Callable[[str], Any]:
    """A package's ``__getattr__`` (PEP 562).

    Parameters
    ----------
    package
        Its full name.
    where
        The module inside it of each public name; no name is that of a module, which would hide it.

    Examples
    --------
    >>> on_first_use("driftline", {"UsageError": "errors"})("UsageError").__name__
    'UsageError'
    """

    def load(name: str) -> Any:
        try:
            module = where[name]
        except KeyError:
            raise AttributeError(f"module {package!r} has no attribute {name!r}") from None
        return getattr(import_module(f"{package}.{module}"), name)

    return load
