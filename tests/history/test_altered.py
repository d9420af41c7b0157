"""A thousand random alterations without the key: all are found, and what was altered is named."""

from __future__ import annotations

import random
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from recondition.history import proof, strictly, verifying
from recondition.history.folder import (
    EVIDENCE,
    HTML,
    JSON,
    MANIFEST,
    PDF,
    RELEASED,
    WITHDRAWN,
    check_folder,
    check_one,
)
from recondition.history.verifying import (
    Found,
    check_html,
    check_json,
    check_manifest,
    check_record,
)
from tests.history import alterations as alter
from tests.history.alterations import BYTES, RECORDS, Whole
from tests.history.forging import FOREIGN, signed_anew
from tests.history.released import Released, released

if TYPE_CHECKING:
    from tests.history.alterations import Chance

ROUNDS = {"bytes in the folder": 260, "bytes of the page": 200, "bytes of the JSON": 140}
PARTS = {HTML: 150, JSON: 130, MANIFEST: 40}
FILES = 80
# The whole thousand takes its time; the default run draws a tenth of it.
SHARES = [pytest.param(10, id="a tenth"), pytest.param(1, id="all", marks=pytest.mark.long)]


@dataclass(frozen=True, slots=True)
class Parts:
    """What was released, read once: the files, the page's text, the JSON, and others' proofs."""

    files: dict[str, bytes]
    page: str
    seal: Whole
    document: Whole
    proof: Whole
    others: tuple[Whole, ...]
    second: dict[str, bytes]


@pytest.fixture(scope="module")
def parts(tmp_path_factory: pytest.TempPathFactory, empty_file: Path) -> Parts:
    """Give what was released, read once."""
    made: Released = released(tmp_path_factory, empty_file)
    page = made.files[HTML].decode()
    document = strictly.read(made.files[JSON].decode())
    second = made.folder_of("second")
    others = tuple(verifying.proof_in(files[JSON]) for files in (second, made.folder_of("other")))
    seal = strictly.read(alter.cut(page, "seal")[1])
    return Parts(
        made.files, page, seal, document, document["proof"], (others[0], others[1]), second
    )


def named(where: list[str], name: str) -> bool:
    return any(each == name or each.startswith(f"{name}, ") for each in where)


def test_the_rounds_are_a_thousand() -> None:
    assert sum(ROUNDS.values()) + sum(PARTS.values()) + FILES == 1000


@pytest.mark.parametrize("share", SHARES)
def test_a_changed_byte_of_the_folder_is_found_and_its_file_named(share: int, parts: Parts) -> None:
    chance = random.Random(6962)  # noqa: S311 - a fixed draw, nothing secret
    for _ in range(ROUNDS["bytes in the folder"] // share):
        name = chance.choice(sorted(parts.files))
        changed = chance.choice(BYTES)(chance, parts.files[name])
        assert changed != parts.files[name]
        verdict = check_folder(parts.files | {name: changed})
        assert named([fault.where for fault in verdict.faults], name), (name, verdict.faults)


@pytest.mark.parametrize(
    ("what", "name", "check"),
    [("bytes of the page", HTML, check_html), ("bytes of the JSON", JSON, check_json)],
)
@pytest.mark.parametrize("share", SHARES)
def test_a_changed_byte_of_a_file_alone_is_found(
    what: str, name: str, check: Callable[[bytes, str], Found], share: int, parts: Parts
) -> None:
    chance = random.Random(8032)  # noqa: S311 - as above
    for _ in range(ROUNDS[what] // share):
        changed = chance.choice(BYTES)(chance, parts.files[name])
        assert changed != parts.files[name]
        found = check(changed, name)
        assert named([fault.where for fault in found.faults], name)
        assert f"every byte of {name}" not in found.unchanged


def _written(parts: Parts, name: str, changed: Whole, *, rehashed: bool) -> bytes:
    """Write a part of the folder with a changed proof."""
    if name == MANIFEST:
        return alter.manifest_with(changed)
    if name == HTML:
        return alter.page_with(parts.page, changed, parts.seal, rehashed=rehashed)
    return alter.json_with(parts.document, changed, rehashed=rehashed)


CHECKS: dict[str, Callable[[bytes, str], Found]] = {
    HTML: check_html,
    JSON: check_json,
    MANIFEST: check_manifest,
}
# Changes that a manifest does not hold: it has no texts, salts or pictures of records.
NOT_LISTED = (alter.reworded, alter.resalted, alter.pictures_exchanged)


@pytest.mark.parametrize("share", SHARES)
@pytest.mark.parametrize("name", PARTS)
def test_a_changed_record_is_found_and_its_file_named(name: str, share: int, parts: Parts) -> None:
    chance = random.Random(8785)  # noqa: S311 - as above
    ways = [way for way in RECORDS if name != MANIFEST or way not in NOT_LISTED]
    for number in range(PARTS[name] // share):
        changed = alter.copied(parts.proof)
        way = ways[number % len(ways)]
        way(chance, changed, parts.others[number % 2])
        rehashed = chance.random() < 0.5
        content = _written(parts, name, changed, rehashed=rehashed)
        assert content != parts.files[name], way.__name__
        if name == MANIFEST or number % 10 == 0:
            verdict = check_folder(parts.files | {name: content})
            where = [fault.where for fault in verdict.faults]
        else:
            where = [fault.where for fault in CHECKS[name](content, name).faults]
        assert named(where, name), way.__name__


def _exchanged(chance: Chance, parts: Parts) -> tuple[dict[str, bytes], list[str]]:
    """Let two evidence files change places."""
    evidence = sorted(path for path in parts.files if path.startswith(EVIDENCE))
    one, two = chance.sample(evidence, 2)
    return {one: parts.files[two], two: parts.files[one]}, [one, two]


def _other_edition(chance: Chance, parts: Parts) -> tuple[dict[str, bytes], list[str]]:
    """Take one part from another edition."""
    name = chance.choice([HTML, PDF, JSON, MANIFEST, RELEASED])
    return {name: parts.second[name]}, [name]


def _added(chance: Chance, parts: Parts) -> tuple[dict[str, bytes], list[str]]:
    """Put a file among the evidence."""
    name = f"{EVIDENCE}{chance.randrange(7, 999):03}.jpg"
    return {name: parts.files[f"{EVIDENCE}001.jpg"]}, [name]


def _foreign_release(chance: Chance, parts: Parts) -> tuple[dict[str, bytes], list[str]]:
    """Sign the release with another key, or name that key in it, or both."""
    said = strictly.read(parts.files[RELEASED].decode())
    signature = said.pop("signature")
    way = chance.randrange(3)
    if way:
        said["key"] = alter.b64(FOREIGN.public)
    if way != 1:
        signature = FOREIGN.signature("recondition release 1", said)
    return {RELEASED: strictly.pretty(said | {"signature": signature}).encode()}, [RELEASED, HTML]


def _shorter_release(chance: Chance, parts: Parts) -> tuple[dict[str, bytes], list[str]]:
    """Take a file out of the release's list."""
    said = strictly.read(parts.files[RELEASED].decode())
    said["files"].remove(chance.choice(said["files"]))
    return {RELEASED: strictly.pretty(said).encode()}, [RELEASED]


FILE_WAYS = (_exchanged, _other_edition, _added, _foreign_release, _shorter_release)


@pytest.mark.parametrize("share", SHARES)
def test_a_changed_folder_is_found_and_the_file_named(share: int, parts: Parts) -> None:
    chance = random.Random(1999)  # noqa: S311 - as above
    for number in range(FILES // share):
        changes, names = FILE_WAYS[number % len(FILE_WAYS)](chance, parts)
        verdict = check_folder(parts.files | changes)
        where = [fault.where for fault in verdict.faults]
        assert any(named(where, name) for name in names), (names, where)


def test_a_part_signed_anew_throughout_is_found_beside_the_others(parts: Parts) -> None:
    theirs = signed_anew(parts.files, "no fault found")
    for name in (HTML, JSON, MANIFEST, RELEASED):
        verdict = check_folder(parts.files | {name: theirs[name]})
        assert named([fault.where for fault in verdict.faults], name)
        verdict = check_folder(theirs | {name: parts.files[name]})
        assert named([fault.where for fault in verdict.faults], name)


EXPECTED: dict[str, tuple[alter.Alter, str]] = {
    "dropped": (alter.dropped, "it was dropped"),
    "moved": (alter.exchanged, "it was moved to another place"),
    "twice": (alter.doubled, "it is there twice"),
    "reworded": (alter.reworded, "it was changed: it does not lead to its hash"),
    "resalted": (alter.resalted, "it was changed: it does not lead to its hash"),
    "of another vehicle": (alter.released_elsewhere, "it was dropped"),
    "pictures": (alter.pictures_exchanged, "it was changed: it does not lead to its hash"),
    "files": (alter.files_exchanged, "the list is not the one that was signed"),
    "foreign": (alter.foreign_signature, "the signature does not fit what it says"),
}


@pytest.mark.parametrize("what", EXPECTED)
def test_what_became_of_a_record_is_said(what: str, parts: Parts) -> None:
    chance = random.Random(what)  # noqa: S311 - as above
    way, said = EXPECTED[what]
    changed = alter.copied(parts.proof)
    way(chance, changed, parts.others[1])
    found = check_html(alter.page_with(parts.page, changed, parts.seal, rehashed=False), HTML)
    faults = {fault.what: fault.where for fault in found.faults}
    assert said in faults
    if what not in ("files", "foreign"):
        assert faults[said].startswith(f"{HTML}, record ")


def test_swapped_pictures_and_changed_words_of_the_page_are_found(parts: Parts) -> None:
    shown, mark, rest = parts.page.partition('<script type="application/json"')
    one, two = (address.partition('"')[0] for address in shown.split(' src="')[-2:])
    assert one != two
    swapped = shown.replace(one, "\0").replace(two, one).replace("\0", two)
    reworded = shown.replace("Cut, then refined.</", "Cut and refined.</", 1)
    for changed in (swapped, reworded):
        assert changed != shown
        found = check_html((changed + mark + rest).encode(), HTML)
        assert [fault.what for fault in found.faults] == [
            "something in it was changed after it was sealed"
        ]


# Names of the objects that proofs are made of, and one of none.
PROOF_NAMES = ("files", "format", "head", "key", "records", "signature")
RECORD_NAMES = ("format", "head", "key", "signature", "path", "record", "salt")
HEAD_NAMES = (
    "chassis", "designation", "edition", "files_sha256", "format", "made_on", "records", "root",
    "supersedes",
)  # fmt: skip
JSONS = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=8),
    lambda inner: (
        st.lists(inner, max_size=3)
        | st.dictionaries(st.sampled_from([*PROOF_NAMES, "x"]), inner, max_size=4)
    ),
    max_leaves=8,
)
TEXTS = st.text(st.characters(exclude_categories=("Cs",)), max_size=8)
SALTED = st.fixed_dictionaries({"leaf": JSONS, "record": JSONS, "salt": JSONS})
HEADS = st.fixed_dictionaries(dict.fromkeys(HEAD_NAMES, TEXTS))
PROOFS = st.fixed_dictionaries(
    {
        "files": st.lists(JSONS, max_size=2),
        "format": st.sampled_from(["recondition proof 1", "recondition manifest 1"]),
        "head": HEADS | HEADS.map(lambda head: head | {"format": "recondition head 1"}) | JSONS,
        "key": JSONS | st.just(alter.b64(FOREIGN.public)),
        "records": st.lists(SALTED | JSONS, max_size=3),
        "signature": JSONS | st.just(alter.b64(bytes(64))),
    }
)
# What has the outer shape of something checked here, and holds anything.
SHAPED = st.one_of(
    PROOFS,
    st.fixed_dictionaries(
        dict.fromkeys(RECORD_NAMES, JSONS)
        | {
            "format": st.just("recondition record 1"),
            "path": st.lists(JSONS, max_size=2),
            "record": st.dictionaries(st.sampled_from(["data", "name", "place"]), JSONS),
        }
    ),
    st.fixed_dictionaries({"proof": PROOFS, "seal": JSONS}),
)


def _hold(content: bytes, parts: Parts) -> list[Any]:
    """Give what holds of some bytes, whatever they are taken for."""
    checks = [check(content, name) for name, check in CHECKS.items()]
    checks.append(check_record(content))
    none = [found for found in checks if not found.faults]
    small = {RELEASED: parts.files[RELEASED]}
    names = (HTML, MANIFEST, RELEASED, WITHDRAWN)
    verdicts = [check_folder(small | {name: content}) for name in names]
    verdicts.append(check_one("a", content))
    return [*none, *(verdict for verdict in verdicts if verdict.holds)]


def _bytes(text: str) -> bytes:
    return text.encode("utf-8", "replace")


@given(content=st.binary(max_size=200) | st.text(max_size=80).map(_bytes))
def test_any_bytes_at_all_hold_nothing_and_break_nothing(content: bytes, parts: Parts) -> None:
    assert _hold(content, parts) == []


@given(value=JSONS | SHAPED)
def test_any_json_at_all_holds_nothing_and_breaks_nothing(value: Any, parts: Parts) -> None:
    written = [strictly.pretty(value)]
    if isinstance(value, dict):
        inner = [(part, strictly.embedded(value.get(part, value))) for part in ("proof", "seal")]
        scripts = [proof.SCRIPT.format(part) + text + proof.SCRIPT_END for part, text in inner]
        written.append("".join(scripts))
    for text in written:
        assert _hold(_bytes(text), parts) == []


@given(data=st.data())
def test_anything_in_place_of_a_part_of_the_proof_breaks_nothing(
    data: st.DataObject, parts: Parts
) -> None:
    changed = alter.copied(parts.proof)
    place = data.draw(st.sampled_from(["head", "files", "records", "key", "signature", "format"]))
    anything = data.draw(JSONS)
    inner = data.draw(st.sampled_from(["", *parts.proof["head"], "0"]))
    if inner == "0" and place in ("files", "records"):
        changed[place] = [anything, *changed[place][1:]]
    elif inner and place == "head":
        changed["head"][inner] = anything
    else:
        changed[place] = anything
    content = strictly.pretty(parts.document | {"proof": changed})
    assert check_json(_bytes(content)).faults
