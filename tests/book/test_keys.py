"""The shop's signing key: made once, its owner's alone, and nowhere but in its file."""

from __future__ import annotations

import os
import stat
import subprocess
import sys
import zipfile
from base64 import b64encode
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from threading import Barrier
from typing import TYPE_CHECKING, Any

import pytest
from cryptography.hazmat.primitives.asymmetric import ec, rsa
from cryptography.hazmat.primitives.asymmetric.ed25519 import (
    Ed25519PrivateKey,
    Ed25519PublicKey,
)
from cryptography.hazmat.primitives.serialization import (
    BestAvailableEncryption,
    Encoding,
    NoEncryption,
    PrivateFormat,
    load_pem_private_key,
)

from recondition.book import keys
from recondition.book.keys import (
    KeyLocked,
    KeyNotUsable,
    KeyOpenToOthers,
    lock_key,
    no_passphrase,
    open_key,
    place_of_key,
    signer,
)
from recondition.history.signing import fingerprint_of
from tests.running import done, stand_in

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from recondition.book.engine import Book

PEM = (Encoding.PEM, PrivateFormat.PKCS8)


@pytest.fixture(autouse=True)
def _own_place(monkeypatch: pytest.MonkeyPatch) -> None:
    """Keep the caller's own key and passphrase out of the tests."""
    monkeypatch.delenv(keys.PLACE_NAMED, raising=False)
    monkeypatch.delenv(keys.PASSPHRASE_NAMED, raising=False)


@pytest.fixture
def umask() -> Iterator[Callable[[int], object]]:
    before = os.umask(0o022)
    yield os.umask
    os.umask(before)


def saying(passphrase: str) -> Callable[[], str]:
    return lambda: passphrase


def fingerprint(book: Book, ask: keys.Ask = no_passphrase) -> str:
    return fingerprint_of(signer(open_key(book, ask)).public)


def kept(book: Book, content: bytes, mode: int = 0o600) -> Path:
    """Put something in the place of the key."""
    path = place_of_key(book)
    path.write_bytes(content)
    path.chmod(mode)
    return path


def beside(book: Book) -> Path:
    """Give where a key lies that nobody moved: beside the book, or the files of one on a server."""
    lies = book.path or book.files
    return lies.with_name(f"{lies.name}.key")


@pytest.mark.parametrize("mask", [0o000, 0o022, 0o077, 0o177])
def test_a_key_is_made_on_first_use_for_its_owner_alone(
    small: Book, umask: Callable[[int], object], mask: int
) -> None:
    path = place_of_key(small)
    assert path == beside(small)
    assert not path.exists()
    umask(mask)
    made = fingerprint(small)
    assert stat.S_IMODE(path.stat().st_mode) == 0o600
    assert fingerprint(small) == made
    assert [each.name for each in path.parent.glob(".key-*")] == []


def test_what_it_signs_holds_under_its_public_key(small: Book) -> None:
    by = signer(open_key(small, no_passphrase))
    signature = by.sign(b"a head")
    Ed25519PublicKey.from_public_bytes(by.public).verify(signature, b"a head")
    assert len(by.public) == 32


def test_many_at_once_end_with_one_key(small: Book) -> None:
    together = Barrier(8)

    def first_use(_: int) -> str:
        together.wait()
        return fingerprint(small)

    with ThreadPoolExecutor(8) as pool:
        assert len(set(pool.map(first_use, range(8)))) == 1
    assert [each.name for each in small.files.parent.glob(".key-*")] == []


def test_two_processes_at_once_end_with_one_key(small: Book) -> None:
    made = "import sys; sys.argv[0] = 'recondition'; from recondition.cli import main; main()"
    command = [sys.executable, "-c", made, "history", "key", "--book", small.location]
    own = {**os.environ, "RECONDITION_FILES": str(small.files)}
    running = [
        subprocess.Popen(command, stdout=subprocess.PIPE, text=True, env=own) for _ in range(2)
    ]
    told = {each.communicate()[0] for each in running}
    assert [each.returncode for each in running] == [0, 0]
    assert len(told) == 1
    assert f"Fingerprint: {fingerprint(small)}\n" in told.pop()


def test_whoever_comes_second_takes_the_key_that_is_there(small: Book) -> None:
    first = fingerprint(small)
    late = Ed25519PrivateKey.generate()
    keys._write_new(place_of_key(small), late, NoEncryption())  # noqa: SLF001 - between two steps
    assert fingerprint(small) == first


def test_a_variable_moves_the_key(
    small: Book, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    before = fingerprint(small)
    (tmp_path / "safe").mkdir()
    monkeypatch.setenv(keys.PLACE_NAMED, str(tmp_path / "safe" / "signing.pem"))
    assert place_of_key(small) == tmp_path / "safe" / "signing.pem"
    assert fingerprint(small) != before
    place_of_key(small).unlink()
    beside(small).rename(place_of_key(small))
    assert fingerprint(small) == before


def test_a_passphrase_is_set_changed_and_taken_off_and_the_key_stays(small: Book) -> None:
    own = open_key(small, no_passphrase)
    made, open_content = fingerprint(small), place_of_key(small).read_bytes()
    for passphrase in ("stripe", "g\u00fcrtel 7", ""):
        path = lock_key(small, own, passphrase)
        assert stat.S_IMODE(path.stat().st_mode) == 0o600
        assert (b"ENCRYPTED" in path.read_bytes()) == bool(passphrase)
        assert fingerprint(small, saying(passphrase)) == made
        if passphrase:
            with pytest.raises(KeyLocked, match="needs its passphrase"):
                open_key(small, no_passphrase)
            with pytest.raises(KeyLocked, match="needs its passphrase"):
                open_key(small, saying(""))
            with pytest.raises(KeyLocked, match="does not fit"):
                open_key(small, saying("Stripe"))
    assert place_of_key(small).read_bytes() == open_content
    assert [each.name for each in path.parent.glob(".key-*")] == []


def test_the_passphrase_may_stand_in_a_variable(
    small: Book, monkeypatch: pytest.MonkeyPatch
) -> None:
    made = fingerprint(small)
    lock_key(small, open_key(small, no_passphrase), "stripe")
    monkeypatch.setenv(keys.PASSPHRASE_NAMED, "stripe")
    assert fingerprint(small, saying("never asked")) == made
    monkeypatch.setenv(keys.PASSPHRASE_NAMED, "strip")
    with pytest.raises(KeyLocked, match="does not fit"):
        open_key(small, saying("stripe"))


def test_locking_leaves_no_open_copy_behind_a_link(
    small: Book, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    stick = tmp_path / "stick.pem"
    monkeypatch.setenv(keys.PLACE_NAMED, str(stick))
    own = open_key(small, no_passphrase)
    link = tmp_path / "link.pem"
    link.symlink_to(stick)
    monkeypatch.setenv(keys.PLACE_NAMED, str(link))
    lock_key(small, own, "stripe")
    assert link.is_symlink()
    assert b"ENCRYPTED" in stick.read_bytes()


def test_a_passphrase_that_nothing_can_be_locked_with_changes_nothing(small: Book) -> None:
    own = open_key(small, no_passphrase)
    before = place_of_key(small).read_bytes()
    with pytest.raises(KeyNotUsable, match="nothing can be locked with that passphrase"):
        lock_key(small, own, "a" * 2000)
    assert place_of_key(small).read_bytes() == before
    assert [each.name for each in small.files.parent.glob(".key-*")] == []


def pem(key: Any, lock: Any = None) -> bytes:
    content: bytes = key.private_bytes(*PEM, lock or NoEncryption())
    return content


def test_what_is_no_key_of_this_sort_is_refused_and_left_alone(small: Book) -> None:
    other = rsa.generate_private_key(public_exponent=65537, key_size=2048)
    whole = pem(open_key(small, no_passphrase))
    curve = ec.generate_private_key(ec.SECP256R1())
    for content, why in (
        (b"", "damaged or no key"),
        (b"\0" * 500, "damaged or no key"),
        (whole[:-40], "damaged or no key"),
        (whole.replace(b"PRIVATE", b"PUBLIC"), "damaged or no key"),
        (b"a" * 50_000, "damaged or no key"),
        (pem(other), "no Ed25519 key"),
        (pem(curve), "no Ed25519 key"),
    ):
        path = kept(small, content)
        with pytest.raises(KeyNotUsable, match=why) as raised:
            open_key(small, no_passphrase)
        assert str(path) in raised.value.what
        assert "Put the shop's copy of it back" in raised.value.todo
        assert path.read_bytes() == content
    kept(small, pem(other, BestAvailableEncryption(b"stripe")))
    with pytest.raises(KeyNotUsable, match="no Ed25519 key"):
        open_key(small, saying("stripe"))


@pytest.mark.parametrize("mode", [0o640, 0o604, 0o620, 0o601, 0o666])
def test_a_key_that_others_can_reach_is_refused(small: Book, mode: int) -> None:
    made = fingerprint(small)
    path = place_of_key(small)
    path.chmod(mode)
    with pytest.raises(KeyOpenToOthers) as raised:
        open_key(small, no_passphrase)
    assert f"chmod 600 {path}" in raised.value.todo
    path.chmod(0o600)
    assert fingerprint(small) == made


@pytest.mark.parametrize("place", ["gone/shop.key", "a file/shop.key", "/proc/shop.key", "folder"])
def test_a_place_that_cannot_be_written_is_told(
    small: Book, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, place: str
) -> None:
    (tmp_path / "a file").write_text("in the way")
    (tmp_path / "folder").mkdir(mode=0o700)
    monkeypatch.setenv(keys.PLACE_NAMED, str(tmp_path / place))
    with pytest.raises(KeyNotUsable) as raised:
        open_key(small, no_passphrase)
    assert str(tmp_path / place) in raised.value.what
    assert raised.value.todo


def test_a_key_that_cannot_be_put_back_locked_stays_as_it_was(
    small: Book, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    own = open_key(small, no_passphrase)
    monkeypatch.setenv(keys.PLACE_NAMED, str(tmp_path / "folder"))
    (tmp_path / "folder").mkdir()
    with pytest.raises(KeyNotUsable, match="directory"):
        lock_key(small, own, "stripe")
    assert [each.name for each in tmp_path.glob(".key-*")] == []


def test_the_key_of_a_book_on_a_server_lies_beside_its_files(book: Book, tmp_path: Path) -> None:
    made = fingerprint(book)
    if book.path is None:
        assert place_of_key(book) == beside(book) == tmp_path / "files.key"
    assert place_of_key(book).exists()
    assert fingerprint(book) == made


def everywhere(folder: Path) -> Iterator[tuple[str, bytes]]:
    """Give every file below a folder, and what is packed in it."""
    for path in sorted(each for each in folder.rglob("*") if each.is_file()):
        yield str(path), path.read_bytes()
        if zipfile.is_zipfile(path):
            with zipfile.ZipFile(path) as packed:
                yield from ((f"{path}/{name}", packed.read(name)) for name in packed.namelist())


def test_the_private_key_stands_in_its_own_file_and_nowhere_else(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    stand_in(tmp_path, monkeypatch)
    said = "".join(map(done, (
        'recondition book create --currency USD --person MR --name "Mara Ridd"',
        'recondition vehicle add 0007 "1967 Dunmarch Warden estate"',
        "recondition history make 0007 --into out --zip",
        'recondition history withdraw 0007 1 "the mileage was wrong" --into out',
        "recondition history key",
        "recondition history record out/work-history.json about --into about.json",
        "recondition history verify out",
        "recondition history editions",
        "recondition report condition 0007 --html made.html",
        "recondition export workbook books.xlsx",
        "recondition backup kept.zip",
        "recondition check",
    )))  # fmt: skip
    content = (tmp_path / "shop.book.key").read_bytes()
    key = load_pem_private_key(content, None)
    raw = key.private_bytes(Encoding.Raw, PrivateFormat.Raw, NoEncryption())
    body = b"".join(content.splitlines()[1:-1])
    forms = {raw, raw.hex().encode(), b64encode(raw).rstrip(b"="), body, b"PRIVATE KEY"}
    places = {name for name, found in everywhere(tmp_path) if any(f in found for f in forms)}
    assert places == {str(tmp_path / "shop.book.key")}
    assert not any(form in said.encode() for form in forms)
    assert len(list(everywhere(tmp_path))) > 12
