"""The numbers of a look as a small script: what lets a page show other proofs, and any two versions.

A page that opens from disk may run a script beside it but may not fetch a file, so the numbers are JSON in
one call. They hold what the pages show anyway, column by column: a parameter that never moved is said once.
"""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from typing import Any

from driftline.pages.folder import PageFolder, Shown, page_name
from driftline.pages.naming import QUESTIONS
from driftline.pages.story import Look, Proof, Story, Value, Version
from driftline.pages.wording import day, distance_words, drift_words
from driftline.recipe.fields import field_specs, neutral_value
from driftline.recipe.words import LOWEST_TURN, PHRASES, WARM_HUE


def data_address(name: str) -> str:
    """Where a look's numbers lie."""
    return f"data/{page_name(name)}.js"


def proofs_of(look: Look, story: Story) -> tuple[Proof, ...]:
    """The proofs that any version of a look was measured or developed on, in the order of the story."""
    seen = {proof for v in look.versions for proof in (*v.pictures, *(r.proof for r in v.readings))}
    return tuple(proof for proof in story.proofs if proof.fingerprint in seen)


def look_script(look: Look, story: Story, folder: PageFolder) -> str:
    """A look's numbers as a script that hands them to the page."""
    return f"tellNumbers({_json(look.name)}, {_json(_numbers(look, story, folder))});\n"


def rules() -> dict[str, Any]:
    """What a page needs to say a difference in words: order, neutral values, phrases, questions."""
    return {
        "order": list(field_specs()),
        "neutral": {path: _plain(neutral_value(path)) for path in field_specs()},
        "phrases": {path: list(phrase) for path, phrase in PHRASES.items()},
        "questions": QUESTIONS,
        "warmHue": WARM_HUE,
        "lowestTurn": LOWEST_TURN,
    }


def _numbers(look: Look, story: Story, folder: PageFolder) -> dict[str, Any]:
    proofs = proofs_of(look, story)
    return {
        "labels": [version.label for version in look.versions],
        "pages": [page_name(version.label) for version in look.versions],
        "days": [day(version.when) for version in look.versions],
        "unread": [n for n, version in enumerate(look.versions) if version.values is None],
        "values": _columns([version.values for version in look.versions]),
        "proofs": [
            {
                "name": proof.name,
                "camera": _picture(folder.show(proof.camera, proof.reason)),
                "stands": [_stand(version, proof, folder) for version in look.versions],
            }
            for proof in proofs
        ],
    }


def _columns(rows: Sequence[Mapping[str, Value] | None]) -> dict[str, list[Any]]:
    """Every parameter over the versions; of one that is the same in all of them, that value alone."""
    fields = dict.fromkeys(field for row in rows if row for field in row)
    columns = {}
    for field in fields:
        column = [_plain((row or {}).get(field, neutral_value(field))) for row in rows]
        columns[field] = column[:1] if all(value == column[0] for value in column) else column
    return columns


def _stand(version: Version, proof: Proof, folder: PageFolder) -> list[Any]:
    """Distance, the words for it, drift in words, and the picture: address and size, or the reason."""
    reading = next((r for r in version.readings if r.proof == proof.fingerprint), None)
    distance = reading.distance if reading else None
    far = distance_words(distance)
    words = f"{far}, {reading.verdict}" if reading and distance is not None else far
    drift = "; ".join(drift_words(reading.amounts)) if reading else ""
    if drift and reading and reading.later:
        drift += " (measured later)"
    rounded = None if distance is None else round(distance, 3)
    return [rounded, words, drift, _picture(folder.show(version.pictures.get(proof.fingerprint)))]


def _picture(shown: Shown) -> list[Any] | str:
    return [shown.address, shown.width, shown.height] if shown.address else shown.reason


def _plain(value: Value) -> Any:
    return list(value) if isinstance(value, tuple) else value


def _json(value: Any) -> str:
    return json.dumps(value, separators=(",", ":"))
