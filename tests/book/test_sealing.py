"""An encrypted backup: opened with its passphrase and no other, also without this program."""

from __future__ import annotations

import io
import zipfile
from typing import TYPE_CHECKING, Any

import pyrage
import pytest

from recondition.book.backup import backup, restore
from recondition.book.check import check
from recondition.book.packing import BadBackup
from recondition.book.sealing import BackupLocked
from tests.places import copied_book, opened

if TYPE_CHECKING:
    from pathlib import Path

pytestmark = pytest.mark.long  # a passphrase is stretched for a second or more, each time

WORDS = "eleven yellow lanterns, by the weir"


@pytest.fixture(scope="module")
def sealed(filled_folder: tuple[Path, Any], tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("sealed")
    book = opened(copied_book(filled_folder[0] / "book.sqlite", folder / "book.sqlite"))
    assert backup(book, folder / "book.backup", WORDS) == 1
    book.close()
    assert {path.name for path in folder.iterdir()} - {"book.sqlite"} == {
        "book.sqlite.files", "book.backup"
    }  # fmt: skip
    return folder / "book.backup"


def test_it_comes_back_with_its_passphrase_and_nothing_plain_stays(
    sealed: Path, tmp_path: Path
) -> None:
    content = sealed.read_bytes()
    for plain in (b"Hanna Kolb", b"Tavorel", b"SQLite", b"book.sqlite", WORDS.encode()):
        assert plain not in content
    restored = restore(sealed, tmp_path / "again.sqlite", lambda: WORDS)
    assert check(restored).damages == []
    assert {path.name for path in tmp_path.iterdir()} == {"again.sqlite", "again.sqlite.files"}


@pytest.mark.parametrize(("given", "said"), [("another", "does not fit"), (None, "needs its")])
def test_without_it_nothing_comes_out(
    sealed: Path, tmp_path: Path, given: str | None, said: str
) -> None:
    with pytest.raises(BackupLocked, match=said):
        restore(sealed, tmp_path / "again.sqlite", lambda: given)
    assert list(tmp_path.iterdir()) == []


def test_anybody_with_the_format_opens_it_in_two_steps(sealed: Path, tmp_path: Path) -> None:
    with zipfile.ZipFile(sealed) as archive:
        identity = pyrage.passphrase.decrypt(archive.read("key.age"), WORDS).decode()
        plain = pyrage.decrypt(
            archive.read("backup.age"), [pyrage.x25519.Identity.from_str(identity)]
        )
    with zipfile.ZipFile(io.BytesIO(plain)) as inner:
        assert {"book.sqlite", "heads.json", "made.json"} < set(inner.namelist())
        assert inner.testzip() is None
    (tmp_path / "plain.backup").write_bytes(plain)
    restore(tmp_path / "plain.backup", tmp_path / "again.sqlite").close()


def test_a_changed_one_is_refused(sealed: Path, tmp_path: Path) -> None:
    with zipfile.ZipFile(sealed) as archive:
        members = {name: bytearray(archive.read(name)) for name in archive.namelist()}
    members["backup.age"][-20] ^= 1
    changed = tmp_path / "changed.backup"
    with zipfile.ZipFile(changed, "w") as archive:
        for name, content in members.items():
            archive.writestr(name, bytes(content))
    with pytest.raises(BadBackup):
        restore(changed, tmp_path / "again.sqlite", lambda: WORDS)
    assert [path.name for path in tmp_path.iterdir()] == ["changed.backup"]


def test_one_that_is_cut_short_is_refused(sealed: Path, tmp_path: Path) -> None:
    cut = tmp_path / "cut.backup"
    cut.write_bytes(sealed.read_bytes()[:-1000])
    with pytest.raises(BadBackup):
        restore(cut, tmp_path / "again.sqlite", lambda: WORDS)
    assert [path.name for path in tmp_path.iterdir()] == ["cut.backup"]
