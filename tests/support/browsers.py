"""A real browser, where there is one: Chromium through playwright, and axe-core in its pages."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

MISSING = (
    "left out, since there is no Chromium here: on Debian and Ubuntu, apt-get install chromium"
)
_FLAGS = (
    "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-sync",
    "--disable-background-networking", "--disable-component-update",
)  # fmt: skip
_AXE = (Path(__file__).parent / "axe" / "axe-4.14.1.min.js").read_text("utf-8")
WIDTHS = {"phone": (360, 1), "tablet": (768, 1), "desk": (1280, 1), "desk at 200 %": (640, 2)}
"""Widths in CSS pixels, and device pixels in one."""


def chromium() -> str | None:
    """Where Chromium is."""
    return shutil.which("chromium") or shutil.which("chromium-browser")


@contextmanager
def browser() -> Iterator[Any]:
    """A browser without a window."""
    from playwright.sync_api import sync_playwright

    with sync_playwright() as playwright:
        started = playwright.chromium.launch(executable_path=chromium(), args=list(_FLAGS))
        try:
            yield started
        finally:
            started.close()


def axe_findings(page: Any, *, contrast: bool = True) -> list[str]:
    """What axe-core finds on a page as it is now."""
    if not page.evaluate("typeof axe === 'object'"):
        page.evaluate(_AXE)
    found = page.evaluate(
        """contrast => axe.run(document, {
            resultTypes: ["violations"], rules: {"color-contrast": {enabled: contrast}},
        }).then(run => run.violations.map(
            one => `${one.id}: ${one.help}: ` + one.nodes.slice(0, 3).map(n => n.html).join(" ")
        ))""",
        contrast,
    )
    return [str(one)[:600] for one in found]


def small_targets(page: Any, least: int) -> list[str]:
    """Whatever is tapped and is smaller, in CSS pixels; links within a sentence aside."""
    found = page.evaluate(
        """least => [...document.querySelectorAll("a, button, input, select, summary")]
            .filter(one => one.type !== "hidden" && !one.closest(".skip, [aria-hidden]"))
            .filter(one => one.checkVisibility() && one.getClientRects().length)
            .map(one => [one, one.getBoundingClientRect()])
            .filter(([one, box]) => Math.min(box.width, box.height) < least - 0.5)
            .map(([one, box]) => `${box.width} x ${box.height}: ${one.outerHTML.slice(0, 150)}`)""",
        least,
    )
    return [str(one) for one in found]
