"""The reference of the public names builds without a warning and holds them all."""

import re

import pytest
from make_api import make_api
from public_names import public_names


@pytest.fixture(scope="module")
def built(tmp_path_factory):
    folder = tmp_path_factory.mktemp("api")
    make_api(folder)
    return folder


def test_every_public_name_stands_on_its_modules_page(built):
    for name, module in public_names().items():
        page = (built / f"{module or name}.html").read_text(encoding="utf-8")
        if not module:
            assert f'id="module-paddlebal.{name}"' in page
            continue
        assert f'id="paddlebal.{module}.{name}"' in page


def test_the_pages_load_nothing_from_elsewhere(built):
    for path in built.glob("*.html"):
        page = path.read_text(encoding="utf-8")
        assert not re.search(r'(?:src|href)="(?:\w+:)?//', page), path.name
