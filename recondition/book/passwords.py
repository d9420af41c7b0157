"""Passwords: which are taken, and what is kept of them.

What is kept is Argon2id (RFC 9106) with the second set of parameters that its section 4
recommends, for where memory is short: 3 passes, 64 MiB, 4 lanes, a salt of 16 bytes and a tag of
32. At least 12 signs, no rules of composition, and a look at common ones follow NIST SP 800-63B,
section 5.1.1.2, which asks for 8 and Unicode in form NFKC.
"""

from __future__ import annotations

import unicodedata
from functools import cache
from threading import BoundedSemaphore
from typing import TYPE_CHECKING

from recondition.errors import Refused

if TYPE_CHECKING:
    from argon2 import PasswordHasher

SHORTEST, LONGEST = 12, 500
_PASSES, _MEMORY_KIB, _LANES = 3, 64 * 1024, 4

# Each takes 64 MiB while it is worked out, however many ask at once.
_AT_ONCE = BoundedSemaphore(4)

# Words that most guesses begin with, as generally known, no source. Figures and signs around
# them, and saying them twice, make none of them harder to guess.
_COMMON = frozenset(
    {
        "password", "passwort", "passwd", "passcode", "qwerty", "qwertz", "azerty", "qwertyuiop",
        "asdfghjkl", "zxcvbnm", "abcd", "abcdef", "abcdefgh", "letmein", "welcome", "login",
        "admin", "administrator", "iloveyou", "monkey", "dragon", "sunshine", "princess",
        "football", "baseball", "superman", "batman", "master", "shadow", "trustno", "secret",
        "changeme", "default", "whatever", "freedom", "computer", "internet", "hello", "killer",
        "summer", "winter", "spring", "autumn", "michael", "charlie", "jordan", "thomas",
        "workshop", "garage", "dealer", "preparer", "recondition",
    }
)  # fmt: skip
_ROWS = tuple(row * (LONGEST // 10 + 1) for row in ("0123456789", "9876543210"))
_AROUND = "0123456789 .,!?-_*#$@+"
_FEW_SIGNS = 3


class PasswordTooShort(Refused):
    """A password of too few signs, or of more than anybody types."""

    exit_status = 2

    def __init__(self) -> None:
        """Say how long it has to be."""
        super().__init__(
            f"a password has at least {SHORTEST} signs, and {LONGEST} at most",
            todo="Take four or five words that belong together for you alone.",
        )


class PasswordIsName(Refused):
    """A password that is the login's own name."""

    exit_status = 2

    def __init__(self) -> None:
        """Say so, without the name."""
        super().__init__(
            "the password is the name of the login",
            todo="Take another one that nobody guesses who knows the name.",
        )


class PasswordCommon(Refused):
    """A password that is among the first to be guessed."""

    exit_status = 2

    def __init__(self) -> None:
        """Say so, without the password."""
        super().__init__(
            "this password is among those that are guessed first",
            todo="Take four or five words that belong together for you alone.",
        )


class PasswordsNotInstalled(Refused):
    """What passwords are kept with is not installed."""

    exit_status = 2

    def __init__(self, why: str) -> None:
        """Name what the system said."""
        super().__init__(
            f"passwords need an extra that is not there: {why}",
            todo="Install it: pip install 'recondition[server]'.",
        )


def folded(text: str) -> str:
    """Write a name as names are compared: one form of each sign, small letters, one blank."""
    return " ".join(unicodedata.normalize("NFKC", text).casefold().split())


def hold_good(name: str, password: str) -> None:
    """Hold that a password can be taken for a login of a name.

    Raises PasswordTooShort, PasswordIsName, PasswordCommon.
    """
    if not SHORTEST <= len(password) <= LONGEST:
        raise PasswordTooShort
    plain, own = folded(password), folded(name)
    if own and own in {plain, plain.strip(_AROUND), _once(plain)}:
        raise PasswordIsName
    if _is_common(plain):
        raise PasswordCommon


def _is_common(plain: str) -> bool:
    """Tell whether a password is a common word, a row of figures, or a few signs over and over."""
    letters = "".join(sign for sign in plain if sign.isalpha())
    few = len(_once(plain)) <= _FEW_SIGNS
    row = plain.isdigit() and any(plain in figures for figures in _ROWS)
    return few or row or _once(letters) in _COMMON


def _once(word: str) -> str:
    """Give what a word says over and over; the word where it says nothing twice."""
    at = (word + word).find(word, 1) if word else -1
    return word[:at] if 0 < at < len(word) else word


@cache
def _hasher() -> PasswordHasher:
    """Give what makes and compares hashes. Raises PasswordsNotInstalled."""
    try:
        from argon2 import PasswordHasher  # noqa: PLC0415 - an extra, and only for the pages
    except ImportError as error:
        raise PasswordsNotInstalled(str(error)) from error
    return PasswordHasher(_PASSES, _MEMORY_KIB, _LANES, hash_len=32, salt_len=16)


def hashed(password: str) -> str:
    """Give what is kept of a password. Raises PasswordsNotInstalled."""
    hasher = _hasher()
    with _AT_ONCE:
        return hasher.hash(_bytes(password))


def fits(kept: str | None, password: str) -> bool:
    """Tell whether a password is the one that was kept, with the same work where none was.

    Raises PasswordsNotInstalled.
    """
    nobody, hasher = _nobody(), _hasher()
    known = kept if len(password) <= LONGEST else None
    from argon2.exceptions import InvalidHashError, VerificationError  # noqa: PLC0415 - as above

    try:
        with _AT_ONCE:
            hasher.verify(known or nobody, _bytes(password[:LONGEST]))
    except (VerificationError, InvalidHashError):
        return False
    return known is not None


@cache
def _nobody() -> str:
    """Give a hash that is compared where there is none."""
    return hashed("of no login at all")


def is_old(kept: str) -> bool:
    """Tell whether a hash was made with other parameters than those of today."""
    return _hasher().check_needs_rehash(kept)


def _bytes(password: str) -> bytes:
    """Write a password in one form of each sign; half a sign, which no keyboard gives, too."""
    return unicodedata.normalize("NFKC", password).encode("utf-8", "surrogatepass")
