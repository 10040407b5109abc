"""Versions saved before their proofs were chosen: measured now, and noted beside the ledger.

History is not rewritten. What was measured at a save is in that save's commit; what is measured later is
noted for this copy in ``.git/driftline/readings``, under what made it (parameters, proof, edition and
likenesses, as a picture is), and can be thrown away at any time.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Callable, Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING, Any

from driftline.errors import DriftlineError
from driftline.recipe import parse_recipe

if TYPE_CHECKING:
    from driftline.drift import Checked
    from driftline.ledger import Ledger
    from driftline.ledger import Version as Saved

FORM = 1
"""Raised when something else is noted, or measured in another way."""


@dataclass(frozen=True)
class Later:
    """What was measured of a version on one proof, as a save keeps it, and on which day."""

    drift: Mapping[str, Any]
    day: date


class LaterReadings:
    """What was, and what is to be, measured of versions on proofs that were chosen after they were saved.

    Parameters
    ----------
    ledger
        Its kept proofs are measured on; the raw disk may be away.
    edition
        What a measurement depends on besides parameters and proof.
    """

    def __init__(self, ledger: Ledger, edition: str) -> None:
        self._ledger = ledger
        self._edition = edition

    def found(self, saved: Saved, proof: str) -> Later | None:
        """What was measured later; None if nothing was, or the note makes no sense."""
        try:
            noted = json.loads(self._ledger.own_note(self._path(saved, proof)) or b"")
            return Later(noted["drift"], date.fromisoformat(noted["day"]))
        except (ValueError, KeyError, TypeError, RecursionError):
            return None

    def measure(self, *, progress: Callable[[int, int], None] | None = None) -> None:
        """Measure every version on those kept proofs of its recipe that it was not measured on yet.

        What cannot be measured stays as it is: where it is shown, its picture says why. Each is noted at
        once, so that nothing is lost when this is stopped.
        """
        missing = self._missing()
        done, every = 0, sum(len(versions) for versions in missing.values())
        for proof, versions in missing.items():
            with suppress(DriftlineError):
                self._measure(proof, versions)
            done += len(versions)
            if progress is not None:
                progress(done, every)

    def _missing(self) -> dict[str, list[Saved]]:
        """By proof, one version of each look that is still to be measured there."""
        kept, seen = set(self._ledger.kept_proofs()), set()
        wanted: dict[str, list[Saved]] = {}
        for saved in self._ledger.versions() if kept else ():
            for proof in kept.intersection(chosen(self._ledger, saved.recipe)) - measured_at_save(saved):
                path = self._path(saved, proof)
                if path not in seen and self.found(saved, proof) is None:
                    wanted.setdefault(proof, []).append(saved)
                seen.add(path)
        return wanted

    def _measure(self, proof: str, versions: Sequence[Saved]) -> None:
        from driftline.drift import kept_frame  # noqa: PLC0415  loaded where it is needed
        from driftline.drift.rechecking import Rechecking  # noqa: PLC0415

        checking = Rechecking(kept_frame(self._ledger, proof))
        texts = self._ledger.texts(versions)
        for saved in versions:
            with suppress(DriftlineError, KeyError):
                recipe = parse_recipe(texts[saved.ref], source=saved.ref)
                self._keep(saved, proof, checking.check(recipe))

    def _keep(self, saved: Saved, proof: str, checked: Checked) -> None:
        note = {"drift": _drift(checked), "day": date.today().isoformat()}
        self._ledger.keep_own_note(self._path(saved, proof), json.dumps(note).encode())

    def _path(self, saved: Saved, proof: str) -> str:
        made_of = f"{FORM} {look_of(saved)} on {proof} by {self._edition}"
        return f"readings/{hashlib.sha256(made_of.encode('utf-8', 'replace')).hexdigest()[:32]}"


def edition_of(ledger: Ledger) -> str:
    """What pictures and measurements depend on besides recipe and proof: edition and likenesses."""
    from driftline.pipeline import EDITION  # noqa: PLC0415  loaded where it is needed

    texts = {name: ledger.likeness(name) for name in ledger.likenesses()}
    learned = hashlib.sha256(repr(sorted(texts.items())).encode()).hexdigest()[:16] if texts else ""
    return f"{EDITION} {learned}".strip()


def look_of(saved: Saved) -> str:
    """What a version looks like: its parameters, so that equal looks share what was made of them."""
    return saved.look or f"{saved.commit} {saved.ref}"


def measured_at_save(saved: Saved) -> set[str]:
    """The proofs that a version was measured on when it was saved."""
    frames = (saved.drift or {}).get("frames")
    if isinstance(frames, Mapping) and frames:
        return {str(proof) for proof in frames}
    return set(saved.proofs[:1]) if saved.drift else set()


def chosen(ledger: Ledger, recipe: str) -> tuple[str, ...]:
    """The proofs that a recipe is judged by now; none if their list cannot be read."""
    try:
        return ledger.proofs(recipe)
    except DriftlineError:
        return ()


def _drift(checked: Checked) -> dict[str, Any]:
    """As a save keeps it, of the only proof; a cause that is not comparable has its reason."""
    return {
        "causes": {
            key: {
                **{name: _rounded(getattr(cause, name)) for name in ("floor", "edit", "total", "judged")},
                "unit": cause.unit,
                "reason": cause.reason,
            }
            for key, cause in checked.causes.items()
        }
    }


def _rounded(value: float | None) -> float | None:
    return None if value is None else round(value, 4)
