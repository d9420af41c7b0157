"""The canonical text against the published vectors of RFC 8785, and the commitments.

Vectors: the test data of cyberphone/json-canonicalization, by the author of RFC 8785
(Apache License 2.0), unchanged in tests/data/check_values/jcs.
"""

from __future__ import annotations

import hashlib
import json
from pathlib import Path

import pytest
import rfc8785

from recondition.ledger import chain

VECTORS = Path(__file__).parent.parent / "data" / "check_values" / "jcs"
NAMES = ("arrays", "french", "structures", "unicode", "values", "weird")


@pytest.mark.parametrize("name", NAMES)
def test_the_library_writes_the_published_text(name: str) -> None:
    given = json.loads((VECTORS / f"{name}.input.json").read_text(encoding="utf-8"))
    written = rfc8785.dumps(given)
    assert written == (VECTORS / f"{name}.output.json").read_bytes()
    assert written == bytes.fromhex((VECTORS / f"{name}.outhex.txt").read_text())


def test_all_vectors_are_tried() -> None:
    assert {path.name.split(".")[0] for path in VECTORS.glob("*.json")} == set(NAMES)


def payload(**changes: object) -> chain.Payload:
    fields: dict[str, object] = {
        "subject": "shop", "sequence": 1, "previous": chain.START, "record": "r1",
        "entity": "r1", "version": 1, "kind": "setting", "author": "a1",
        "recorded_at": "2031-03-04T12:00:00+00:00", "key": "k1", "entry": {"value": "\u20acUR"},
        "texts": {"ref": "00"}, "priced": {},
    }  # fmt: skip
    return chain.Payload(**(fields | changes))  # type: ignore[arg-type]


FROZEN = (
    '{"author":"a1","documents":[],"entity":"r1","entry":{"value":"\u20acUR"},"format":"1",'
    '"key":"k1","kind":"setting","previous":"' + "0" * 64 + '","priced":{},"record":"r1",'
    '"recorded_at":"2031-03-04T12:00:00+00:00","sequence":"1","subject":"shop",'
    '"texts":{"ref":"00"},"version":"1"}'
)


def test_format_1_never_changes() -> None:
    """Written out by hand from RFC 8785's rules; a book made today must verify for ever."""
    text = chain.canonical(payload())
    assert text == FROZEN
    assert chain.digest(text) == hashlib.sha256(FROZEN.encode("utf-8")).hexdigest()


def test_a_text_reads_back_to_the_same_text() -> None:
    text = chain.canonical(payload())
    assert rfc8785.dumps(chain.read(text)).decode() == text


@pytest.mark.parametrize(
    "change",
    [
        {"subject": "product:p"}, {"sequence": 2}, {"previous": "f" * 64}, {"record": "r2"},
        {"entity": "r2"}, {"version": 2}, {"kind": "person"}, {"author": "a2"},
        {"recorded_at": "2031-03-04T12:00:01+00:00"}, {"key": "k2"}, {"entry": {"value": "USD"}},
        {"texts": {"ref": "01"}}, {"priced": {"period": "2031-03"}}, {"documents": ("d",)},
    ],
    ids=lambda change: next(iter(change)),
)  # fmt: skip
def test_every_part_of_a_payload_counts_in_its_hash(change: dict[str, object]) -> None:
    changed = chain.digest(chain.canonical(payload(**change)))
    assert changed != chain.digest(chain.canonical(payload()))


def test_a_commitment_is_the_hash_of_salt_and_content() -> None:
    """SHA-256 of "abc" is the example of FIPS 180-4; here the salt takes the first bytes."""
    salt = bytes(range(32))
    assert chain.commitment(salt, b"abc") == hashlib.sha256(salt + b"abc").hexdigest()
    assert chain.commitment(salt, b"abc") != chain.commitment(bytes(32), b"abc")
    assert chain.digest("abc") == "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"


@pytest.mark.parametrize("size", [0, 16, 31, 33])
def test_a_salt_of_another_length_is_refused(size: int) -> None:
    with pytest.raises(ValueError, match="32 bytes"):
        chain.commitment(bytes(size), b"abc")
