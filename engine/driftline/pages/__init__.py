"""The history as pages: static files that open from disk, told in distance from the camera and in time.

Owns the geometry, the words and the templates of the pages, and their folder. It takes a ledger's history as
plain data and pictures from whoever renders them; it must not know git, raw files or how pixels are made, nor
the terminal. Read :func:`~driftline.pages.build.build_page` and :func:`~driftline.pages.telling.story_of`
first.
"""

from driftline.pages.build import build_page
from driftline.pages.pictures import ledger_page
from driftline.pages.story import Amount, Look, Picture, Print, Proof, Reading, Story, Version
from driftline.pages.telling import story_of

__all__ = [
    "Amount",
    "Look",
    "Picture",
    "Print",
    "Proof",
    "Reading",
    "Story",
    "Version",
    "build_page",
    "ledger_page",
    "story_of",
]
