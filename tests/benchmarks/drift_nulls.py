"""Print the whole null table: what is read where nothing was edited.

Run ``PYTHONPATH=tests python tests/benchmarks/drift_nulls.py``. Cells above their noise floor carry a star.
"""

from __future__ import annotations

from drift.nulls import above_floor, nulls
from drift.pictures import NAMES, photograph
from driftline.drift import FLOORS, UNITS, measure_drift


def main() -> None:
    """Measure and print."""
    worst: dict[str, tuple[float, str]] = {}
    for name in NAMES:
        for what, reference, edited in nulls(photograph(name)):
            drift = measure_drift(reference, edited)
            found = drift.registration
            over = above_floor(drift)
            row = ""
            for key, cause in drift.causes.items():
                mark = "*" if key in over else " " if cause.confident else "?"
                row += f"{'--' if cause.value is None else f'{cause.value:+.3f}':>8}{mark}"
                if cause.judgeable and cause.value is not None:
                    worst[key] = max(
                        worst.get(key, (0.0, "")), (abs(cause.value) / FLOORS[key], f"{name}, {what}")
                    )
            fit = f"{found.correlation:.4f} {found.structure:.3f} {found.k1:+.4f}"
            print(f"{name:11}{what:30}{row} {fit} {drift.verdict} {drift.largest}")
    print("\nworst cells, over the noise floor")
    for key in (k for k in UNITS if k in worst):
        print(f"{key:18}{worst[key][0]:6.2f}  {worst[key][1]}")


if __name__ == "__main__":
    main()
