"""What a charge is for.

The words are those of the trade's own list of landed, selling and holding costs (common
practice, no source); a book's account map says where each goes.
"""

from __future__ import annotations

from enum import StrEnum


class CostItem(StrEnum):
    """What an amount was paid for. The purpose says whether it is landed, selling or holding."""

    PURCHASE = "purchase"
    PREMIUM = "buyer's premium"
    AGENT = "agent fee"
    EXPORT_PAPERS = "export papers"
    HAULAGE_ABROAD = "haulage abroad"
    STORAGE_ABROAD = "storage abroad"
    AIR_FREIGHT = "air freight"
    SEA_FREIGHT = "sea freight"
    TRANSIT_INSURANCE = "transit insurance"
    PORT = "port handling"
    DUTY = "customs duty"
    IMPORT_TAX = "import tax"
    ENTRY_FEE = "entry fee"
    BROKER = "customs broker"
    CONFORMITY = "conformity test"
    REGISTRATION = "registration"
    INLAND_HAULAGE = "inland haulage"
    COMMISSION = "commission"
    PHOTOGRAPHY = "photography"
    TRANSPORT_OUT = "transport out"
    SALE_INSURANCE = "insurance at the sale"
    TITLE = "title work"
    UNSOLD_FEE = "unsold fee"
    WITHDRAWAL_FEE = "withdrawal fee"
    STORAGE = "storage"
    INSURANCE = "insurance"
    INTEREST = "interest"
    UPKEEP = "upkeep"
    OTHER = "other"


BOUGHT_FOR = (CostItem.PURCHASE, CostItem.PREMIUM)
"""What the price of the vehicle itself is made of, owed to its seller."""

_SELLING = (
    CostItem.COMMISSION, CostItem.PHOTOGRAPHY, CostItem.TRANSPORT_OUT, CostItem.SALE_INSURANCE,
    CostItem.TITLE, CostItem.UNSOLD_FEE, CostItem.WITHDRAWAL_FEE,
)  # fmt: skip
_HOLDING = (CostItem.STORAGE, CostItem.INSURANCE, CostItem.INTEREST, CostItem.UPKEEP)


def usual_reason(item: CostItem) -> str | None:
    """Say why a charge for this links to no finding where the row does not; None for other."""
    if item is CostItem.OTHER:
        return None
    if item in _SELLING:
        return "sale"
    return "storage" if item in _HOLDING else "arrival"
