"""The app answers this machine's own pages only, and those who hold its token."""

import http.client
import re

import pytest

OWN, FOREIGN = "127.0.0.1", "balance.example"


def ask(app, path, host=OWN, **headers):
    """The answer to one request: status, headers and text."""
    port = int(app.address.rsplit(":", 1)[1])
    connection = http.client.HTTPConnection(OWN, port, timeout=60)
    named = {name.replace("_", "-"): value for name, value in headers.items()}
    connection.request("GET", path, headers={"Host": f"{host}:{port}"} | named)
    answer = connection.getresponse()
    text = "" if answer.status == 101 else answer.read().decode("utf-8", "replace")
    connection.close()
    return answer.status, answer.headers, text


@pytest.fixture(scope="module")
def cookie(app):
    status, headers, _ = ask(app, f"/?token={app.token}")
    assert status == 200
    return "; ".join(each.split(";")[0] for each in headers.get_all("Set-Cookie"))


@pytest.fixture(scope="module")
def channels(app, cookie):
    """Path of the channels of a kernel that a page has started."""
    status, _, text = ask(app, "/voila/render/09_glossary.ipynb", Cookie=cookie)
    assert status == 200
    kernel = re.search(r'"kernelId": *"([0-9a-f-]{36})"', text)[1]
    return f"/api/kernels/{kernel}/channels"


def upgrade(app, path, origin, host=OWN, **headers):
    """Status of a request to open a kernel's channels: 101 opens them."""
    port = int(app.address.rsplit(":", 1)[1])
    return ask(
        app, path, host,
        Connection="Upgrade", Upgrade="websocket", Sec_WebSocket_Version="13",
        Sec_WebSocket_Key="dGhlIHNhbXBsZSBub25jZQ==", Origin=f"http://{origin}:{port}", **headers,
    )[0]  # fmt: skip


@pytest.mark.parametrize("path", ["/", "/voila/render/09_glossary.ipynb", "/voila/tree/"])
def test_pages_need_the_token_and_this_machines_name(app, cookie, path):
    assert ask(app, path)[0] == 302
    assert ask(app, f"{path}?token=0")[0] == 302
    assert ask(app, path, host=FOREIGN)[0] == 403
    assert ask(app, path, host=FOREIGN, Cookie=cookie)[0] == 403
    assert ask(app, f"{path}?token={app.token}", host=FOREIGN)[0] == 403
    assert ask(app, path, Cookie=cookie)[0] == 200


def test_channels_open_to_the_apps_own_pages_only(app, cookie, channels):
    assert upgrade(app, channels, OWN, Cookie=cookie) == 101
    assert upgrade(app, channels, OWN) == 403
    assert upgrade(app, channels, FOREIGN, Cookie=cookie) == 403
    assert upgrade(app, channels, FOREIGN) == 403
    assert upgrade(app, channels, FOREIGN, host=FOREIGN, Cookie=cookie) == 403


def test_the_cookie_stays_with_the_app(app):
    _, headers, _ = ask(app, f"/?token={app.token}")
    kept = [each for each in headers.get_all("Set-Cookie") if each.startswith("username")]
    assert kept and all("HttpOnly" in each for each in kept)


@pytest.mark.parametrize("host", [OWN, FOREIGN])
def test_static_files_hold_programs_and_no_work_of_the_visitor(app, cookie, host):
    assert ask(app, "/voila/static/voila.js", host=host)[0] == 200
    (app.folder / "notebooks" / "mine.toml").write_text("name = 'mine'\n")
    for path in ("mine.toml", "../notebooks/mine.toml", "00_start_here.ipynb", "../Makefile"):
        status, _, text = ask(app, f"/voila/files/{path}", host=host, Cookie=cookie)
        assert status in (403, 404) and "name =" not in text
