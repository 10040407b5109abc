"""What the pages tell, as plain data: looks, their versions in time, how far each stands from the camera.

Nothing here reads a ledger or a picture. A picture is named by what made it and loaded only when it is not
in the page's folder yet; a recipe's text likewise.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from datetime import date, datetime
from functools import cached_property
from typing import TYPE_CHECKING, TypeAlias

if TYPE_CHECKING:
    from driftline.ledger import Trend

Value: TypeAlias = float | str | tuple[float, ...] | None
"""What a parameter holds; None where a switch is off or a band is absent."""

NOT_JUDGED = "not judged"
_STRICTNESS = {NOT_JUDGED: 0, "in keeping": 1, "leaning": 2, "overdone": 3}


@dataclass(frozen=True)
class Picture:
    """A picture and the words that stand for it.

    Attributes
    ----------
    key
        What made it, for ever the same: parameters on a proof, by an edition. It is loaded once a key.
    load
        Gives an encoded image (JPEG, PNG or TIFF); may raise a :class:`~driftline.errors.DriftlineError`.
    alt
        What is to be seen, for those who do not see it.
    """

    key: str
    load: Callable[[], bytes] = field(compare=False, repr=False)
    alt: str


@dataclass(frozen=True)
class Marks:
    """Where an edit would be noticed, square by square.

    Attributes
    ----------
    shape
        Rows and columns of squares.
    part
        Top, left, height and width that the squares cover, in shares of the picture.
    size
        Height and width of the picture in pixels.
    squares
        Row, column, what differs most there (a name of :data:`~driftline.pages.marking.KINDS`) and by how
        many notices, 1 or more.
    against
        What the edit was laid against.
    """

    shape: tuple[int, int]
    part: tuple[float, float, float, float]
    size: tuple[int, int]
    squares: tuple[tuple[int, int, str, float], ...]
    against: str = "the camera rendering"


@dataclass(frozen=True)
class Map:
    """A difference map: what made it, and what gives its marks; loaded once a key, as a picture is."""

    key: str
    load: Callable[[], Marks] = field(compare=False, repr=False)


@dataclass(frozen=True)
class Amount:
    """One cause of drift on one proof: camera to plain, plain to edit, camera to edit, and what is judged.

    ``ratio`` is the judged amount over its notice band, 0 or more. Without numbers ``reason`` says why.
    """

    key: str
    unit: str
    floor: float | None
    edit: float | None
    total: float | None
    judged: float | None
    verdict: str = NOT_JUDGED
    ratio: float = 0.0
    notice: float = 1.0
    reason: str = ""

    @property
    def comparable(self) -> bool:
        """Whether there is a number at all."""
        return self.total is not None


@dataclass(frozen=True)
class Reading:
    """A version's drift on one proof; ``later`` is when it was measured, if that was after the save."""

    proof: str
    amounts: tuple[Amount, ...] = ()
    later: date | None = None

    @cached_property
    def largest(self) -> Amount | None:
        """The cause that stands farthest out, None when nothing was judged."""
        return max((a for a in self.amounts if a.judged is not None), key=lambda a: a.ratio, default=None)

    @property
    def distance(self) -> float | None:
        """The largest ratio of a judged amount to its notice band: the distance on the page."""
        return None if self.largest is None else self.largest.ratio

    @cached_property
    def verdict(self) -> str:
        """The strictest verdict of any cause."""
        return max((a.verdict for a in self.amounts), key=lambda v: _STRICTNESS.get(v, 0), default=NOT_JUDGED)


@dataclass(frozen=True)
class Version:
    """A saved state of a look.

    Attributes
    ----------
    ref, label
        ``tram-fog@8.laptop`` and its part after the @.
    commit
        The ledger's commit; with ``ref`` it fixes everything else for ever.
    words
        What changed, one phrase a parameter.
    parents
        The refs it came from.
    readings
        Its drift, one a proof.
    pictures
        Its rendering of each proof, by the proof's fingerprint.
    maps
        Where each of these differs from the camera rendering, by the proof's fingerprint.
    values
        Every parameter by field path; None when its text cannot be read.
    text
        Gives the recipe's text; asked for only when its page has to be written.
    """

    ref: str
    label: str
    commit: str
    when: datetime
    note: str = ""
    kind: str = "version"
    words: tuple[str, ...] = ()
    parents: tuple[str, ...] = ()
    readings: tuple[Reading, ...] = ()
    pictures: Mapping[str, Picture] = field(default_factory=dict)
    maps: Mapping[str, Map] = field(default_factory=dict)
    values: Mapping[str, Value] | None = field(default=None, repr=False)
    text: Callable[[], str] = field(default=str, compare=False, repr=False)

    @property
    def recipe(self) -> str:
        """The name of its recipe."""
        return self.ref.partition("@")[0]

    @cached_property
    def farthest(self) -> Reading | None:
        """The reading on the proof that it drifts farthest on; it decides where the version stands."""
        measured = [reading for reading in self.readings if reading.distance is not None]
        return max(measured, key=lambda reading: reading.distance or 0.0, default=None)

    @property
    def distance(self) -> float | None:
        """How far it stands from the camera, in units of notice; None when it was not measured."""
        return None if self.farthest is None else self.farthest.distance

    @cached_property
    def verdict(self) -> str:
        """The strictest verdict on any proof."""
        verdicts = (reading.verdict for reading in self.readings)
        return max(verdicts, key=lambda v: _STRICTNESS.get(v, 0), default=NOT_JUDGED)


@dataclass(frozen=True)
class Look:
    """One recipe through time; versions oldest first, by ancestry; ``trend`` is how it settles."""

    name: str
    about: str
    versions: tuple[Version, ...]
    trend: Trend | None = None

    @property
    def last(self) -> Version:
        """The version it has come to."""
        return self.versions[-1]


@dataclass(frozen=True)
class Proof:
    """A frame the looks are judged by; without a camera rendering ``reason`` says why there is none."""

    fingerprint: str
    name: str
    camera: Picture | None = None
    reason: str = ""


@dataclass(frozen=True)
class Print:
    """A picture that was made with a version."""

    name: str
    frame: str
    ref: str
    picture: Picture | None = None
    verdict: str = ""


@dataclass(frozen=True)
class Shoot:
    """Frames that were printed together, and with which versions.

    Attributes
    ----------
    name
        The folder they lay in; empty where the record does not say.
    first, last
        The days on which they were printed; None where the record does not say.
    frames
        How many frames were printed with each version, by ref.
    between
        The first and the last frame by name.
    """

    name: str
    first: date | None
    last: date | None
    frames: Mapping[str, int]
    between: tuple[str, str] = ("", "")

    def of(self, recipe: str) -> dict[str, int]:
        """How many frames were printed with each version of a recipe."""
        return {ref: count for ref, count in self.frames.items() if ref.partition("@")[0] == recipe}


@dataclass(frozen=True)
class Story:
    """All that a folder of pages tells."""

    title: str
    looks: tuple[Look, ...] = ()
    proofs: tuple[Proof, ...] = ()
    prints: tuple[Print, ...] = ()
    shoots: tuple[Shoot, ...] = ()
    unread: str = ""
    """Why the record of prints could not be read, if it could not."""
