"""Serve the notebooks as pages; the browser is opened at the address that lets it in.

A lesson is shown as it is stored, with its live pictures, at once; Python starts only for the desk
and for a whole page.
"""

import asyncio
import webbrowser
from collections import defaultdict
from pathlib import Path
from threading import Lock, Thread

import nbformat
from jupyter_server.base.handlers import JupyterHandler
from jupyter_server.utils import url_path_join
from tornado.web import HTTPError, authenticated
from voila.app import Voila

from paddlebal.coach import TITLE, coach_page
from paddlebal.pages import index, page, title_of

OWN, COACH = ("00_desk", "00_book"), "page_for_a_course"
"""Pages of the workshop's own paddles, which need Python; and the one that is no notebook."""


WORDS = (
    "The lessons open at once. The desk, where your own paddles are fitted, and the book, where "
    "they are found again, take some seconds."
)


class Lessons:
    """Pages of the notebooks in a folder, made once for each version of a notebook's file.

    Parameters
    ----------
    folder : str
    address : str
        Where the pages are served.
    """

    def __init__(self, folder, address):
        self._folder, self._address = Path(folder), address
        self._made, self._making = {}, defaultdict(Lock)

    def whole(self, name):
        """Address of a notebook's page with a kernel."""
        return url_path_join(self._address, f"voila/render/{name}.ipynb")

    def _notebooks(self):
        return {path.stem: path for path in sorted(self._folder.glob("*.ipynb"))}

    def _kept(self, make, path):
        """What `make` gives for a file, made anew when the file has changed."""
        key, changed = (make, path), path.stat().st_mtime_ns
        if self._made.get(key, (None,))[0] != changed:
            with self._making[key]:
                if self._made.get(key, (None,))[0] != changed:
                    self._made[key] = changed, make(path)
        return self._made[key][1]

    def list(self):
        """HTML of the list of pages, the workshop's own first."""
        titles = {name: self._kept(title_at, path) for name, path in self._notebooks().items()}
        own = {self.whole(name): titles.pop(name) for name in OWN if name in titles}
        lessons = {
            url_path_join(self._address, f"lessons/{name}.html"): title
            for name, title in titles.items()
        }
        course = {url_path_join(self._address, f"lessons/{COACH}.html"): TITLE}
        return index(own | lessons | course, WORDS)

    def page(self, name):
        """HTML of a lesson or of the page for a course; KeyError if there is none of that name."""
        if name == COACH:
            return coach_page()
        return self._kept(self._made_page, self._notebooks()[name])

    def _made_page(self, path):
        return page(path, self.whole(path.stem))

    def make_all(self):
        """Make every page before it is asked for."""
        for name in self._notebooks():
            if name not in OWN:
                self.page(name)


def title_at(path):
    """The title of the notebook at a path."""
    return title_of(nbformat.read(path, as_version=nbformat.NO_CONVERT))


class Handler(JupyterHandler):
    """Answers with the list of pages or with a lesson, made aside so that others are answered."""

    def initialize(self, lessons):
        """Keep the pages."""
        self.lessons = lessons

    @authenticated
    async def get(self, name=""):
        """A lesson by the name of its notebook; the list without one."""
        # Reading it sets the cookie without which a page that is left cannot end its kernel.
        _ = self.xsrf_token
        if name in OWN:
            self.redirect(self.lessons.whole(name))
        elif name in ("", "index"):
            self.finish(await asyncio.to_thread(self.lessons.list))
        else:
            try:
                self.finish(await asyncio.to_thread(self.lessons.page, name))
            except KeyError:
                raise HTTPError(404) from None


class App(Voila):
    """Voilà with pages that need no kernel; its way to open the browser leaves the token out."""

    def init_handlers(self):
        """The pages', in front of Voilà's."""
        lessons = Lessons(self.root_dir, self.base_url)
        Thread(target=lessons.make_all, daemon=True).start()
        addresses = (self.server_url, r"/voila/tree.*", r"/lessons/(\w+)\.html")
        own = [
            (url_path_join(self.server_url, address), Handler, {"lessons": lessons})
            for address in addresses
        ]
        return [*own, *super().init_handlers()]

    def launch_browser(self):
        """Open the address that carries the token."""
        webbrowser.open(self.display_url)


if __name__ == "__main__":
    App.launch_instance()
