"""Every error a user can meet, as one tree.

    DriftlineError                exit_status 2, a stable kebab-case code, a hint that says the next step
    ├── RecipeError               a recipe (or settings) file that cannot be taken as it is
    ├── FrameError                one frame that cannot be developed; costs that frame and nothing else
    ├── LedgerError               the ledger refused, or is not what it should be
    ├── PrintError                a print that cannot be written or traced
    └── UsageError                a request that makes no sense as asked

The message says what was found, where, and what was expected; the hint says what to do next.
Being over-edited is a result, not an error.
"""

from __future__ import annotations


class DriftlineError(Exception):
    """Base of all errors that are meant for the user.

    Parameters
    ----------
    code
        Stable, kebab-case, for programs: ``recipe-out-of-range``.
    message
        What was found, where, and what was expected.
    hint
        The next step, without a leading "try:".

    Examples
    --------
    >>> print(RecipeError("recipe-out-of-range", "dusk.toml, line 9, exposure.ev: 9.0; allowed -6 to 6",
    ...                   hint="a value between -6 and 6").report())
    error [recipe-out-of-range] dusk.toml, line 9, exposure.ev: 9.0; allowed -6 to 6
      try: a value between -6 and 6
    """

    exit_status = 2

    def __init__(self, code: str, message: str, *, hint: str = "") -> None:
        super().__init__(message)
        self.code = code
        self.message = message
        self.hint = hint

    def report(self) -> str:
        """The error as it is printed, one or two lines."""
        head = f"error [{self.code}] {self.message}"
        return f"{head}\n  try: {self.hint}" if self.hint else head


class RecipeError(DriftlineError):
    """A recipe, correction or settings text that cannot be taken as it is."""


class FrameError(DriftlineError):
    """One frame that cannot be developed or compared."""


class LedgerError(DriftlineError):
    """The ledger refused the request, or is not what it should be."""


class PrintError(DriftlineError):
    """A print that cannot be written, read or traced."""


class UsageError(DriftlineError):
    """A request that makes no sense as asked."""
