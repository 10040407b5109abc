"""Print the whole injection table: every edit on every picture, what was read, and the leak into every cause.

Run ``PYTHONPATH=tests python tests/benchmarks/drift_injection.py``. Cells that miss their mark carry a star.
"""

from __future__ import annotations

from drift.injections import INJECTIONS, cells, measured
from drift.pictures import pictures
from driftline.drift import UNITS

SHORT = {
    "exposure": "EV", "contrast": "slope", "white": "mired", "duv": "duv", "chroma": "chroma", "hue": "hue",
    "hue_skin": "skin", "hue_foliage": "foliage", "hue_sky": "sky", "split_tint": "split",
    "clip_low": "clip-", "clip_high": "clip+", "detail_fine": "fine", "detail_middling": "midd",
    "detail_broad": "broad", "residual": "resid",
}  # fmt: skip


def main() -> None:
    """Measure and print."""
    worst: dict[tuple[str, bool], tuple[float, str]] = {}
    print(f"{'':16}{'':18}" + "".join(f"{SHORT[key]:>9}" for key in UNITS))
    for name, picture in pictures().items():
        for injection in INJECTIONS:
            drift = measured(picture, injection)
            found = {cell.cause: cell for cell in cells(injection, drift)}
            row = ""
            for key, cause in drift.causes.items():
                cell = found.get(key)
                mark = "*" if cell and cell.ratio > 1 else " " if cause.confident else "?"
                row += f"{'--' if cause.value is None else f'{cause.value:+.3f}':>8}{mark}"
                if cell:
                    own = key == injection.cause or (injection.cause == "hue" and key.startswith("hue_"))
                    where = f"{cell.ratio:.2f} of what is allowed: {name}, {injection.name}"
                    worst[key, own] = max(worst.get((key, own), (0.0, "")), (cell.ratio, where))
            print(f"{name:16}{injection.name:18}{row}")
    print("\nworst cells\n" + f"{'':18}{'':6}error or leak over what is allowed")
    for (key, own), (_, where) in sorted(worst.items()):
        print(f"{key:18}{'own' if own else 'leak':6}{where}")


if __name__ == "__main__":
    main()
