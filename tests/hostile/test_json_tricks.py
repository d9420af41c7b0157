"""Named tricks with JSON, for each reader of it: bounded time and memory, and a clear no."""

from __future__ import annotations

import zipfile
from typing import TYPE_CHECKING

import pytest

from recondition.history import strictly
from recondition.history.net_fields import kept_amounts
from recondition.reports.reopened import OutputNotReadable, texts_of
from tests.hostile.cases import mostly_long
from tests.hostile.confined import refused

if TYPE_CHECKING:
    from pathlib import Path

    from tests.history.released import Released

DEEP = 10**5
TRICKS = {
    "deep lists": "[" * DEEP + "]" * DEEP,
    "deep objects": '{"a":' * DEEP + "1" + "}" * DEEP,
    "a number of many digits": '{"a": ' + "9" * 10**5 + "}",
    "a number beyond any": '{"a": 1e999999999}',
    "a small number beyond any": '{"a": 1e-999999999}',
    "no number": '{"a": NaN}',
    "without end": '{"a": -Infinity}',
    "a name twice": '{"a": "b", "a": "c"}',
    "half a sign": '{"a": "\\ud800"}',
    "ten million values": "[" + "[]," * 10**7 + "[]]",
    "a million names": "{" + ",".join(f'"{n}":0' for n in range(10**6)) + "}",
    "nothing": "",
    "cut short": '{"head": {"format": "recondition head 1"',
}


@pytest.mark.parametrize("name", mostly_long(TRICKS, "deep lists", "no number"))
def test_a_history_of_such_json_is_refused(shop: Path, name: str) -> None:
    (shop / "any.json").write_text(TRICKS[name])
    assert "no work history" in refused("recondition history verify any.json")


@pytest.mark.long
@pytest.mark.parametrize("name", ["deep lists", "ten million values", "no number", "half a sign"])
def test_a_folder_with_a_file_of_such_json_is_refused(
    shop: Path, history: Released, name: str
) -> None:
    folder = shop / "received"
    for own, content in history.files.items():
        path = folder / own
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(content)
    for own in sorted(each.name for each in folder.iterdir() if each.suffix == ".json"):
        (folder / own).write_text(TRICKS[name])
        assert f"{own}: " in refused("recondition history verify received")
        (folder / own).write_bytes(history.files[own])


@pytest.mark.parametrize("name", mostly_long(TRICKS, "deep lists"))
def test_heads_of_such_json_are_none(shop: Path, name: str) -> None:
    with zipfile.ZipFile(shop / "old.backup", "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("heads.json", TRICKS[name])
    assert "holds no chain heads" in refused("recondition check --against old.backup")


@pytest.mark.long
@pytest.mark.parametrize(
    "heads",
    [
        '["abc"]', "[[1, 2, 3]]", '[["a", "1", "b"]]', '[["a", true, "b"]]', '[["a", 1, null]]',
        '[["a", 1]]', '{"a": 1}', '[{"subject": "a", "count": 1, "hash": "b"}]', "null",
    ],
)  # fmt: skip
def test_heads_of_another_kind_are_none(shop: Path, heads: str) -> None:
    with zipfile.ZipFile(shop / "old.backup", "w") as archive:
        archive.writestr("heads.json", heads)
    assert "holds no chain heads" in refused("recondition check --against old.backup")


@pytest.mark.long
def test_heads_that_unpack_to_very_much(shop: Path) -> None:
    with zipfile.ZipFile(shop / "old.backup", "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("heads.json", b" " * 30 * 10**6)
    assert "30,000,000 bytes" in refused("recondition check --against old.backup")


@pytest.mark.parametrize("name", ["deep lists", "deep objects", "a number of many digits"])
def test_what_reads_json_inside(name: str) -> None:
    with pytest.raises(strictly.NotStrict):
        strictly.read(TRICKS[name])
    assert kept_amounts(TRICKS[name]) == []
    with pytest.raises(OutputNotReadable):
        texts_of("a.json", TRICKS[name].encode())
    page = f"<script>{TRICKS[name]}</script>".encode()
    assert TRICKS[name] in texts_of("a.html", page)
