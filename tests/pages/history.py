"""A made-up history: two looks of an invented shoot, a fork, a blend, versions with and without drift."""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, date, datetime, timedelta
from io import BytesIO

from PIL import Image

from driftline.ledger.trend import Trend, trend_of
from driftline.pages import Amount, Look, Picture, Print, Proof, Reading, Story, Version
from driftline.pages.story import Map, Marks, Shoot
from driftline.recipe import field_spec, parameters, parse_recipe

START = datetime(2031, 3, 3, 7, 40, tzinfo=UTC)
NIGHT, FOG = "a1" * 32, "b2" * 32
HOSTILE = "\"><script>alert(1)</script><img src=x onerror=alert(2)>'&amp;\u202egnp.txt"


def image(
    colour: tuple[int, int, int] = (90, 80, 70), size: tuple[int, int] = (48, 32), **extra: object
) -> bytes:
    """A small JPEG of one colour."""
    out = BytesIO()
    Image.new("RGB", size, colour).save(out, "JPEG", **extra)
    return out.getvalue()


def picture(key: str, load: Callable[[], bytes] = image) -> Picture:
    """A picture that loads."""
    return Picture(key, load, f"what {key} shows")


def marks(*kinds: str) -> Marks:
    """A difference map of one row, a square a kind; the row is twice as wide as the marked squares."""
    squares = tuple((0, column, kind, 2.0) for column, kind in enumerate(kinds))
    return Marks((1, 2 * len(kinds) or 2), (0.0, 0.0, 1.0, 1.0), (32, 48), squares)


def trend(versions: tuple[Version, ...]) -> Trend:
    """How the versions of a look settle."""
    states = [(v.ref, v.when.isoformat(), v.values) for v in versions if v.values is not None]
    specs = {field: field_spec(field) for _, _, values in states for field in values}
    units = {field: spec.unit for field, spec in specs.items()}
    return trend_of(versions[0].recipe, states, units, {field: spec.neutral for field, spec in specs.items()})


def amount(key: str, edit: float, notice: float, floor: float = 0.0, unit: str = "EV") -> Amount:
    """One cause of which all of the edit is judged."""
    ratio = abs(edit) / notice
    verdict = "overdone" if ratio >= 2 else "leaning" if ratio >= 1 else "in keeping"
    return Amount(key, unit, floor, edit, floor + edit, edit, verdict, ratio, notice)


def reading(proof: str = NIGHT, *, exposure: float = 0.1, chroma: float = 0.0) -> Reading:
    """Drift on one proof, one cause of which cannot be compared."""
    return Reading(
        proof,
        (
            amount("exposure", exposure, 0.17, floor=0.05),
            amount("chroma", chroma, 0.25, unit="log2"),
            Amount("hue", "deg", None, None, None, None, reason="too little colour in the frame"),
        ),
    )


def version(
    ref: str, day: int = 0, *readings: Reading, parents: tuple[str, ...] = (), **given: object
) -> Version:
    """One version; its pictures and maps are those of the proofs it was measured on."""
    label = ref.partition("@")[2]
    text = f'name = "{ref.partition("@")[0]}"\n'
    fields: dict[str, object] = {
        "pictures": {r.proof: picture(f"{ref} on {r.proof}") for r in readings},
        "maps": {
            r.proof: Map(f"{ref} on {r.proof}", lambda: marks("lighter", "another hue")) for r in readings
        },
        "values": parameters(parse_recipe(f"[exposure]\nev = {day % 600 / 100}\n", source=ref)),
        "text": lambda: text,
        "words": ("exposure +0.10 EV",),
        **given,
    }
    return Version(
        ref,
        label,
        commit=ref.encode().hex(),
        when=START + timedelta(days=day),
        parents=parents,
        readings=readings,
        **fields,  # type: ignore[arg-type]
    )


def story(**changed: object) -> Story:
    """The whole history."""
    tram = (
        version("tram-fog@1", 0, reading(exposure=0.1)),
        version("tram-fog@2", 2, reading(exposure=0.4), reading(FOG, exposure=0.6), parents=("tram-fog@1",)),
        version("tram-fog@3", 9, parents=("tram-fog@2",), kind="words", words=()),
        version("tram-fog@4", 12, reading(exposure=0.2, chroma=0.3), parents=("tram-fog@3",)),
    )
    quay = (
        version("quay-dusk@1", 3, reading(FOG, exposure=-1.5), parents=("tram-fog@2",), kind="fork"),
        version("quay-dusk@2.laptop", 20, parents=("quay-dusk@1", "tram-fog@4"), kind="blend"),
    )
    given: dict[str, object] = {
        "title": "east-side looks",
        "looks": (
            Look("quay-dusk", "blue hour", quay, trend(quay)),
            Look("tram-fog", "wet grey mornings", tram, trend(tram)),
        ),
        "proofs": (
            Proof(NIGHT, "01-night-wide.dng", picture("camera night")),
            Proof(FOG, "04-fog-wide.dng", None, "the file carries none"),
        ),
        "prints": (Print("one.jpg", "01-night-wide.dng", "tram-fog@4", picture("print one"), "leaning"),),
        "shoots": (
            Shoot("harbour", date(2031, 4, 1), date(2031, 4, 2), {"tram-fog@4": 12, "tram-fog@2": 1}),
            Shoot("", date(2031, 3, 9), date(2031, 3, 9), {"tram-fog@2": 3}, ("a.dng", "c.dng")),
        ),
        **changed,
    }
    return Story(**given)  # type: ignore[arg-type]
