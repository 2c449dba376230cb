"""Serve the notebooks as pages; the browser is opened at the address that lets it in."""

import webbrowser

from voila.app import Voila


class App(Voila):
    """Voilà, whose own way to open the browser leaves the token out."""

    def launch_browser(self):
        webbrowser.open(self.display_url)


if __name__ == "__main__":
    App.launch_instance()
