"""The parent's side of the decoder child: start it, ask it, end it, start it again.

One child a process, started at the first frame. It answers one request at a time (a lock sees to that), has
a limit of time and of memory, and a child that crashed or hung is replaced for the next frame.
"""

from __future__ import annotations

import atexit
import contextlib
import os
import selectors
import signal
import subprocess
import sys
import tempfile
import threading
import time
from dataclasses import dataclass, field
from pathlib import Path
from typing import IO, Any

import numpy as np
from numpy.typing import NDArray

import driftline
from driftline.errors import FrameError
from driftline.frames.wire import pack_message, take_message

MAX_PIXELS = 400_000_000
_KEPT_BYTES = 1 << 28  # of a frame before, for the next: the system would clear their pages again
_TUNABLES = (
    "glibc.malloc.perturb=255:glibc.malloc.hugetlb=1"
    f":glibc.malloc.mmap_threshold={_KEPT_BYTES}:glibc.malloc.trim_threshold={_KEPT_BYTES}"
)
_MEMORY_COMES_CLEAN = sys.platform == "linux"
_HARMLESS = ("OMP:", "libgomp:")


@dataclass(frozen=True)
class Limits:
    """What one request may cost: wall-clock time, address space of the child, size of the frame."""

    seconds: float = 60.0
    memory_bytes: int = 6 * 1024**3
    max_pixels: int = MAX_PIXELS


@dataclass(frozen=True)
class Answer:
    """What the child found: facts, arrays by name, the failure if there was one, LibRaw's complaints."""

    facts: dict[str, Any] = field(default_factory=dict)
    arrays: dict[str, NDArray[Any]] = field(default_factory=dict)
    failed: dict[str, str] | None = None
    complaints: str = ""


class ChildLostError(Exception):
    """The child died or was ended in the middle of a request."""


class Child:
    """One running decoder process."""

    def __init__(self, limits: Limits) -> None:
        self.limits = limits
        self._pixels = _anonymous_file("pixels")
        self._said = _anonymous_file("said")
        life_fd, self._life_fd = os.pipe()  # held by this process alone; the child ends when it closes
        self._process = subprocess.Popen(
            _command(self._pixels.fileno(), life_fd, limits),
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            stderr=self._said,
            pass_fds=[self._pixels.fileno(), life_fd],
            cwd="/",
            env=_environment(),
            bufsize=0,
        )
        os.close(life_fd)

    @property
    def pid(self) -> int:
        """Process number of the child."""
        return self._process.pid

    @property
    def alive(self) -> bool:
        """Whether the child still runs."""
        return self._process.poll() is None

    def ask(self, path: Path, want: str) -> Answer:
        """One request and its answer.

        Raises
        ------
        ChildLostError
            If the child dies, or does not answer in time (it is ended then).
        """
        request = {
            "path": str(path),
            "want": want,
            "seconds": self.limits.seconds,
            "max_pixels": self.limits.max_pixels,
        }
        deadline = time.monotonic() + self.limits.seconds
        assert self._process.stdin is not None
        try:
            self._process.stdin.write(pack_message(request))
            message = take_message(lambda size: self._take(size, deadline))
        except (OSError, EOFError, ValueError):
            raise ChildLostError(self._last_words()) from None
        complaints = self._complaints().replace(f"{path}: ", "")
        if "failed" in message:
            return Answer(message["facts"], {}, message["failed"], complaints)
        arrays = {name: self._array(**place) for name, place in message["arrays"].items()}
        return Answer(message["facts"], arrays, None, complaints)

    def close(self) -> None:
        """End the child, and wait until it is gone; it holds nothing that could be lost."""
        self._process.kill()
        self._process.wait()
        self._let_go()

    def forget(self) -> None:
        """Close this process's ends without touching the child: it belongs to the process that forked."""
        self._process.returncode = 0
        self._let_go()

    def _let_go(self) -> None:
        os.close(self._life_fd)
        for stream in (self._process.stdin, self._process.stdout, self._pixels, self._said):
            if stream is not None:
                with contextlib.suppress(OSError):
                    stream.close()

    def _take(self, size: int, deadline: float) -> bytes:
        out = self._process.stdout
        assert out is not None
        taken = b""
        with selectors.DefaultSelector() as ready:
            ready.register(out, selectors.EVENT_READ)
            while len(taken) < size:
                if not ready.select(max(deadline - time.monotonic(), 0)):
                    self._process.kill()
                    self._process.wait()
                    raise ChildLostError(f"no answer within {self.limits.seconds:g} s")
                part = os.read(out.fileno(), size - len(taken))
                if not part:
                    raise EOFError
                taken += part
        return taken

    def _array(self, dtype: str, shape: list[int], offset: int) -> NDArray[Any]:
        array = np.empty(shape, dtype=dtype)
        remaining = array.reshape(-1).view(np.uint8).data
        while remaining:
            got = os.preadv(self._pixels.fileno(), [remaining[: 1 << 30]], offset)
            if not got:
                raise ChildLostError("the decoder handed over fewer pixels than it said")
            remaining, offset = remaining[got:], offset + got
        return array

    def _complaints(self) -> str:
        text = os.pread(self._said.fileno(), 4096, 0).decode(errors="replace")
        lines = [line.strip() for line in text.splitlines()]
        return "; ".join(line for line in lines if line and not line.startswith(_HARMLESS))

    def _last_words(self) -> str:
        try:
            code = self._process.wait(timeout=5.0)
        except subprocess.TimeoutExpired:
            self._process.kill()
            code = self._process.wait()
        cause = f"signal {signal.Signals(-code).name}" if code < 0 else f"exit status {code}"
        words = self._complaints()
        return f"it ended with {cause}" + (f", saying: {words[-300:]}" if words else "")


def _started(limits: Limits) -> Child:
    try:
        return Child(limits)
    except OSError as error:
        raise FrameError(
            "frame-decoder-lost",
            f"the decoder cannot be started with {sys.executable!r}: {error}",
            hint="run this with the Python that the package is installed in",
        ) from None


def _anonymous_file(name: str) -> IO[bytes]:
    """Shared memory without a name where there is such a thing, else a file already unlinked."""
    if hasattr(os, "memfd_create"):
        return os.fdopen(os.memfd_create(f"driftline-{name}"), "r+b", 0)
    return tempfile.TemporaryFile(buffering=0)


def _command(pixels_fd: int, life_fd: int, limits: Limits) -> list[str]:
    numbers = (pixels_fd, life_fd, limits.memory_bytes)
    return [sys.executable, "-P", "-m", "driftline.frames.decoder", *map(str, numbers)]


def _environment() -> dict[str, str]:
    """The child's environment: the same package, no thread pools of its own, one clock, clean memory.

    LibRaw leaves photosites that a file has no data for as the memory was, which in a long-lived child is
    the picture before (measured); the allocator of the GNU C library can be told to hand out zeros, and to
    take large pages, which spares a fifth of the time of a large frame.
    """
    root = str(Path(driftline.__file__).resolve().parents[1])
    paths = [root, *filter(None, os.environ.get("PYTHONPATH", "").split(os.pathsep))]
    fixed = {
        "PYTHONPATH": os.pathsep.join(os.path.abspath(path) for path in paths),
        "PYTHONWARNINGS": "ignore",
        "OPENBLAS_NUM_THREADS": "1",
        "TZ": "UTC",
        "MALLOC_PERTURB_": "255",
        "GLIBC_TUNABLES": _TUNABLES,
    }
    return {**os.environ, **fixed}


class Decoder:
    """The one decoder child of this process, kept going."""

    def __init__(self, limits: Limits | None = None) -> None:
        self.limits = limits or Limits()
        self._lock = threading.Lock()
        self._child: Child | None = None

    @property
    def pid(self) -> int | None:
        """Process number of the child, or None while there is none."""
        return self._child.pid if self._child else None

    def ask(self, path: Path, want: str) -> Answer:
        """What the child says about a file.

        Raises
        ------
        FrameError
            ``frame-decoder-lost`` if the child cannot start, crashed, was killed or took too long.
        """
        with self._lock:
            if self._child is not None and not self._child.alive:
                self.close()
            if self._child is None:
                self._child = _started(self.limits)
            try:
                answer = self._child.ask(path, want)
                if want == "sensor" and not _MEMORY_COMES_CLEAN:
                    self.close()
                return answer
            except ChildLostError as lost:
                self.close()
                raise FrameError(
                    "frame-decoder-lost",
                    f"{path}: the decoder was lost on this file: {lost}",
                    hint="the file is probably damaged; other frames are not affected",
                ) from None
            except BaseException:  # interrupted: what the child answers later belongs to nobody
                self.close()
                raise

    def change_limits(self, limits: Limits) -> Limits:
        """Set other limits, for a new child; gives the limits there were."""
        with self._lock:
            before, self.limits = self.limits, limits
            self.close()
        return before

    def close(self) -> None:
        """End the child; the next request starts another."""
        if self._child is not None:
            child, self._child = self._child, None
            child.close()

    def forget(self) -> None:
        """After a fork: leave the child to the parent, and start one of our own when needed."""
        self._lock = threading.Lock()
        if self._child is not None:
            child, self._child = self._child, None
            child.forget()


_decoder = Decoder()
atexit.register(_decoder.close)
os.register_at_fork(after_in_child=_decoder.forget)


def ask_decoder(path: Path, want: str) -> Answer:
    """Ask this process's decoder child for the ``sensor``, the ``preview`` or the ``facts`` of a file."""
    return _decoder.ask(path, want)


def set_limits(limits: Limits) -> Limits:
    """Change the limits for children started from now on; gives the limits there were before."""
    return _decoder.change_limits(limits)
