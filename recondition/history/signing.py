"""Ed25519 signatures (RFC 8032), the fingerprint of a key and the short code of a sheet.

A signature is made over a purpose and the canonical text (RFC 8785) of what is signed, so
that one made for one purpose says nothing for another. Codes are Crockford's base 32: no
letter in them is taken for a figure when read from paper.
"""

from __future__ import annotations

import base64
import binascii
import hashlib
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import rfc8785
from cryptography.exceptions import InvalidSignature
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PublicKey

KEY_BYTES, SIGNATURE_BYTES = 32, 64
CODE_BYTES, FINGERPRINT_BYTES = 10, 20
_SIGNS = "0123456789ABCDEFGHJKMNPQRSTVWXYZ"
_ALIKE = str.maketrans({"O": "0", "I": "1", "L": "1"})
_GROUP = 4

HEAD, SEAL, RELEASE, WITHDRAWAL = (
    "recondition head 1",
    "recondition seal 1",
    "recondition release 1",
    "recondition withdrawal 1",
)


@dataclass(frozen=True, slots=True)
class Signer:
    """Who signs: the raw public key (32 bytes) and what makes a signature (64 bytes)."""

    public: bytes
    sign: Callable[[bytes], bytes]

    def signature(self, purpose: str, said: Any) -> str:  # noqa: ANN401 - any plain value
        """Sign a plain value for a purpose; base64."""
        return b64(self.sign(message(purpose, said)))


def canonical(value: Any) -> bytes:  # noqa: ANN401 - any plain value
    """Give the canonical text of a plain value (RFC 8785) as UTF-8."""
    return rfc8785.dumps(value)


def sha256(content: bytes) -> str:
    """Give the SHA-256 of some bytes in hex."""
    return hashlib.sha256(content).hexdigest()


def message(purpose: str, said: Any) -> bytes:  # noqa: ANN401 - any plain value
    """Give the bytes that are signed."""
    return purpose.encode() + b"\n" + canonical(said)


def b64(content: bytes) -> str:
    """Write bytes as base64."""
    return base64.b64encode(content).decode()


def unb64(text: object, length: int) -> bytes | None:
    """Read base64 of so many bytes, written the one way there is; None for anything else."""
    if not isinstance(text, str):
        return None
    try:
        content = base64.b64decode(text, validate=True)
    except (binascii.Error, ValueError):
        return None
    return content if len(content) == length and b64(content) == text else None


def holds(public: bytes, signature: bytes, purpose: str, said: Any) -> bool:  # noqa: ANN401
    """Tell whether a signature was made with a key over this value for this purpose."""
    try:
        Ed25519PublicKey.from_public_bytes(public).verify(signature, message(purpose, said))
    except (InvalidSignature, ValueError):
        return False
    return True


def code_of(head_hash: bytes) -> str:
    """Give the short code of a sheet: the first 80 bits of the hash of its head."""
    return _grouped(head_hash[:CODE_BYTES])


def fingerprint_of(public: bytes) -> str:
    """Give the fingerprint of a key: the first 160 bits of its SHA-256."""
    return _grouped(hashlib.sha256(public).digest()[:FINGERPRINT_BYTES])


def same_code(typed: str, code: str) -> bool:
    """Tell whether what somebody typed from paper is a code; blanks, dashes, case aside."""
    return _bare(typed) == _bare(code)


def is_fingerprint(typed: str) -> bool:
    """Tell whether a text can be a whole fingerprint."""
    return _holds_bytes(typed, FINGERPRINT_BYTES)


def is_code(typed: str) -> bool:
    """Tell whether a text can be a whole short code."""
    return _holds_bytes(typed, CODE_BYTES)


def _holds_bytes(typed: str, count: int) -> bool:
    bare = _bare(typed)
    return len(bare) * 5 == count * 8 and all(sign in _SIGNS for sign in bare)


def _bare(text: str) -> str:
    return "".join(text.split()).replace("-", "").upper().translate(_ALIKE)


def _grouped(content: bytes) -> str:
    number, signs = int.from_bytes(content), len(content) * 8 // 5
    bare = "".join(_SIGNS[number >> 5 * place & 31] for place in reversed(range(signs)))
    return "-".join(bare[at : at + _GROUP] for at in range(0, signs, _GROUP))
