"""Find the browser that tests drive; run as a program, see to it that there is or can be one.

It is run before anything is installed, so it needs nothing but Python.
"""

import os
import shutil
import socket
import subprocess
import sys
from contextlib import suppress
from pathlib import Path

NAMES = ("chromium", "chromium-browser", "google-chrome", "google-chrome-stable")

DOWNLOADS = ("cdn.playwright.dev", 443)
"""Where Playwright gets its own browser."""

MISSING = (
    "The tests drive a browser and none was found: install Chromium "
    "(on Debian 'apt-get install chromium'), then run this again."
)


def find_browser():
    """Path of a Chromium: a program on the PATH, else the one that Playwright brought, or None."""
    for name in NAMES:
        if found := shutil.which(name):
            return found
    try:
        from playwright.sync_api import sync_playwright
    except ImportError:
        return None
    with sync_playwright() as play:
        path = play.chromium.executable_path
    return path if Path(path).exists() else None


def from_the_system():
    """Install the system's package where that asks nobody."""
    if shutil.which("apt-get") and os.geteuid() == 0:
        hasty = ("-qq", "-o", "Acquire::Retries=0", "-o", "Acquire::http::Timeout=4")
        _quietly("apt-get", "update", *hasty, seconds=60)
        _quietly("apt-get", "install", "-y", *hasty, "chromium", seconds=600)


def from_playwright():
    """Download Playwright's own browser."""
    _quietly(sys.executable, "-m", "playwright", "install", "chromium", seconds=600)


def can_download():
    try:
        socket.create_connection(DOWNLOADS, timeout=2).close()
    except OSError:
        return False
    return True


def _quietly(*command, seconds):
    with suppress(subprocess.TimeoutExpired):
        subprocess.run(command, capture_output=True, stdin=subprocess.DEVNULL, timeout=seconds)


def main():
    if find_browser():
        return
    from_the_system()
    if not find_browser() and not can_download():
        sys.exit(MISSING)


if __name__ == "__main__":
    main()
