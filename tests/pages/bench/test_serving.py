"""The bench as a program: how it ends."""

from __future__ import annotations

import json
import time
from http.client import HTTPConnection, HTTPException
from pathlib import Path
from threading import Thread
from urllib.parse import urlsplit

from pages.bench.conftest import Start


def test_ended_in_the_middle_of_its_work(
    start: Start, looks: Path, frames: list[Path], tmp_path: Path
) -> None:
    """Ctrl-C while something is measured: it ends within seconds, says so, and prints no traceback."""
    running = start(looks, frames[:1], "--recipe", "tram-fog")
    where = urlsplit(running.address)
    ended: list[object] = []

    def ask(what: str, **more: object) -> None:
        body = {"place": 0, "values": {"curve.slope": 1.6}, "who": what, "turn": 1, **more}
        connection = HTTPConnection("127.0.0.1", where.port or 0, timeout=60)
        try:
            connection.request("POST", where.path + what, json.dumps(body), {"x-driftline": "bench"})
            ended.append(connection.getresponse().read())
        except (HTTPException, OSError) as error:
            ended.append(error)
        finally:
            connection.close()

    asking = [Thread(target=ask, args=("shares",)), Thread(target=ask, args=("drift",))]
    asking.append(Thread(target=ask, args=("softer",), kwargs={"verdict": "in keeping", "along": "all"}))
    for one in asking:
        one.start()
    time.sleep(1.0)
    assert running.stop() == 0
    for one in asking:
        one.join(30)
    assert len(ended) == 3
    said = (tmp_path / "stderr.txt").read_text()
    assert "the bench is closed" in said
    assert "Traceback" not in said
    assert "ERROR" not in said
