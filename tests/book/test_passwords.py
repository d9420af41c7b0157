"""Which passwords are taken, and what is kept of them."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
from argon2 import Parameters, PasswordHasher, extract_parameters

from recondition.book import passwords
from recondition.book.passwords import PasswordCommon, PasswordIsName, PasswordTooShort, hold_good
from tests.book.make_logins import GOOD, OTHER, forget_hasher

if TYPE_CHECKING:
    from collections.abc import Iterator


@pytest.fixture(scope="module", autouse=True)
def own_hasher() -> Iterator[None]:
    forget_hasher()
    yield
    forget_hasher()


def test_what_is_kept_is_argon2id_as_the_standard_recommends() -> None:
    kept = passwords.hashed(GOOD)
    assert kept.startswith("$argon2id$v=19$m=65536,t=3,p=4$")
    assert kept != passwords.hashed(GOOD)
    assert passwords.fits(kept, GOOD)
    assert not passwords.fits(kept, OTHER)
    assert not passwords.fits(kept, GOOD + " ")
    assert not passwords.is_old(kept)
    assert passwords.is_old(kept.replace("t=3", "t=2"))
    assert not passwords.fits("no hash", GOOD)


@pytest.mark.parametrize("known", [True, False])
def test_where_there_is_no_login_the_work_is_the_same(
    monkeypatch: pytest.MonkeyPatch, *, known: bool
) -> None:
    kept = passwords.hashed(GOOD) if known else None
    compared: list[tuple[Parameters, bytes]] = []
    verify = PasswordHasher.verify

    def seen(self: PasswordHasher, against: str, password: bytes) -> bool:
        compared.append((extract_parameters(against), password))
        return verify(self, against, password)

    monkeypatch.setattr(PasswordHasher, "verify", seen)
    assert not passwords.fits(kept, OTHER)
    assert compared == [(extract_parameters(passwords.hashed(GOOD)), OTHER.encode())]


def test_signs_that_are_written_in_two_ways_are_the_same_password() -> None:
    kept = passwords.hashed("Stra\u00dfe zum \u00c4quator")
    assert passwords.fits(kept, "Stra\u00dfe zum A\u0308quator")
    half = passwords.hashed("half a sign \ud800 twelve")
    assert passwords.fits(half, "half a sign \ud800 twelve")


def test_nobody_has_a_longer_password_than_is_compared() -> None:
    most = "as long as it may be " * 30
    kept = passwords.hashed(most[: passwords.LONGEST])
    assert passwords.fits(kept, most[: passwords.LONGEST])
    assert not passwords.fits(kept, most)


@pytest.mark.parametrize(
    "common",
    [
        "password1234", "PasswordPassword", "12345678901234", "9876543210987", "aaaaaaaaaaaa",
        "abababababab", "Letmein!!!!!2031", "qwertyuiop12", "            ", "iloveyou iloveyou",
        "dragondragondragon", "recondition1", "....letmein....",
    ],
)  # fmt: skip
def test_what_is_guessed_first_is_not_taken(common: str) -> None:
    with pytest.raises(PasswordCommon):
        hold_good("HK", common)


@pytest.mark.parametrize(
    "own", ["Hanna Kolb-Wend", "hanna  kolb-wend", "Hanna Kolb-Wend 1", "!!HANNA KOLB-WEND!!"]
)
def test_the_own_name_is_not_taken(own: str) -> None:
    with pytest.raises(PasswordIsName):
        hold_good("Hanna Kolb-Wend", own)


def test_length_is_what_counts() -> None:
    for wrong in ("", "x9!Kd_2mQ%z", GOOD * 30):
        with pytest.raises(PasswordTooShort):
            hold_good("HK", wrong)
    for good in (
        GOOD,
        OTHER,
        "x9!Kd_2mQ%z7",
        "dragon paints a summer garage",
        "\u0434\u043e\u043c \u0443 \u043c\u043e\u0440\u044f 7",
    ):
        hold_good("HK", good)
    hold_good("", GOOD)
