"""One run at a time, and no lock outlives its holder."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
from pathlib import Path

import pytest

from driftline.batch.lock import run_lock
from driftline.errors import PrintError

HOLD = """
import sys, time
from pathlib import Path
from driftline.batch.lock import run_lock
with run_lock(Path(sys.argv[1])):
    print("held", flush=True)
    time.sleep(60)
"""


def test_a_second_run_is_refused(tmp_path: Path) -> None:
    """Two runs into one folder at once: the second one says so, in the same process and in another."""
    with run_lock(tmp_path):
        with pytest.raises(PrintError) as caught, run_lock(tmp_path):
            pass
        assert caught.value.code == "run-in-progress"
        other = subprocess.run(
            [sys.executable, "-c", HOLD, tmp_path], capture_output=True, text=True, check=False
        )
        assert "another run is printing into this folder" in other.stderr


def test_nothing_is_left_behind(tmp_path: Path) -> None:
    """The folder is as it was, also after an error."""
    with pytest.raises(RuntimeError), run_lock(tmp_path):
        raise RuntimeError
    assert os.listdir(tmp_path) == []


def test_a_killed_run_holds_nothing(tmp_path: Path) -> None:
    """The kernel frees the lock at death; the next run takes the folder over."""
    holder = subprocess.Popen([sys.executable, "-c", HOLD, tmp_path], stdout=subprocess.PIPE, text=True)
    assert holder.stdout is not None
    with holder:
        assert holder.stdout.readline() == "held\n"
        with pytest.raises(PrintError), run_lock(tmp_path):
            pass
        holder.send_signal(signal.SIGKILL)
    with run_lock(tmp_path):
        pass
    assert os.listdir(tmp_path) == []
