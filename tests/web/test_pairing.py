"""The pairing page: what a device is told over plain HTTP, and that no secret is among it."""

from __future__ import annotations

import io
from dataclasses import replace
from datetime import UTC, datetime
from typing import TYPE_CHECKING

import pytest
import zxingcpp
from axe_playwright_python.sync_playwright import Axe
from cryptography import x509
from cryptography.hazmat.primitives.hashes import SHA256
from PIL import Image

from recondition.web.authority import Authority, open_authority
from recondition.web.behind import forgetful
from recondition.web.pairing import Pairing, make_pairing
from tests.web.serving import SHOP, by_name, served_app, tab
from tests.web.serving import browser as started_browser

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path
    from wsgiref.types import StartResponse, WSGIEnvironment

    from flask.testing import FlaskClient
    from playwright.sync_api import Page

ADDRESSES = (f"https://{SHOP}:8765", "https://192.168.7.20:8765")
FILES = ("/static/site.css", "/static/pair.css", "/static/mark.svg")


@pytest.fixture(scope="module")
def authority(tmp_path_factory: pytest.TempPathFactory) -> Authority:
    folder = tmp_path_factory.mktemp("lan")
    return open_authority(folder, [SHOP], "desk.local", datetime(2026, 2, 1, tzinfo=UTC))


@pytest.fixture(scope="module")
def pairing(authority: Authority) -> Pairing:
    ends = authority.certificate.not_valid_after_utc.date()
    return Pairing(ADDRESSES, authority.der, authority.fingerprint, authority.called, ends,
                   authority.limits)  # fmt: skip


@pytest.fixture
def client(pairing: Pairing) -> FlaskClient:
    return make_pairing(pairing).test_client()


def _text(client: FlaskClient) -> str:
    """Give the page without the places at which a fingerprint may be broken."""
    page = client.get("/", base_url=f"http://{SHOP}:8766")
    assert page.status_code == 200
    return page.get_data(as_text=True).replace("<wbr>", "")


def test_the_page_says_what_where_and_how_to_be_sure(client: FlaskClient) -> None:
    text = _text(client)
    for said in (*ADDRESSES, "recondition on desk.local, 2026-02-01", "ends on 2036-01-30",
                 "local, localhost, shop.example.test", "/authority.crt",
                 f"http://{SHOP}:8766/"):  # fmt: skip
        assert said in text, said
    assert text.count("SHA-256") == 1


def test_the_fingerprint_is_that_of_the_file_that_is_loaded(
    client: FlaskClient, authority: Authority
) -> None:
    answer = client.get("/authority.crt")
    assert answer.mimetype == "application/x-x509-ca-cert"
    found = x509.load_der_x509_certificate(answer.data)
    assert found == authority.certificate
    shown = found.fingerprint(SHA256()).hex(":").upper()
    assert shown in _text(client)


def test_a_name_is_shown_as_text(pairing: Pairing) -> None:
    client = make_pairing(replace(pairing, called="<b>desk</b>")).test_client()
    assert "&lt;b&gt;desk&lt;/b&gt;" in _text(client)
    assert "<b>" not in _text(client)


def test_the_private_key_is_in_no_answer(client: FlaskClient, authority: Authority) -> None:
    number = authority.key.private_numbers().private_value
    secret = number.to_bytes(32, "big")
    pem = authority.folder.joinpath("authority-private.pem").read_bytes()
    asked = ["/", "/pair.svg", "/here.svg", "/authority.crt", *FILES]
    rules = {rule.rule for rule in client.application.url_map.iter_rules()}
    assert rules == set(asked)
    for path in asked:
        answer = client.get(path)
        assert answer.status_code == 200, path
        assert secret not in answer.data
        assert secret.hex().encode() not in answer.data.lower()
        assert pem.splitlines()[1] not in answer.data
        answer.close()


@pytest.mark.parametrize(
    "path",
    ["/static/../authority-private.pem", "/static/%2e%2e/site.css", "/authority-private.pem",
     "/static/site.js", "/sign-in", "/bench"],
)  # fmt: skip
def test_nothing_else_is_served(client: FlaskClient, path: str) -> None:
    assert client.get(path).status_code == 404
    assert client.post("/").status_code == 405


def test_no_browser_remembers_that_the_name_speaks_tls_alone() -> None:
    def app(_environ: WSGIEnvironment, start: StartResponse) -> list[bytes]:
        start("200 OK", [("Strict-Transport-Security", "max-age=9"), ("X-Kept", "yes")])
        return [b""]

    said: list[tuple[str, str]] = []

    def start(_status: str, headers: list[tuple[str, str]], *_more: object) -> None:
        said.extend(headers)

    assert list(forgetful(app)({}, start)) == [b""]  # type: ignore[arg-type]
    assert said == [("X-Kept", "yes")]


@pytest.fixture(scope="module")
def tabs(pairing: Pairing) -> Iterator[dict[str, Page]]:
    """Give the page on a phone and at a desk, in light and dark, asked for by its name."""
    with served_app(make_pairing(pairing)) as url, started_browser() as started:
        shapes = {"phone": (True, False), "phone dark": (True, True), "desk": (False, False),
                  "desk dark": (False, True)}  # fmt: skip
        pages = {}
        for name, (phone, dark) in shapes.items():
            page = tab(started, phone=phone, dark=dark)
            page.on("console", lambda said: pytest.fail(said.text))
            page.goto(by_name(url))
            pages[name] = page
        yield pages


@pytest.mark.long
@pytest.mark.parametrize("shape", ["desk", "desk dark"])
def test_a_camera_reads_both_codes_from_the_screen(tabs: dict[str, Page], shape: str) -> None:
    page = tabs[shape]
    picture = Image.open(io.BytesIO(page.locator("ul.pair").screenshot()))
    found = {code.text for code in zxingcpp.read_barcodes(picture)}
    assert found == {ADDRESSES[0], page.url}


@pytest.mark.long
@pytest.mark.parametrize("shape", ["phone", "phone dark", "desk", "desk dark"])
def test_nobody_is_kept_out(tabs: dict[str, Page], shape: str) -> None:
    page = tabs[shape]
    page.locator("summary").evaluate_all("all => all.forEach(one => one.parentElement.open = true)")
    found = Axe().run(page)
    assert found.violations_count == 0, found.generate_report()
    wide = page.evaluate("document.documentElement.scrollWidth")
    assert wide <= page.evaluate("window.innerWidth")


@pytest.mark.long
def test_the_file_is_loaded_with_one_touch(tabs: dict[str, Page], authority: Authority) -> None:
    button = tabs["phone"].get_by_role("link", name="Load authority.crt")
    box = button.bounding_box()
    assert box is not None
    assert min(box["height"], box["width"]) >= 48
    with tabs["phone"].expect_download() as loaded:
        button.tap()
    path: Path = loaded.value.path()
    assert path.read_bytes() == authority.der
    assert loaded.value.suggested_filename == "authority.crt"
