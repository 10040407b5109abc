"""Nobody but the page speaks to the bench, and nothing but the ledger and the given frames is reached."""

from __future__ import annotations

import socket
from importlib.resources import files
from pathlib import Path

import pytest

from driftline.pages.bench.routes import PARTS
from pages.bench.asking import HOST, PAGE, PORT, TOKEN, Asking
from pages.bench.conftest import Start


def test_the_page_is_there(asking: Asking) -> None:
    """With the token, from its own host, the page and its parts come, for this page alone."""
    page = asking.get("")
    assert page.status == 200
    assert "tram-fog" in page.text
    policy = page.headers["content-security-policy"]
    assert "default-src 'none'" in policy
    assert "unsafe" not in policy
    assert page.headers["cross-origin-resource-policy"] == "same-origin"
    assert asking.get("part/bench.js").status == 200


def test_every_part_of_the_page_has_an_address(asking: Asking) -> None:
    """All that stands beside the template, and nothing else."""
    shipped = {part.name for part in (files("driftline.pages.bench") / "templates").iterdir()}
    assert set(PARTS) == shipped - {"bench.html"}
    for name, kind in PARTS.items():
        assert asking.get(f"part/{name}").headers["content-type"].startswith(kind)


@pytest.mark.parametrize(
    "path", ["/", "/state", f"/{TOKEN}x/state", f"/{TOKEN[:-1]}/state", "/x/part/bench.js"]
)
def test_without_the_token_there_is_nothing(asking: Asking, path: str) -> None:
    """A wrong, shortened, longer or missing token finds nothing, and is told nothing."""
    answer = asking.send("GET", path)
    assert (answer.status, answer.text) == (404, "nothing here")


@pytest.mark.parametrize(
    "host",
    ["bench.example", f"bench.example:{PORT}", "127.0.0.1", "127.0.0.1:1", f"127.0.0.1.example:{PORT}",
     f"0.0.0.0:{PORT}", f"[::1]:{PORT}", f"{HOST}@example", ""],
)  # fmt: skip
def test_another_host_is_refused_even_with_the_token(asking: Asking, host: str) -> None:
    """A name elsewhere that was made to lead to this machine does not get at the bench."""
    assert asking.get("state", {"host": host}).status == 421


@pytest.mark.parametrize(
    "origin", ["http://example.org", "https://" + HOST, f"http://127.0.0.1:{PORT + 1}", "null", "file://", ""]
)
def test_another_origin_is_refused_even_with_the_token(asking: Asking, origin: str) -> None:
    """A page from anywhere else, also from another port of this machine, may neither ask nor do."""
    assert asking.get("state", {"origin": origin}).status == 403
    posted = asking.send("POST", f"/{TOKEN}/undo", {**PAGE, "origin": origin}, b'{"window": "w"}')
    assert posted.status == 403


def test_a_form_on_another_page_can_do_nothing(asking: Asking) -> None:
    """What a page elsewhere can send without being asked first lacks the header, and is refused."""
    before = asking.state()
    for headers in ({"content-type": "text/plain"}, {"sec-fetch-site": "cross-site", "x-driftline": "bench"}):
        answer = asking.send("POST", f"/{TOKEN}/undo", headers, b'{"window": "w"}')
        assert answer.status == 403
    assert asking.state() == before


@pytest.mark.parametrize(
    "path",
    ["part/../../../../etc/passwd", "part/..%2f..%2fguards.py", "part/%2e%2e/guards.py", "part//etc/passwd",
     "part/guards.py", "part/bench.html", "part/", "../state", "part/bench.js%00.png", "camera/../state",
     "camera/7", "camera/-1", "camera//etc/passwd", "recipes/tram-fog.toml", ".git/config",
     "%2e%2e/%2e%2e/etc/passwd"],
)  # fmt: skip
def test_no_file_has_an_address(asking: Asking, path: str) -> None:
    """Paths that lead out of the page's own parts find nothing; no answer holds a file of the disk."""
    answer = asking.get(path)
    assert answer.status in (404, 409)
    assert "root:" not in answer.text
    assert "hmac" not in answer.text


def test_a_reference_cannot_name_a_file(asking: Asking) -> None:
    """Where a version is asked for, a path is no version."""
    for ref in ("/etc/passwd", "../../secret", "recipes/tram-fog.toml", "tram-fog@../x", "HEAD"):
        answer = asking.post("pixels", place=0, ref=ref)
        assert answer.status == 409
        assert set(answer.json) == {"problem"}
    assert asking.post("fork", new="../../outside", note="").status == 409
    assert asking.post("open", recipe="../settings").status == 409


def test_what_is_not_understood_changes_nothing(asking: Asking) -> None:
    """Bodies that are no object, lack what is asked, or are far too large are refused."""
    before = asking.state()
    for content in (b"", b"[]", b"{}", b'{"place": "x"}', b"\xff\xfe", b'{"changes": 1}'):
        answer = asking.send("POST", f"/{TOKEN}/change", PAGE, content)
        assert answer.status == 400
    large = asking.send("POST", f"/{TOKEN}/change", PAGE, b"x" * 300_000)
    assert large.status == 413
    assert asking.state() == before


def test_it_listens_on_the_loopback_address_alone(start: Start, looks: Path, frames: list[Path]) -> None:
    """The port answers on 127.0.0.1 and on no other address of this machine; Ctrl-C ends it with status 0."""
    running = start(looks, frames)
    assert running.address.startswith("http://127.0.0.1:")
    port = int(running.address.split(":")[2].partition("/")[0])
    token = running.address.rstrip("/").rpartition("/")[2]
    assert len(token) >= 32
    with socket.create_connection(("127.0.0.1", port), timeout=5) as asked:
        asked.sendall(f"GET /{token}/state HTTP/1.1\r\nHost: evil.example:{port}\r\n\r\n".encode())
        assert b" 421 " in asked.recv(200)
    for other in _other_addresses():
        with pytest.raises(OSError, match=r".*"):
            socket.create_connection((other, port), timeout=2).close()
    assert running.stop() == 0


def _other_addresses() -> list[str]:
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
        try:
            probe.connect(("192.0.2.1", 9))  # documentation address (RFC 5737); nothing is sent
            found = probe.getsockname()[0]
        except OSError:
            found = "127.0.0.1"
    return ["127.0.0.2", *([found] if not found.startswith("127.") else [])]
