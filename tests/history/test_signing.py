"""Signatures against the published vectors, and the one way in which keys and codes are written."""

from __future__ import annotations

import base64
import hashlib
import json

import pytest
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey
from hypothesis import given
from hypothesis import strategies as st

from recondition.history import signing
from recondition.history.signing import HEAD, RELEASE, Signer, b64, unb64
from tests.check_values import FOLDER, check_values
from tests.history.proving import grouped

VECTORS = check_values("rfc8032_ed25519_vectors")
CANONICAL = ("arrays", "french", "structures", "unicode", "values", "weird")
KEY = Ed25519PrivateKey.from_private_bytes(bytes(range(32)))
PUBLIC = KEY.public_key().public_bytes_raw()
SIGNER = Signer(PUBLIC, KEY.sign)
FINGERPRINT = signing.fingerprint_of(PUBLIC)


@pytest.mark.parametrize("row", VECTORS, ids=lambda row: row["test"])
def test_keys_and_signatures_are_the_published_ones(row: dict[str, str]) -> None:
    """RFC 8032, section 7.1, tests 1 to 3."""
    key = Ed25519PrivateKey.from_private_bytes(bytes.fromhex(row["secret_key_hex"]))
    public, message = key.public_key(), bytes.fromhex(row["message_hex"])
    assert public.public_bytes_raw().hex() == row["public_key_hex"]
    assert key.sign(message).hex() == row["signature_hex"]
    public.verify(bytes.fromhex(row["signature_hex"]), message)


def test_all_published_vectors_are_tried() -> None:
    assert [row["test"] for row in VECTORS] == ["1", "2", "3"]


@pytest.mark.parametrize("name", CANONICAL)
def test_what_is_signed_is_the_published_canonical_text(name: str) -> None:
    """RFC 8785 test data of its author (Apache License 2.0), unchanged."""
    said = json.loads((FOLDER / "jcs" / f"{name}.input.json").read_text(encoding="utf-8"))
    wanted = (FOLDER / "jcs" / f"{name}.output.json").read_bytes()
    assert signing.canonical(said) == wanted
    assert signing.message(HEAD, said) == b"recondition head 1\n" + wanted


def test_a_signature_holds_for_its_key_purpose_and_value_alone() -> None:
    said = {"edition": "1", "chassis": ""}
    signature = unb64(SIGNER.signature(HEAD, said), 64) or b""
    assert signing.holds(PUBLIC, signature, HEAD, said)
    assert signing.holds(PUBLIC, signature, HEAD, dict(reversed(said.items())))
    assert not signing.holds(PUBLIC, signature, RELEASE, said)
    assert not signing.holds(PUBLIC, signature, HEAD, said | {"edition": "2"})
    other = Ed25519PrivateKey.from_private_bytes(b"k" * 32).public_key().public_bytes_raw()
    assert not signing.holds(other, signature, HEAD, said)


@pytest.mark.parametrize("place", range(0, 64, 7))
def test_no_bit_of_a_signature_or_key_is_slack(place: int) -> None:
    signature = KEY.sign(signing.message(HEAD, {}))
    for bit in range(8):
        changed = bytearray(signature)
        changed[place] ^= 1 << bit
        assert not signing.holds(PUBLIC, bytes(changed), HEAD, {})
        key = bytearray(PUBLIC)
        key[place % 32] ^= 1 << bit
        assert not signing.holds(bytes(key), signature, HEAD, {})


def test_a_second_signature_with_the_order_added_is_refused() -> None:
    """RFC 8032, section 5.1.7: S has to lie below the order L, else one makes two."""
    order = 2**252 + 27742317777372353535851937790883648493
    signature = KEY.sign(signing.message(HEAD, {}))
    larger = (int.from_bytes(signature[32:], "little") + order).to_bytes(32, "little")
    assert not signing.holds(PUBLIC, signature[:32] + larger, HEAD, {})


@pytest.mark.parametrize("length", [0, 31, 33, 64])
def test_a_key_of_another_length_holds_nothing(length: int) -> None:
    assert not signing.holds(b"k" * length, KEY.sign(b""), HEAD, {})


@given(st.binary(min_size=1, max_size=70))
def test_base64_reads_back_and_in_no_other_length(content: bytes) -> None:
    assert unb64(b64(content), len(content)) == content
    assert unb64(b64(content), len(content) + 1) is None


SLACK = {
    "trailing bits": lambda text: text[:-2] + chr(ord(text[-2]) + 1) + "=",
    "a blank within": lambda text: text[:4] + " " + text[4:],
    "a line end": lambda text: text + "\n",
    "no padding": lambda text: text.rstrip("="),
    "more padding": lambda text: text + "=",
    "the other alphabet": lambda text: text.replace("/", "_").replace("+", "-"),
    "a sign of no alphabet": lambda text: text[:-1] + "!",
    "a sign beyond ASCII": lambda text: text[:-1] + "\uff1d",
    "two after another": lambda text: text + text,
    "nothing": lambda _text: "",
}


@pytest.mark.parametrize("way", SLACK)
def test_base64_is_read_in_the_one_way_that_it_is_written(way: str) -> None:
    content = b"\xff\xef\xfe" + bytes(29)
    text = b64(content)
    assert {"/", "+", "="} & set(text) == {"/", "+", "="}
    assert unb64(text, 32) == content
    assert unb64(SLACK[way](text), 32) is None


@pytest.mark.parametrize("value", [None, 1, b"AAAA", ["AAAA"], {"AAAA": 1}])
def test_what_is_no_text_is_no_base64(value: object) -> None:
    assert unb64(value, 3) is None


def test_python_alone_would_let_trailing_bits_pass() -> None:
    """The reason for writing again what was read."""
    text = b64(bytes(32))
    changed = SLACK["trailing bits"](text)
    assert base64.b64decode(changed, validate=True) == bytes(32)
    assert unb64(changed, 32) is None


@given(st.binary(min_size=20, max_size=40))
def test_codes_are_of_groups_of_four_plain_signs(content: bytes) -> None:
    code = signing.code_of(content)
    assert code == grouped(content[:10])
    groups = code.split("-")
    assert [len(group) for group in groups] == [4, 4, 4, 4]
    assert not set("ILOU-") & set("".join(groups))


def test_codes_count_from_the_first_bit() -> None:
    """Crockford's base 32: 0 to 9, then letters without I, L, O and U; no source at hand."""
    assert signing.code_of(bytes(10)) == "0000-0000-0000-0000"
    assert signing.code_of(b"\xff" * 32) == "ZZZZ-ZZZZ-ZZZZ-ZZZZ"
    assert signing.code_of(bytes(9) + b"\x1f") == "0000-0000-0000-000Z"
    assert signing.code_of(b"\x08" + bytes(9)) == "1000-0000-0000-0000"


def test_a_fingerprint_is_the_beginning_of_the_hash_of_the_key() -> None:
    assert len(FINGERPRINT.split("-")) == 8
    assert grouped(hashlib.sha256(PUBLIC).digest()[:20]) == FINGERPRINT
    assert signing.is_fingerprint(FINGERPRINT)
    for typed in ("", FINGERPRINT[:-1], FINGERPRINT + "0", FINGERPRINT[:-1] + "U"):
        assert not signing.is_fingerprint(typed)


ALIKE = "1010-0123-ABCD-WXYZ"


@pytest.mark.parametrize(
    "typed",
    [
        ALIKE,
        ALIKE.lower(),
        ALIKE.replace("-", ""),
        ALIKE.replace("-", " "),
        f"  {ALIKE}\n",
        "IOLO-O123-ABCD-WXYZ",
        "ioio-ol23-abcd-wxyz",
        "1 0 1 0 - 0 1 2 3 - A B C D - W X Y Z",
    ],
)
def test_a_code_is_known_again_however_it_is_typed(typed: str) -> None:
    assert signing.same_code(typed, ALIKE)


@pytest.mark.parametrize("typed", ["", "-", ALIKE[:-1], ALIKE + "0", ALIKE.replace("A", "B")])
def test_another_code_is_another(typed: str) -> None:
    assert not signing.same_code(typed, ALIKE)
