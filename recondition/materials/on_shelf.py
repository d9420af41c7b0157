"""What is wrong with a product as it stands on the shelf: absent, or past its life.

Common practice, no source; the product's own data sheet and label decide whether it may still be
used.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from datetime import date
from decimal import Decimal

from recondition.materials.products import Product
from recondition.materials.receiving import Container, Receipt
from recondition.materials.shelf_life import days_left, good_until, in_words


def trouble(
    product: Product,
    on_hand: Decimal,
    containers: Mapping[str, Container],
    receipts: Mapping[str, Receipt],
    today: date,
) -> str:
    """Say why none of a product can be taken; empty where some can.

    ``containers`` are those of the product by label, ``receipts`` its deliveries by id. Where no
    container is labelled the deliveries' own last days count.
    """
    full = {label: each for label, each in containers.items() if each.emptied_on is None}
    if on_hand <= 0 and not full:
        return f"nothing of {product.name} is in stock on record"
    if full:
        past = {label: _past(product, each, receipts, today) for label, each in full.items()}
        if all(past.values()):
            named = "; ".join(f"{label} {words}" for label, words in past.items())
            return f"{product.name} is past its life: {named}"
        return ""
    return _all_past(product, receipts.values(), today)


def _past(
    product: Product, container: Container, receipts: Mapping[str, Receipt], today: date
) -> str:
    """Say how long what is in a container is past its last day; empty where it is good."""
    last = []
    if container.opened_on is not None and product.shelf_life_open is not None:
        last.append(good_until(container.opened_on, product.shelf_life_open))
    receipt = receipts.get(container.receipt or "")
    if receipt is not None and receipt.use_by is not None:
        last.append(receipt.use_by)
    left = min((days_left(day, today) for day in last), default=0)
    return in_words(left) if left < 0 else ""


def _all_past(product: Product, receipts: Iterable[Receipt], today: date) -> str:
    """Say that every delivery is past the day printed on it; empty where one is not."""
    days = [receipt.use_by for receipt in receipts]
    known = [day for day in days if day is not None and day < today]
    if not known or len(known) < len(days):
        return ""
    return f"{product.name} is past its life: {in_words(days_left(max(known), today))}"
