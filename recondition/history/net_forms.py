"""How private things look once they are written: numbers, places, words and plain text.

Text that comes out of a page, a PDF or a picture is first made alike: signs that look the same
become the same (Unicode NFKC), invisible breaks go, any run of blanks is one blank. Every
pattern here takes time in proportion to the text.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterator
from decimal import Decimal

from recondition.amounts import Money
from recondition.amounts.currencies import CODES, minor_digits
from recondition.ledger.codec import plain_number

SIGNIFICANT_MIN = 4
_MINOR_MIN = 6
_GROUPS_MAX = 7
_DECIMALS_MAX = 4

# Quotes, primes, dashes and signs of degree that are typed and set in several ways.
_ALIKE = {
    **dict.fromkeys(map(ord, "\u2018\u2019\u02bc\u00b4\u2032\u0060"), "'"),
    **dict.fromkeys(map(ord, "\u201c\u201d\u2033"), '"'),
    **dict.fromkeys(map(ord, "\u2010\u2011\u2012\u2013\u2014\u2212"), "-"),
    **dict.fromkeys(map(ord, "\u00ba\u02da"), "\u00b0"),
    **dict.fromkeys((0xAD, 0x200B, 0x200C, 0x200D, 0x2060, 0xFEFF), ""),
}

_DATA = re.compile(r"data:(?:[a-z]+/[a-z0-9.+-]+)?(?:;[a-z0-9=-]+)*,[A-Za-z0-9+/=%_.~-]*")
_LONG = re.compile(r"[A-Za-z0-9+/=]{40,}")
_GROUPED_HEX = re.compile(r"\b[0-9a-f]{4}(?: [0-9a-f]{4}){7,}\b")
_MONTH = (
    "(?:Jan(?:uary)?|Feb(?:ruary)?|Mar(?:ch)?|Apr(?:il)?|May|June?|July?|Aug(?:ust)?"
    "|Sep(?:t(?:ember)?)?|Oct(?:ober)?|Nov(?:ember)?|Dec(?:ember)?)"
)
_WHEN = re.compile(
    r"(?<![0-9])[0-9]{4}-[0-9]{2}-[0-9]{2}(?![0-9])(?:T[0-9:.]{5,20}(?:Z|[+-][0-9]{2}:[0-9]{2})?)?"
    r"|(?<![0-9])[0-9]{1,2}:[0-9]{2}(?::[0-9]{2})?(?![0-9])"
    rf"|\b(?:[0-9]{{1,2}} )?{_MONTH} [0-9]{{4}}\b"
)

_RUN = re.compile(r"[0-9]+(?:[., '][0-9]+)*")
_BY_THREE = re.compile(r"[0-9]{1,3}([., '])[0-9]{3}(?:\1[0-9]{3})*")
_BY_TWO = re.compile(r"[0-9]{1,2}(?:,[0-9]{2})+,[0-9]{3}")
_NEXT_GROUP = re.compile(r"[0-9]{3}(?:[.,][0-9]{1,4})?")
_LETTERS_BEFORE = re.compile(r"[^\W\d_]+\Z")
_LETTERS_AFTER = re.compile(r"[^\W\d_]+")
_WITH_AMOUNTS = CODES | {"KR", "FR", "RS", "R", "FT", "K\u010c", "Z\u0141", "LEI"}
_MONEY_SIGNS = frozenset("$\u20ac\u00a3\u00a5")
_CURRENCY_BEFORE = re.compile(r"([^\W\d_]+|[$\u20ac\u00a3\u00a5]) ?\Z")
_CURRENCY_AFTER = re.compile(r" ?([^\W\d_]+|[$\u20ac\u00a3\u00a5])")
_WORD = re.compile(r"[^\W_]+")

_DECIMAL_DEGREES = re.compile(r"(?<![0-9.,])([0-9]{1,3})[.,]([0-9]{3,20})(?![0-9])")
_MINUTES = re.compile(
    r"(?<![0-9.,])([0-9]{1,3})(?: ?(?:\u00b0|deg|d|:) ?| )([0-9]{1,2}(?:[.,][0-9]{1,12})?)"
    r"(?:(?: ?(?:'|min|m|:) ?| )([0-9]{1,2}(?:[.,][0-9]{1,12})?))?(?![0-9])"
)


def plain(text: str) -> str:
    """Make a text alike: look-alike signs, no invisible breaks, one blank between words."""
    return " ".join(unicodedata.normalize("NFKC", text.translate(_ALIKE)).split())


def without_data(text: str) -> str:
    """Leave out ``data:`` addresses, whose content is opened and searched by itself."""
    return _DATA.sub("data: ", text) if "data:" in text else text


def without_proofs(text: str) -> str:
    """Leave out what is a hash, a salt, a signature or a key, so that no number is seen in it."""
    return _GROUPED_HEX.sub(_unless_numbers, _LONG.sub(_unless_words, text))


def _unless_words(found: re.Match[str]) -> str:
    """Drop a long run that is hex or mixed as only encoded bytes are; words run together stay."""
    run = found[0]
    mixed = any(map(str.isdigit, run)) and run.lower() != run != run.upper()
    return " # " if mixed or not set(run) - set("0123456789abcdef") else run


def _unless_numbers(found: re.Match[str]) -> str:
    """Drop a hash in groups of four; readings side by side stay."""
    return found[0] if found[0].replace(" ", "").isdigit() else " # "


def amount_keys(money: Money) -> tuple[str, ...]:
    """Give how an amount is looked up, none where it has fewer than four significant digits.

    The first is the amount in major units without sign and trailing zeros of its decimals. An
    odd amount has a second after ``=``: the bare count of its minor units, six digits or more.
    """
    key = plain_number(abs(money.number))
    if len(key.replace(".", "").lstrip("0")) < SIGNIFICANT_MIN:
        return ()
    minor = str(abs(money.minor))
    odd = minor_digits(money.currency) and "." in key and len(minor) >= _MINOR_MIN
    return (key, f"={minor}") if odd else (key,)


def numbers_in(text: str) -> Iterator[tuple[str, int, int]]:
    """Find every number that may be an amount: its key, where it starts and where it ends.

    ``text`` is plain. A number that may be read in two ways comes twice. Days and times are no
    numbers, nor is what touches letters, save for a currency.
    """
    text = _WHEN.sub(lambda found: "#" * len(found[0]), text)
    for run in _RUN.finditer(text):
        pieces = list(_pieces(text, run))
        for first in range(len(pieces)):
            yield from _from(pieces, first)


def in_money_form(text: str, key: str, start: int, end: int) -> bool:
    """Tell whether a number found may be the amount of this key, as it stands in its text.

    A round amount of four figures (1,500.00) needs groups, decimals or a currency beside it:
    bare, it is a year, a size or the name of a model.
    """
    written = text[start:end]
    round_one = len(key.rstrip("0")) < SIGNIFICANT_MIN and len(written) == SIGNIFICANT_MIN
    if not written.isdigit() or not round_one:
        return True
    before, after = text[max(0, start - 5) : start], text[end : end + 5]
    beside = (_CURRENCY_BEFORE.search(before), _CURRENCY_AFTER.match(after))
    return any(found and found[1].upper() in _WITH_AMOUNTS | _MONEY_SIGNS for found in beside)


def _pieces(text: str, run: re.Match[str]) -> Iterator[tuple[str, int]]:
    """Part a run of numbers at its blanks; a piece that touches a word is left out."""
    written = run[0].split(" ")
    at = run.start()
    for place, piece in enumerate(written):
        before = place == 0 and _touches(_LETTERS_BEFORE.search(text[max(0, at - 5) : at]))
        end = at + len(piece)
        after = place == len(written) - 1 and _touches(_LETTERS_AFTER.match(text[end : end + 5]))
        # A piece that no number can hold stands between two others that are not joined.
        yield ("" if before or after else piece, at)
        at = end + 1


def _touches(letters: re.Match[str] | None) -> bool:
    """Tell whether letters beside a number make it part of a word; a currency does not."""
    return letters is not None and letters[0].upper() not in _WITH_AMOUNTS


def _from(pieces: list[tuple[str, int]], first: int) -> Iterator[tuple[str, int, int]]:
    """Read the numbers that begin with one piece: alone, and with the groups that follow."""
    joined, start = pieces[first]
    keys = list(_readings(joined))
    if not keys and "," in joined:
        keys = [key for part in joined.split(",") for key in _readings(part)]
    yield from ((key, start, start + len(joined)) for key in keys)
    for piece, _ in pieces[first + 1 : first + _GROUPS_MAX]:
        if not _NEXT_GROUP.fullmatch(piece) or not joined.rpartition(" ")[2].isdigit():
            return
        joined = f"{joined} {piece}"
        yield from ((key, start, start + len(joined)) for key in _readings(joined))


def _readings(written: str) -> Iterator[str]:
    """Give the keys of one written number: with decimals, as a whole number, or both."""
    if written.isdigit():
        yield from _key(written, "")
        yield from _key(written, "", "=")
        return
    mark = next((sign for sign in reversed(written) if not sign.isdigit()), "")
    head, _, tail = written.rpartition(mark) if mark else ("", "", "")
    if mark in {".", ","} and len(tail) <= _DECIMALS_MAX and mark not in head and _whole(head):
        yield from _key(head, tail)
    if _whole(written):
        yield from _key(written, "")


def _whole(written: str) -> bool:
    """Tell whether a text is a whole number, plain or in groups."""
    grouped = _BY_THREE.fullmatch(written) or _BY_TWO.fullmatch(written)
    return written.isdigit() or grouped is not None


def _key(whole: str, decimals: str, mark: str = "") -> Iterator[str]:
    """Give the key of a number; one that is written with zeros in front is no amount."""
    digits = re.sub(r"[., ']", "", whole)
    if digits[0] != "0" or digits == "0":
        decimals = decimals.rstrip("0")
        yield f"{mark}{digits}.{decimals}" if decimals else f"{mark}{digits}"


def words_in(text: str) -> list[tuple[str, int, int]]:
    """Give the words of a text, letters and figures, with where each starts and ends."""
    return [(found[0], *found.span()) for found in _WORD.finditer(text)]


def degrees_in(text: str) -> Iterator[tuple[Decimal, int, int]]:
    """Find what may be a latitude or longitude, in degrees without sign, and where it stands.

    Decimal degrees have three or more decimals; else degrees, minutes and perhaps seconds.
    """
    for found in _DECIMAL_DEGREES.finditer(text):
        yield (Decimal(f"{found[1]}.{found[2]}"), *found.span())
    for found in _MINUTES.finditer(text):
        minutes, seconds = (Decimal((part or "0").replace(",", ".")) for part in found.groups()[1:])
        yield (Decimal(found[1]) + minutes / 60 + seconds / 3600, *found.span())
