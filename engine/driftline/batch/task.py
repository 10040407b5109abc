"""What the parent of a run hands to its workers: the name of the work, without what the work needs."""

from __future__ import annotations

from typing import Any


def print_frame(job: dict[str, Any]) -> dict[str, Any]:
    """Make one print: :func:`driftline.batch.job.print_frame`, loaded with its kernels where it is done."""
    from driftline.batch import job as printing  # noqa: PLC0415 (a parent of workers never needs it)

    return printing.print_frame(job)
