"""The bench: a recipe edited on a page while its proofs, and their distance from the camera, follow.

Owns the state of an edit, the live pictures and the page that shows them, served on the loopback address
alone. It writes nothing but through the ledger. Read :class:`~driftline.pages.bench.edit.Edit` and
:func:`~driftline.pages.bench.routes.application` first. Served with the extra ``driftline[bench]``.
"""

from driftline.pages.bench.serving import serve

__all__ = ["serve"]
