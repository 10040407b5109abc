"""A ledger's history as a story for the pages."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from datetime import UTC, datetime
from functools import partial
from typing import TYPE_CHECKING

from driftline.errors import DriftlineError, FrameError
from driftline.pages.readings import readings_of
from driftline.pages.story import Look, Picture, Print, Proof, Reading, Story, Version

if TYPE_CHECKING:
    from driftline.ledger import Ledger
    from driftline.ledger import Version as Saved

PictureOf = Callable[[str | None, str], bytes | None]
"""(ref, fingerprint of a proof) -> an encoded picture, with None for the ref the camera rendering."""


def story_of(
    ledger: Ledger,
    *,
    pictures: PictureOf | None = None,
    names: Mapping[str, str] | None = None,
    prints: Sequence[Print] = (),
    edition: str = "",
    title: str = "",
) -> Story:
    """Read what the pages tell from a ledger.

    Distances and verdicts are by the bands in the ledger's settings as they are now, so that all versions are
    measured by the same ones.

    Parameters
    ----------
    ledger
        The ledger.
    pictures
        Gives a version's rendering of a proof, and a proof's camera rendering (with None for the ref), as an
        encoded image; None if there is none. It is asked only for pictures that the folder of pages does not
        have yet. Absent: pages without pictures.
    names
        What to call the proofs, by fingerprint; absent: the beginning of the fingerprint.
    prints
        Prints to show.
    edition
        Of the pipeline that makes the pictures; another edition makes them again.
    title
        Heading of the pages; absent: the name of the ledger's folder.

    Returns
    -------
    Story
        Looks by name, versions oldest first.

    Raises
    ------
    DriftlineError
        What reading the ledger raises.
    """
    teller = _Teller(ledger, pictures, names or {}, edition)
    by_name: dict[str, list[Version]] = {}
    for saved in reversed(ledger.versions()):
        by_name.setdefault(saved.recipe, []).append(teller.version(saved))
    looks = tuple(Look(name, teller.about(name), tuple(told)) for name, told in sorted(by_name.items()))
    return Story(
        title=title or ledger.path.name,
        looks=looks,
        proofs=teller.proofs(looks),
        prints=tuple(prints),
    )


class _Teller:
    """Turns what the ledger holds into what the pages show."""

    def __init__(
        self, ledger: Ledger, pictures: PictureOf | None, names: Mapping[str, str], edition: str
    ) -> None:
        self._ledger = ledger
        self._pictures = pictures
        self._names = names
        self._edition = edition
        self._bands = ledger.settings().bands

    def version(self, saved: Saved) -> Version:
        """One version."""
        readings = readings_of(saved.drift, self._band, only_proof=saved.proofs[0] if saved.proofs else "")
        return Version(
            ref=saved.ref,
            label=saved.ref.partition("@")[2],
            commit=saved.commit,
            when=when_of(saved.when),
            note=saved.note,
            kind=saved.kind,
            words=tuple(saved.words),
            parents=tuple(saved.parents),
            readings=readings,
            pictures=self._renderings(saved, readings),
            text=partial(self._ledger.text, saved.ref),
        )

    def about(self, name: str) -> str:
        """What a recipe says it is for; nothing if it cannot be read (its version's page then says why)."""
        try:
            return self._ledger.read(name).about or ""
        except DriftlineError:
            return ""

    def proofs(self, looks: Sequence[Look]) -> tuple[Proof, ...]:
        """Every proof that any version was measured or shown on."""
        versions = [version for look in looks for version in look.versions]
        every = [proof for v in versions for proof in (*(r.proof for r in v.readings), *v.pictures)]
        return tuple(self._proof(fingerprint) for fingerprint in dict.fromkeys(every))

    def _renderings(self, saved: Saved, readings: Sequence[Reading]) -> dict[str, Picture]:
        if self._pictures is None:
            return {}
        proofs = dict.fromkeys([*saved.proofs, *(reading.proof for reading in readings)])
        return {
            proof: Picture(
                key=f"{saved.commit} {saved.ref} {proof} {self._edition}",
                load=partial(_load, self._pictures, saved.ref, proof),
                alt=f"{self._called(proof)}, developed with {saved.ref}",
            )
            for proof in proofs
            if proof
        }

    def _proof(self, fingerprint: str) -> Proof:
        name = self._called(fingerprint)
        if self._pictures is None or not fingerprint:
            return Proof(fingerprint, name, reason="the camera rendering is not at hand")
        load = partial(_load, self._pictures, None, fingerprint)
        return Proof(
            fingerprint, name, Picture(f"camera {fingerprint}", load, f"{name}, as the camera made it")
        )

    def _called(self, fingerprint: str) -> str:
        return self._names.get(fingerprint) or (f"frame {fingerprint[:12]}" if fingerprint else "a frame")

    def _band(self, key: str, amount: float) -> tuple[float, float] | None:
        tolerance = getattr(self._bands, key, None)
        return None if tolerance is None else tolerance.for_sign(amount)


def _load(pictures: PictureOf, ref: str | None, proof: str) -> bytes:
    content = pictures(ref, proof)
    if content is None:
        what = "there is no camera rendering" if ref is None else "this proof is not kept in the ledger"
        raise FrameError("no-picture", what, hint="driftline proof keeps a frame to judge by")
    return content


def when_of(text: str) -> datetime:
    """The time of a save, with its zone; a time that cannot be read is the beginning of time."""
    try:
        when = datetime.fromisoformat(text)
    except ValueError:
        return datetime.fromtimestamp(0, UTC)
    return when if when.tzinfo else when.replace(tzinfo=UTC)
