"""A real browser for the pocket page: Debian's chromium, driven by the tests, never on-line."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import pytest

ARGS = [
    "--headless",
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
]
PHONE = {"width": 360, "height": 740}
DESK = {"width": 1280, "height": 800}

# Texts whose contrast with their ground is under 4.5, as WCAG 2.2 (success criterion 1.4.3) counts.
FAINT = """() => {
  const light = (colour) => {
    const [r, g, b] = colour.match(/[\\d.]+/g).slice(0, 3).map((v) => {
      const s = v / 255;
      return s <= 0.04045 ? s / 12.92 : ((s + 0.055) / 1.055) ** 2.4;
    });
    return 0.2126 * r + 0.7152 * g + 0.0722 * b;
  };
  const ground = (element) => {
    for (let e = element; e; e = e.parentElement) {
      const colour = getComputedStyle(e).backgroundColor;
      if (!/, 0\\)$/.test(colour)) return colour;
    }
    return 'rgb(255, 255, 255)';
  };
  const texts = [...document.querySelectorAll('body *')].filter((e) => (
    e.checkVisibility() && [...e.childNodes].some((n) => n.nodeType === 3 && n.data.trim())
  ));
  const found = texts.filter((e) => {
    const both = [light(getComputedStyle(e).color), light(ground(e))].sort((a, b) => b - a);
    return (both[0] + 0.05) / (both[1] + 0.05) < 4.5;
  });
  return found.map((e) => e.outerHTML.slice(0, 80));
}"""
# What is pressed or filled in and is less than 44 pixels wide or high.
SMALL = """() => [...document.querySelectorAll('button, summary, input, select, textarea')]
  .filter((e) => e.checkVisibility()).filter((e) => {
    const { width, height } = e.getBoundingClientRect();
    return width < 44 || height < 44;
  }).map((e) => e.outerHTML.slice(0, 80))"""
# What is pressed or filled in and has no name for a reader who does not see it.
NAMELESS = """() => [...document.querySelectorAll('button, input, select, textarea')]
  .filter((e) => !(e.tagName === 'BUTTON' && e.textContent.trim()) && !e.labels?.length)
  .map((e) => e.outerHTML.slice(0, 80))"""


class Watched:
    """An open page, with what it wrote to the console and what it asked of a network."""

    def __init__(self, page: Any) -> None:
        self.page = page
        self.said: list[str] = []
        self.asked: list[str] = []
        page.on("console", lambda message: self.said.append(message.text))
        page.on("pageerror", lambda error: self.said.append(str(error)))
        page.on("request", lambda request: self.asked.append(request.url))

    def begin(self, label: str, region: str = "", path: str = "") -> None:
        """Begin a new piece on the list of pieces."""
        self.page.fill("#new-label", label)
        self.page.select_option("#new-region", region)
        if path:
            self.page.locator("form.new summary").click()
            self.page.fill("#new-path", path)
        self.page.click("button.main")

    def press(self, key: str) -> None:
        """Press a key while the question has the focus."""
        self.page.locator("#question").press(key)

    def state(self) -> Any:
        """Return what the page knows of the piece that is open."""
        return self.page.evaluate("keygenPage.state()")

    def open_all(self) -> None:
        """Open every part of the page."""
        self.page.evaluate(
            "document.querySelectorAll('details').forEach((d) => { d.open = true; })"
        )


@contextmanager
def browser(folder: Path, phone: bool = False) -> Iterator[Any]:
    """Start the browser with a profile of its own; the test is skipped where there is none."""
    api = pytest.importorskip("playwright.sync_api", reason="needs playwright")
    chromium = shutil.which("chromium")
    if chromium is None:
        pytest.skip("needs Debian's chromium")
    with api.sync_playwright() as playwright:
        context = playwright.chromium.launch_persistent_context(
            folder,
            executable_path=chromium,
            args=ARGS,
            viewport=PHONE if phone else DESK,
            has_touch=phone,
            is_mobile=phone,
            accept_downloads=True,
        )
        try:
            yield context
        finally:
            context.close()


@contextmanager
def opened(context: Any, file: Path) -> Iterator[Watched]:
    """Open a page; when it is closed, it has complained of nothing and asked for nothing."""
    watched = Watched(context.new_page())
    try:
        watched.page.goto(file.as_uri())
        yield watched
        assert watched.said == []
        assert set(watched.asked) <= {file.as_uri()}
    finally:
        watched.page.close()
