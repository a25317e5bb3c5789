"""A page opened from the disk that remembers whatever went wrong while it was shown."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from playwright.sync_api import Browser, ConsoleMessage

FLAGS = (
    "--headless",
    "--no-sandbox",  # tests in a container run as root
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
)
HARMLESS = ("file://", "data:", "about:", "blob:")
GRAVE = ("serious", "critical")


class WatchedPage:
    """One page; ``page`` is playwright's, ``close`` tells what was heard."""

    def __init__(self, browser: Browser, path: Path, *, width: int, scripts: bool) -> None:
        self._context = browser.new_context(
            viewport={"width": width, "height": 900}, java_script_enabled=scripts
        )
        self.heard: list[str] = []
        self.page = self._context.new_page()
        self.page.on("console", self._console)
        self.page.on("pageerror", lambda error: self.heard.append(f"{path.name}: {error}"))
        self.page.on("request", lambda request: self._request(request.url))
        self.page.goto(path.resolve().as_uri(), wait_until="load")

    def _console(self, message: ConsoleMessage) -> None:
        if message.type in ("error", "warning"):
            self.heard.append(f"{message.type} on the console: {message.text}")

    def _request(self, url: str) -> None:
        if not url.startswith(HARMLESS):
            self.heard.append(f"asked for {url}")

    def close(self) -> list[str]:
        """Close it; return console errors, page errors and requests to anything but the disk."""
        self._context.close()
        return self.heard

    def sideways(self) -> int:
        """Return by how many pixels the whole page can be scrolled sideways."""
        root = "document.documentElement"
        return int(self.page.evaluate(f"{root}.scrollWidth - {root}.clientWidth"))

    def barriers(self) -> list[str]:
        """Return what axe-core calls a serious or critical barrier (Deque, axe-core rules)."""
        from axe_playwright_python.sync_playwright import Axe

        found = Axe().run(self.page).response["violations"]
        return [
            f"{one['id']} ({one['impact']}): {node['html'][:160]}"
            for one in found
            if one["impact"] in GRAVE
            for node in one["nodes"]
        ]
