"""A browser for the tests of pages; without one they skip and say so."""

from __future__ import annotations

import shutil
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page, sync_playwright

NAMES = ("chromium", "chromium-browser", "google-chrome")
FLAGS = (
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
)
READY = ".report[data-ready]"

Opener = Callable[..., Page]


@pytest.fixture(scope="session")
def browser() -> Iterator[Browser]:
    path = next(filter(None, map(shutil.which, NAMES)), None)
    if path is None:
        pytest.skip(f"no browser to try pages in: none of {', '.join(NAMES)} is on the path")
    with sync_playwright() as playwright:
        started = playwright.chromium.launch(executable_path=path, args=list(FLAGS))
        yield started
        started.close()


@pytest.fixture
def opened(browser: Browser, tmp_path: Path) -> Iterator[Opener]:
    """Opens a page's text; nothing may be said on the console, nothing fetched."""
    complaints: list[str] = []
    requests: list[str] = []
    contexts = []

    def open_(text: str, **settings: object) -> Page:
        file = tmp_path / "report.html"
        file.write_text(text, encoding="utf-8")
        context = browser.new_context(**{"viewport": {"width": 1280, "height": 900}, **settings})  # type: ignore[arg-type]
        contexts.append(context)
        page = context.new_page()
        page.on("console", lambda message: complaints.append(message.text))
        page.on("pageerror", lambda error: complaints.append(str(error)))
        page.on("request", lambda request: requests.append(request.url))
        page.goto(file.as_uri())
        if settings.get("java_script_enabled", True):
            page.wait_for_selector(READY)
        return page

    yield open_
    for context in contexts:
        context.close()
    assert complaints == []
    assert [url for url in requests if not url.endswith("/report.html")] == []
