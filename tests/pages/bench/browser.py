"""A real browser before the bench: Debian's Chromium, driven by Playwright; without it a skip says why."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

import pytest

CHROMIUM = shutil.which("chromium") or shutil.which("chromium-browser") or ""
WAIT_MS = 90_000


@contextmanager
def chromium() -> Iterator[Any]:
    """The browser, or a skip that says what is missing."""
    if not CHROMIUM:
        pytest.skip(
            "Chromium is not installed (apt-get install chromium); it is what these tests look through"
        )
    playwright = pytest.importorskip(
        "playwright.sync_api", reason="Playwright drives the browser: pip install '.[test]'"
    )
    with playwright.sync_playwright() as driver:
        browser = driver.chromium.launch(executable_path=CHROMIUM, args=["--no-sandbox"])
        yield browser
        browser.close()


class Window:
    """One window on a bench; whatever the page complains of is kept."""

    def __init__(self, browser: Any, address: str, **settings: Any) -> None:
        self.context = browser.new_context(viewport={"width": 1400, "height": 900}, **settings)
        self.page = self.context.new_page()
        self.page.set_default_timeout(WAIT_MS)
        self.complaints: list[str] = []
        self.page.on("pageerror", lambda error: self.complaints.append(str(error)))
        self.page.on("dialog", lambda dialog: self.complaints.append(f"dialog: {dialog.message}"))
        self.page.goto(address)

    def measured(self) -> None:
        """Wait until the first proof has been measured."""
        self.page.locator("#drift h2").wait_for()

    def at(self, path: str) -> Any:
        """The track of a parameter."""
        return self.page.locator(f'[data-path="{path}"] .track')

    def value(self, path: str) -> str:
        """The number beside it."""
        return str(self.page.locator(f'[data-path="{path}"] .value input').input_value())

    def shows(self, path: str, value: str) -> None:
        """Wait until the sheet shows a value."""
        aria = self.page.locator(f'[data-path="{path}"] .track[aria-valuetext^="{value}"]')
        aria.wait_for()

    def press(self, path: str, *keys: str) -> None:
        """Press keys on a track."""
        self.at(path).focus()
        for key in keys:
            self.page.keyboard.press(key)

    def said(self, text: str) -> None:
        """Wait until the page says something."""
        self.page.locator("#said", has_text=text).wait_for()

    def close(self) -> None:
        """Close it; a page that complained fails the test."""
        self.context.close()
        assert not self.complaints, self.complaints
