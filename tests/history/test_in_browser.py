"""The page that checks itself, in a real browser: untouched, altered, without means or script."""

from __future__ import annotations

import base64
import hashlib
import random
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser, BrowserContext, Page, sync_playwright

from tests.browsing import ARGUMENTS, chromium
from tests.check_values import FOLDER
from tests.history import proving
from tests.history.altering import IN_PAGE, IN_PROOF
from tests.history.proving import KEY, OTHER_KEY, POINTS, SCRIPT, page, proved

pytestmark = pytest.mark.long

STATUS = '[data-proof="status"]'
DONE = f'{STATUS}:is([data-state="unchanged"], [data-state="altered"])'
# The published texts without numbers; the data of a work history holds none.
WITHOUT_NUMBERS = ("french", "unicode", "weird")
SIGNED = "The signature was checked and is by the key whose fingerprint is {}."
# Takes the means of checking signatures away, as on a page without a secure origin.
NO_SUBTLE = "Object.defineProperty(window.crypto, 'subtle', { value: undefined });"


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    """Give one browser; starting it takes longer than all that the tests do in it."""
    with sync_playwright() as play:
        started = play.chromium.launch(executable_path=chromium(), args=ARGUMENTS)
        yield started
        started.close()


@pytest.fixture(scope="module")
def context(browser: Browser) -> BrowserContext:
    """Give one set of tabs."""
    return browser.new_context()


@pytest.fixture(scope="module")
def tab(context: BrowserContext) -> Page:
    """Give one tab."""
    return context.new_page()


def _read(tab: Page, file: Path, text: str) -> tuple[str, list[str]]:
    """Open a page and give the state it comes to and what it says."""
    file.write_text(text, encoding="utf-8")
    tab.goto(file.as_uri())
    tab.wait_for_selector(DONE)
    status = tab.locator(STATUS)
    return str(status.get_attribute("data-state")), status.locator("span").all_inner_texts()


def _helpers(tab: Page, expression: str, argument: Any) -> Any:
    """Work something out with the functions of the script, on an empty page."""
    head, end = SCRIPT.rstrip().removesuffix("})();"), "})();"
    names = "{ sha256, canonical, hex, fromHex, treeRoot, onPaper, fromBase64 }"
    tab.goto("about:blank")
    body = f"const own = {head} return {names}; {end}\nreturn ({expression})(own, given);"
    return tab.evaluate(f"(given) => {{ {body} }}", argument)


def test_untouched_it_is_unchanged_and_signed(tab: Page, tmp_path: Path) -> None:
    asked: list[str] = []
    tab.on("request", lambda request: asked.append(request.url))
    errors: list[str] = []
    tab.on("console", lambda message: errors.append(message.text))
    file, made = tmp_path / "page.html", proved()
    state, said = _read(tab, file, page(made))
    assert said[0].startswith("Unchanged: ")
    assert state == "unchanged"
    assert said[1] == "Compared: 8 records, 6 places with text, 2 pictures."
    assert (
        said[2]
        == f"The signature was checked and is by the key whose fingerprint is {made.fingerprint}."
    )
    assert made.code in said[3]
    assert said[-1].startswith("None of this proves the vehicle")
    assert errors == []
    assert [url for url in asked if not url.startswith("data:")] == [file.as_uri()]


def test_without_its_means_it_says_that_the_signature_was_not_checked(
    browser: Browser, tmp_path: Path
) -> None:
    context = browser.new_context()
    context.add_init_script(NO_SUBTLE)
    state, said = _read(context.new_page(), tmp_path / "page.html", page(proved()))
    context.close()
    assert state == "unchanged"
    assert "The signature was not checked here: this browser has no means for it." in said
    assert not any("was checked and is by" in line for line in said)


def test_without_script_it_reads_not_checked(browser: Browser, tmp_path: Path) -> None:
    file = tmp_path / "page.html"
    file.write_text(page(proved()), encoding="utf-8")
    context = browser.new_context(java_script_enabled=False)
    tab = context.new_page()
    tab.goto(file.as_uri())
    assert tab.locator(STATUS).inner_text() == "not checked"
    assert tab.locator(STATUS).get_attribute("data-state") == "not checked"
    context.close()


def test_a_proof_without_leaf_hashes_is_checked_too(tab: Page, tmp_path: Path) -> None:
    made = proved()
    for each in made.records:
        del each["leaf"]
    assert _read(tab, tmp_path / "page.html", page(made))[0] == "unchanged"
    made.records[2]["record"]["data"]["late"] = True
    state, said = _read(tab, tmp_path / "page.html", page(made))
    assert state == "altered"
    assert any("do not lead to the root" in line for line in said)


@pytest.mark.parametrize("what", IN_PAGE)
def test_what_is_altered_in_the_page_is_found_and_named(
    what: str, tab: Page, tmp_path: Path
) -> None:
    change, expected = IN_PAGE[what]
    state, said = _read(tab, tmp_path / "page.html", change(page(proved())))
    assert state == "altered"
    assert said[0].startswith("Altered: ")
    assert any(line.startswith(expected) for line in said), said
    assert not any(line.startswith("Unchanged") for line in said)


@pytest.mark.parametrize("what", IN_PROOF)
def test_what_is_altered_in_the_proof_is_found_and_named(
    what: str, tab: Page, tmp_path: Path
) -> None:
    alter, expected = IN_PROOF[what]
    made = proved()
    alter(made)
    state, said = _read(tab, tmp_path / "page.html", page(made))
    assert state == "altered"
    assert any(expected in line for line in said), said


def test_signed_anew_by_another_key_only_the_fingerprint_tells(tab: Page, tmp_path: Path) -> None:
    ours, theirs = proved(), proved()
    proving.signed(theirs.proof, OTHER_KEY)
    shown = page(theirs).replace(f">{theirs.fingerprint}<", f">{ours.fingerprint}<")
    state, said = _read(tab, tmp_path / "page.html", shown)
    assert state == "altered"
    expected = f"The fingerprint shown is {ours.fingerprint}; the key has {theirs.fingerprint}."
    assert expected in said
    state, said = _read(tab, tmp_path / "page.html", page(theirs))
    assert state == "unchanged"
    assert any(theirs.fingerprint in line for line in said)
    assert any(line.startswith("The signer is whoever holds the key") for line in said)


OTHER_FORMS = {'{"files":[': '{ "files":[', "\\u003c": "\\u003C", " Corriva": " Corriv\\u0061"}


def test_a_proof_written_in_another_form_is_refused(tab: Page, tmp_path: Path) -> None:
    for old, new in (
        ('{"files":[', '{ "files":['),
        ("\\u003c", "\\u003C"),
        (" Corriva", " Corriv\\u0061"),
    ):
        head, mark, rest = page(proved()).partition('id="proof">')
        assert old in rest
        state, said = _read(tab, tmp_path / "page.html", head + mark + rest.replace(old, new, 1))
        assert state == "altered"
        assert "The proof in this page cannot be read, or is not in its one exact form." in said


def test_of_many_faults_twenty_are_named_and_the_rest_counted(tab: Page, tmp_path: Path) -> None:
    more = "".join(f"<p>Number {number}</p>" for number in range(23))
    state, said = _read(
        tab, tmp_path / "page.html", page(proved()).replace("<body>", f"<body>{more}")
    )
    assert state == "altered"
    assert sum(line.startswith("The text “Number") for line in said) == 20
    assert said[21] == "3 more were found."


def test_the_script_has_all_its_words_and_no_word_is_left_over() -> None:
    assert proving.keys_of_the_script() == set(proving.CHECK_WORDS)


def test_the_script_can_stand_in_a_page_and_reaches_for_nothing() -> None:
    assert "</" not in SCRIPT
    assert "<!--" not in SCRIPT
    reaching = ("innerHTML", "eval(", "Function(", "fetch", "XMLHttp", "import(", "http", "open(")
    assert [word for word in reaching if word in SCRIPT] == []


def test_its_hash_agrees_for_every_length(tab: Page) -> None:
    drawn = random.Random(20250620)  # noqa: S311 - a fixed draw, nothing secret
    lengths = [*range(131), *(drawn.randrange(2000) for _ in range(3000))]
    texts = [drawn.randbytes(length) for length in lengths]
    given = [base64.b64encode(text).decode() for text in texts]
    found = _helpers(
        tab, "(own, given) => given.map((one) => own.hex(own.sha256(own.fromBase64(one))))", given
    )
    assert found == [hashlib.sha256(text).hexdigest() for text in texts]


def test_its_canonical_text_is_the_published_one(tab: Page) -> None:
    """RFC 8785 test data of its author (Apache License 2.0): those without numbers."""
    vectors = FOLDER / "jcs"
    for name in WITHOUT_NUMBERS:
        text = (vectors / f"{name}.input.json").read_text(encoding="utf-8")
        wanted = (vectors / f"{name}.outhex.txt").read_text(encoding="utf-8").split()
        made = _helpers(
            tab,
            "(own, given) => own.hex(new TextEncoder().encode(own.canonical(JSON.parse(given))))",
            text,
        )
        assert made == "".join(wanted), name


def test_its_canonical_text_refuses_numbers(tab: Page) -> None:
    refuses = "(own, given) => { try { return own.canonical(given); } catch { return null; } }"
    assert _helpers(tab, refuses, {"a": [1]}) is None
    assert _helpers(tab, refuses, {"a": [True, None]}) == '{"a":[true,null]}'


def test_its_root_is_that_of_the_tree_for_every_number_of_leaves(tab: Page) -> None:
    leaves = [hashlib.sha256(bytes([number])).digest() for number in range(34)]
    expression = """(own, given) => [...given, ""].map((one, count) =>
      own.hex(own.treeRoot(given.slice(0, count).map(own.fromHex))))"""
    roots = _helpers(tab, expression, [leaf.hex() for leaf in leaves])
    assert roots == [proving.tree_root(leaves[:count]).hex() for count in range(35)]


def test_its_code_for_paper_is_that_of_the_key(tab: Page) -> None:
    content = KEY.public_key().public_bytes_raw()[:20]
    made = _helpers(tab, "(own, given) => own.onPaper(own.fromHex(given))", content.hex())
    assert made == proving.grouped(content)


def test_pictures_of_ten_megabytes_are_checked_in_a_few_seconds(tab: Page) -> None:
    content = POINTS[0].ljust(250_000, b"\0")
    expression = """(own, given) => {
      const began = performance.now();
      const all = Array.from({ length: 40 }, () => own.hex(own.sha256(own.fromBase64(given))));
      return [all[39], performance.now() - began];
    }"""
    made, took_ms = _helpers(tab, expression, base64.b64encode(content).decode())
    assert made == hashlib.sha256(content).hexdigest()
    assert took_ms < 5000


def test_no_word_of_the_check_is_taken_for_a_place(tab: Page, tmp_path: Path) -> None:
    """What a page says stays text, whatever signs it holds."""
    shown = page(proved()).replace("<body>", "<body><p>&lt;img src=x&gt; {name}</p>")
    state, said = _read(tab, tmp_path / "page.html", shown)
    assert state == "altered"
    assert "The text “<img src=x> {name}” belongs to no record." in said
    assert tab.locator("img").count() == 2
