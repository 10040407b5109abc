"""A built wheel, unpacked in an empty folder, has what the demo needs."""

from __future__ import annotations

import json
import os
import subprocess
import sys
import zipfile
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]


@pytest.fixture(scope="module")
def unpacked(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The wheel's content, far from the checkout."""
    folder = tmp_path_factory.mktemp("wheel")
    build = "import sys; from hatchling.build import build_wheel; print(build_wheel(sys.argv[1]))"
    done = subprocess.run(
        [sys.executable, "-c", build, str(folder)], cwd=ROOT, capture_output=True, text=True, check=True
    )
    with zipfile.ZipFile(folder / done.stdout.split()[-1]) as wheel:
        wheel.extractall(folder / "site")
    return folder / "site"


def test_it_holds_recipes_frames_and_templates_and_no_tools(unpacked: Path) -> None:
    """Starter recipes, demo frames, page templates and type marker; not the scripts that made the frames."""
    package = unpacked / "driftline"
    assert len(list((package / "starter/recipes").glob("*.toml"))) == len(
        list((ROOT / "recipes").glob("*.toml"))
    )
    assert len(list((package / "starter/demo_raws").glob("*.dng"))) == len(
        list((ROOT / "demo_raws").glob("*.dng"))
    )
    assert (package / "py.typed").exists()
    assert list((package / "pages/templates").glob("*.html"))
    assert list((package / "pages/bench/templates").glob("*.js"))
    assert not (package / "starter/demo_raws/making").exists()


def test_the_demo_runs_from_it(unpacked: Path, tmp_path: Path) -> None:
    """In an empty folder, with the wheel before the checkout: a ledger, versions, prints and a page."""
    environment = {**os.environ, "PYTHONPATH": str(unpacked)}
    done = subprocess.run(
        [sys.executable, "-P", "-m", "driftline", "demo", "--out", "made", "--json"],
        cwd=tmp_path,
        env=environment,
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, done.stderr
    made = json.loads(done.stdout)
    refs = {version["ref"] for version in made["versions"]}
    assert {"open-platform@3", "platform-late@1"} <= refs
    assert len(made["prints"]) == len(list((ROOT / "demo_raws").glob("*.dng")))
    assert all(Path(path).is_file() for path in [*(one["path"] for one in made["prints"]), made["page"]])
    assert Path(made["ledger"]).is_relative_to(tmp_path)
