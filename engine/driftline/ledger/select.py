"""Questions that people ask of a long history: which versions were made when, on which frame, how judged."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import date, datetime, time, timedelta

from driftline.errors import UsageError
from driftline.ledger.versions import Version

VERDICTS = ("in keeping", "leaning", "overdone", "not judged")

When = datetime | date | str
Asked = str | Sequence[str] | None


def select(
    versions: Iterable[Version],
    *,
    since: When | None = None,
    until: When | None = None,
    frame: Asked = None,
    verdict: Asked = None,
) -> list[Version]:
    """Those of some versions that answer every question asked; their order stays.

    Parameters
    ----------
    since, until
        A time, or a day (from its beginning, to its end, on this machine's clock), or either as ISO 8601
        text. By the time on the saver's clock.
    frame
        The beginning of a proof's fingerprint, at least 4 digits; of several, any.
    verdict
        ``in keeping``, ``leaning``, ``overdone`` or ``not judged``; of several, any.

    Raises
    ------
    UsageError
        ``bad-date``, ``bad-verdict``, ``bad-frame``.
    """
    first, last = _moment(since, end=False), _moment(until, end=True)
    frames, verdicts = _several(frame), _several(verdict)
    for asked in verdicts:
        if asked not in VERDICTS:
            raise UsageError(
                "bad-verdict", f"{asked!r}: no such verdict", hint=f"one of {', '.join(VERDICTS)}"
            )
    for asked in frames:
        if len(asked) < 4:
            raise UsageError(
                "bad-frame", f"{asked!r}: too short for a fingerprint", hint="its first 4 digits or more"
            )
    return [
        version
        for version in versions
        if _within(version.when, first, last)
        and (not frames or any(proof.startswith(frames) for proof in version.proofs))
        and (not verdicts or (version.drift or {}).get("verdict", "not judged") in verdicts)
    ]


def _several(asked: Asked) -> tuple[str, ...]:
    return () if asked is None else tuple(map(str.lower, [asked] if isinstance(asked, str) else asked))


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
