"""Currency signs and codes around an amount, in the text or in the cell's number format.

Signs: common practice, no source. A sign that several currencies use is taken as the
book's own if the book's currency is one of them.
"""

from __future__ import annotations

import re

from recondition.amounts.currencies import CODES
from recondition.intake.cells import OtherCurrencySign, tidy

_DOLLARS = (
    "USD AUD BBD BMD BND BSD BZD CAD CLP COP FJD GYD HKD JMD KYD LRD MXN NAD NZD SBD SGD SRD TTD "
    "TWD XCD ARS UYU DOP NIO CVE"
)
_SIGNS: dict[str, frozenset[str]] = {
    sign: frozenset(codes.split())
    for sign, codes in {
        "US$": "USD", "A$": "AUD", "AU$": "AUD", "C$": "CAD", "CA$": "CAD", "NZ$": "NZD",
        "HK$": "HKD", "S$": "SGD", "R$": "BRL", "$": _DOLLARS, "£": "GBP EGP FKP GIP SHP SSP SYP",
        "€": "EUR", "¥": "JPY CNY", "₹": "INR", "₩": "KRW", "₽": "RUB", "₺": "TRY", "₴": "UAH",
        "₪": "ILS", "฿": "THB", "₫": "VND", "₱": "PHP", "₦": "NGN", "₸": "KZT", "₾": "GEL",
        "kr": "SEK NOK DKK ISK", "zł": "PLN", "Kč": "CZK", "Ft": "HUF", "lei": "RON", "R": "ZAR",
        "Fr.": "CHF", "Fr": "CHF", "SFr.": "CHF", "лв": "BGN",
    }.items()
}  # fmt: skip

_MINUS = "-\u2212"
_AROUND = re.compile(
    r"(?P<before>[^0-9.,()+\-\u2212']*(?:(?<=[^\W\d])\.)?)(?P<core>.*?)(?P<after>[^0-9)]*)",
    re.DOTALL,
)
_IN_FORMAT = re.compile(
    r"\[\$(?P<locale>[^\]-]*)(?:-[^\]]*)?\]|\"(?P<quoted>[^\"]*)\"|(?P<bare>[£€¥$])"
)

# Formats that a spreadsheet shows with the sign of whatever country it runs in.
_LOCAL_FORMATS = frozenset(
    {
        '"$"#,##0_);\\("$"#,##0\\)',
        '"$"#,##0_);[Red]\\("$"#,##0\\)',
        '"$"#,##0.00_);\\("$"#,##0.00\\)',
        '"$"#,##0.00_);[Red]\\("$"#,##0.00\\)',
        '_("$"* #,##0_)_("$"* \\(#,##0\\)_("$"* "-"_)_(@_)',
        '_("$"* #,##0.00_)_("$"* \\(#,##0.00\\)_("$"* "-"??_)_(@_)',
        '_("$"* #,##0_);_("$"* \\(#,##0\\);_("$"* "-"_);_(@_)',
        '_("$"* #,##0.00_);_("$"* \\(#,##0.00\\);_("$"* "-"??_);_(@_)',
    }
)


def without_currency(text: str, number_format: str, currency: str) -> str:
    """Give the number's text without sign or code of the book's currency.

    Brackets around an amount mean that it is negative. Raises OtherCurrencySign where the
    text or the cell's format names another currency.
    """
    for mark in _marks_of_format(number_format):
        _check(mark, currency)
    if not any(sign.isdigit() for sign in text):
        return text
    minus, bare = _negative(text)
    for _side in range(2):
        match = _AROUND.fullmatch(bare)
        if match is None:
            return text
        for mark in (tidy(match["before"]), tidy(match["after"])):
            if mark in ("-", "\u2212"):
                return text
            if mark:
                _check(mark, currency)
        bare = tidy(match["core"])
        again, bare = _negative(bare)
        minus = minus or again
    return ("-" if minus else "") + bare


def _negative(text: str) -> tuple[bool, str]:
    """Tell whether a text has a leading minus or brackets, and give it without them."""
    if text.startswith("(") and text.endswith(")"):
        return True, tidy(text[1:-1])
    if text[:1] and text[0] in _MINUS:
        return True, tidy(text[1:])
    return False, text


def _marks_of_format(number_format: str) -> list[str]:
    """List the currency signs and codes that a number format shows."""
    if number_format == "General" or number_format in _LOCAL_FORMATS:
        return []
    marks = []
    for match in _IN_FORMAT.finditer(number_format):
        mark = tidy(match["locale"] or match["quoted"] or match["bare"] or "")
        if mark in _SIGNS or mark.upper() in CODES:
            marks.append(mark)
    return marks


def _check(mark: str, currency: str) -> None:
    """Raise OtherCurrencySign where a mark is the sign or code of another currency."""
    known = _SIGNS.get(mark, frozenset({mark.upper()} if mark.upper() in CODES else ()))
    if known and currency not in known:
        what = f"The amount is marked {mark}; this book is kept in {currency}."
        todo = f"Write the amount in {currency}; the foreign one stays on its document."
        raise OtherCurrencySign(what, todo=todo)
    if not known:
        raise _unknown(mark, currency)


def _unknown(mark: str, currency: str) -> OtherCurrencySign:
    """Give the refusal of letters around an amount that are no currency."""
    what = f"{mark[:20]!r} beside the amount is not the sign or code of {currency}."
    return OtherCurrencySign(what, todo="Write the amount in digits alone.")
