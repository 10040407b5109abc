"""Questions that people ask of a long history: which versions were made when, on which frame, how judged."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date, datetime, time, timedelta

from driftline.errors import UsageError
from driftline.ledger.versions import Version

VERDICTS = ("in keeping", "leaning", "overdone", "not judged")

When = datetime | date | str


def select(
    versions: Iterable[Version],
    *,
    since: When | None = None,
    until: When | None = None,
    frame: str | None = None,
    verdict: str | None = None,
) -> list[Version]:
    """Those of some versions that answer every question asked; their order stays.

    Parameters
    ----------
    since, until
        A time, or a day (from its beginning, to its end, on this machine's clock), or either as ISO 8601
        text. By the time on the saver's clock.
    frame
        The beginning of a proof's fingerprint, at least 4 digits.
    verdict
        ``in keeping``, ``leaning``, ``overdone`` or ``not judged``.

    Raises
    ------
    UsageError
        ``bad-date``, ``bad-verdict``, ``bad-frame``.
    """
    first, last = _moment(since, end=False), _moment(until, end=True)
    if verdict is not None and verdict not in VERDICTS:
        raise UsageError("bad-verdict", f"{verdict!r}: no such verdict", hint=f"one of {', '.join(VERDICTS)}")
    if frame is not None and len(frame) < 4:
        raise UsageError(
            "bad-frame", f"{frame!r}: too short for a fingerprint", hint="its first 4 digits or more"
        )
    return [
        version
        for version in versions
        if _within(version.when, first, last)
        and (frame is None or any(proof.startswith(frame.lower()) for proof in version.proofs))
        and (verdict is None or (version.drift or {}).get("verdict", "not judged") == verdict)
    ]


def _within(when: str, first: datetime | None, last: datetime | None) -> bool:
    if first is None and last is None:
        return True
    try:
        moment = datetime.fromisoformat(when)
    except ValueError:
        return False
    return (first is None or moment >= first) and (last is None or moment < last)


def _moment(given: When | None, *, end: bool) -> datetime | None:
    if isinstance(given, str):
        try:
            given = datetime.fromisoformat(given) if len(given) > 10 else date.fromisoformat(given)
        except ValueError:
            raise UsageError(
                "bad-date", f"{given!r}: not a date", hint="2031-04-12, or 2031-04-12T18:30"
            ) from None
    if given is None:
        return None
    if isinstance(given, datetime):
        return given.astimezone() if given.tzinfo is None else given
    return datetime.combine(given + timedelta(days=1) if end else given, time.min).astimezone()
