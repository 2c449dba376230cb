"""One browser, one JupyterLab and one app for all the tests of a process."""

import pytest
from browser.app import App
from browser.lab import Lab
from find_browser import find_browser
from notebook_files import FOLDER
from playwright.sync_api import sync_playwright


@pytest.fixture(scope="session")
def browser():
    flags = ["--no-sandbox", "--disable-gpu", "--disable-background-networking"]
    with sync_playwright() as play:
        chromium = play.chromium.launch(executable_path=find_browser(), args=flags)
        yield chromium
        chromium.close()


@pytest.fixture(scope="session")
def lab(browser, tmp_path_factory):
    with Lab(browser, tmp_path_factory.mktemp("lab"), FOLDER, FOLDER.parent / "data") as lab:
        yield lab


@pytest.fixture(scope="session")
def app(tmp_path_factory):
    with App(tmp_path_factory.mktemp("app")) as app:
        yield app
