"""A ledger's history as a story for the pages."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import replace
from datetime import UTC, datetime
from functools import partial
from typing import TYPE_CHECKING

from driftline.errors import FrameError
from driftline.ledger.trend import trend_of
from driftline.pages.later import Later, chosen, look_of, measured_at_save
from driftline.pages.parsed import ParsedTexts
from driftline.pages.readings import readings_of
from driftline.pages.record import shoots_of
from driftline.pages.story import Look, Map, Marks, Picture, Print, Proof, Reading, Story, Value, Version
from driftline.recipe import field_spec

if TYPE_CHECKING:
    from driftline.ledger import Ledger, Trend
    from driftline.ledger import Version as Saved

PictureOf = Callable[[str | None, str], bytes | None]
"""(ref, fingerprint of a proof) -> an encoded picture, with None for the ref the camera rendering."""

MarksOf = Callable[[str, str], Marks]
"""(ref, fingerprint of a proof) -> where the version differs from the camera rendering."""

LaterOf = Callable[["Saved", str], Later | None]
"""(version, fingerprint of a proof chosen after it was saved) -> what was measured there since."""


def story_of(
    ledger: Ledger,
    *,
    pictures: PictureOf | None = None,
    marks: MarksOf | None = None,
    later: LaterOf | None = None,
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
    marks
        Gives where a version differs from the camera rendering on a proof, likewise. Absent: no such maps.
    later
        Gives what was measured of a version after it was saved. Absent: nothing was.
    names
        What to call the proofs, by fingerprint; absent: the beginning of the fingerprint.
    prints
        Prints to show.
    edition
        What the pictures depend on besides recipe and proof; another edition makes them again.
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
    saved = ledger.versions()[::-1]
    teller = _Teller(ledger, saved, pictures, marks, names or {}, edition, later)
    by_name: dict[str, list[Version]] = {}
    for one in saved:
        by_name.setdefault(one.recipe, []).append(teller.version(one))
    looks = tuple(
        Look(name, teller.about(told[-1]), tuple(told), teller.trend(name, told))
        for name, told in sorted(by_name.items())
    )
    shoots, unread = shoots_of(ledger)
    return Story(
        title=title or ledger.path.name,
        looks=looks,
        proofs=teller.proofs(looks),
        prints=tuple(prints),
        shoots=shoots,
        unread=unread,
    )


class _Teller:
    """Turns what the ledger holds into what the pages show."""

    def __init__(
        self,
        ledger: Ledger,
        saved: Sequence[Saved],
        pictures: PictureOf | None,
        marks: MarksOf | None,
        names: Mapping[str, str],
        edition: str,
        later: LaterOf | None,
    ) -> None:
        self._ledger = ledger
        self._later = later
        self._pictures = pictures
        self._marks = marks
        self._names = names
        self._edition = edition
        self._bands = ledger.settings().bands
        self._judged_by: dict[str, tuple[str, ...]] = {}
        self._texts = ParsedTexts(ledger, saved)

    def version(self, saved: Saved) -> Version:
        """One version."""
        readings = readings_of(saved.drift, self._band, only_proof=saved.proofs[0] if saved.proofs else "")
        proofs = [*saved.proofs, *(reading.proof for reading in readings), *self._chosen(saved.recipe)]
        shown = [proof for proof in dict.fromkeys(proofs) if proof]
        said, look = self._texts.said(saved.ref), look_of(saved)
        return Version(
            ref=saved.ref,
            label=saved.ref.partition("@")[2],
            commit=saved.commit,
            when=when_of(saved.when),
            note=saved.note,
            kind=saved.kind,
            words=tuple(saved.words),
            parents=tuple(saved.parents),
            readings=(*readings, *self._measured_later(saved)),
            pictures=self._renderings(saved.ref, look, shown),
            maps=self._maps(saved.ref, look, shown),
            values=None if said is None else said.values,
            text=partial(self._texts.text, saved.ref),
        )

    def about(self, last: Version) -> str:
        """What a recipe says it is for; nothing if it cannot be read (its version's page then says why)."""
        said = self._texts.said(last.ref)
        return "" if said is None else said.about

    def trend(self, name: str, versions: Sequence[Version]) -> Trend:
        """How a look settles, by the versions that can be read."""
        states = [(v.ref, v.when.isoformat(), v.values) for v in versions if v.values is not None]
        specs = {
            field: field_spec(field) for field in dict.fromkeys(f for *_, values in states for f in values)
        }
        neutral: dict[str, Value] = {field: spec.neutral for field, spec in specs.items()}
        return trend_of(name, states, {field: spec.unit for field, spec in specs.items()}, neutral)

    def proofs(self, looks: Sequence[Look]) -> tuple[Proof, ...]:
        """Every proof that any version was measured or shown on."""
        versions = [version for look in looks for version in look.versions]
        every = [proof for v in versions for proof in (*(r.proof for r in v.readings), *v.pictures)]
        return tuple(self._proof(fingerprint) for fingerprint in dict.fromkeys(every))

    def _chosen(self, recipe: str) -> tuple[str, ...]:
        """The proofs that a recipe is judged by now, so that its older versions are seen on them too."""
        if recipe not in self._judged_by:
            self._judged_by[recipe] = chosen(self._ledger, recipe)
        return self._judged_by[recipe]

    def _measured_later(self, saved: Saved) -> Iterator[Reading]:
        """Its drift on the proofs that were chosen after it was saved, as far as it was measured since."""
        if self._later is None:
            return
        known = measured_at_save(saved)
        for proof in self._chosen(saved.recipe):
            if proof not in known and (found := self._later(saved, proof)) is not None:
                for reading in readings_of(found.drift, self._band, only_proof=proof):
                    yield replace(reading, later=found.day)

    def _renderings(self, ref: str, look: str, proofs: Sequence[str]) -> dict[str, Picture]:
        if self._pictures is None:
            return {}
        return {
            proof: Picture(
                key=self._key(look, proof),
                load=partial(_load, self._pictures, ref, proof),
                alt=f"{self._called(proof)}, developed with {ref}",
            )
            for proof in proofs
        }

    def _key(self, look: str, proof: str) -> str:
        """What makes a picture: the parameters, not the version's name, so that equal looks share theirs."""
        return f"{look} on {proof} by {self._edition}"

    def _maps(self, ref: str, look: str, proofs: Sequence[str]) -> dict[str, Map]:
        if self._marks is None:
            return {}
        return {proof: Map(self._key(look, proof), partial(self._marks, ref, proof)) for proof in proofs}

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
