"""Currencies and the number of decimals of their minor unit.

Source: ISO 4217, list one, as published on 2024-06-25. Codes to which the list gives no
minor unit (gold XAU, the test code XTS and the like) are left out on purpose: an amount in
them cannot be counted in minor units.
"""

from __future__ import annotations

from types import MappingProxyType

from recondition.errors import Refused

_TWO_DIGITS = """
    AED AFN ALL AMD ANG AOA ARS AUD AWG AZN BAM BBD BDT BGN BMD BND BOB BOV BRL BSD BTN BWP BYN
    BZD CAD CDF CHE CHF CHW CNY COP COU CRC CUC CUP CVE CZK DKK DOP DZD EGP ERN ETB EUR FJD FKP
    GBP GEL GHS GIP GMD GTQ GYD HKD HNL HTG HUF IDR ILS INR IRR JMD KES KGS KHR KPW KYD KZT LAK
    LBP LKR LRD LSL MAD MDL MGA MKD MMK MNT MOP MRU MUR MVR MWK MXN MXV MYR MZN NAD NGN NIO NOK
    NPR NZD PAB PEN PGK PHP PKR PLN QAR RON RSD RUB SAR SBD SCR SDG SEK SGD SHP SLE SOS SRD SSP
    STN SVC SYP SZL THB TJS TMT TOP TRY TTD TWD TZS UAH USD USN UYU UZS VED VES WST XCD YER ZAR
    ZMW ZWG
"""
_NO_DIGITS = "BIF CLP DJF GNF ISK JPY KMF KRW PYG RWF UGX UYI VND VUV XAF XOF XPF"
_THREE_DIGITS = "BHD IQD JOD KWD LYD OMR TND"
_FOUR_DIGITS = "CLF UYW"

_MINOR_DIGITS = MappingProxyType(
    {
        **dict.fromkeys(_TWO_DIGITS.split(), 2),
        **dict.fromkeys(_NO_DIGITS.split(), 0),
        **dict.fromkeys(_THREE_DIGITS.split(), 3),
        **dict.fromkeys(_FOUR_DIGITS.split(), 4),
    },
)

CODES: frozenset[str] = frozenset(_MINOR_DIGITS)
"""Every code that has a minor unit, in capitals."""


class UnknownCurrency(Refused):
    """The code is not an ISO 4217 currency with a minor unit."""


def minor_digits(code: str) -> int:
    """Return how many decimals the currency has: 0 (JPY), 2 (EUR), 3 (KWD) or 4 (CLF).

    Raises UnknownCurrency for anything but a listed code in capitals.
    """
    digits = _MINOR_DIGITS.get(code)
    if digits is None:
        what = f"{code!r} is not a currency that amounts can be kept in."
        todo = "Write the three capital letters of ISO 4217, for example EUR, GBP or USD."
        raise UnknownCurrency(what, todo=todo)
    return digits
