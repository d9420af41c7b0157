"""Who may enter, see and be told what: every sheet, kind, list and report has its row here.

A row names rights, any of which is enough. What has no row is for nobody, and a test holds that
nothing is left out.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from recondition.book.kinds import KINDS
from recondition.book.roles import Right
from recondition.errors import Refused
from recondition.intake.sheets import SHEETS, sheet_of_kind
from recondition.intake.spec import Parse
from recondition.ledger.codec import word_fields
from recondition.ledger.documents import Document, DocumentKind, Visibility

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from recondition.intake.spec import ColumnSpec, Sheet

Rights = tuple[Right, ...]

_BENCH, _MONEY, _DECIDE = Right.BENCH, Right.MONEY, Right.DECIDE
_BOOKS, _RELEASE, _MANAGE = Right.BOOKS, Right.RELEASE, Right.MANAGE
_DESK = (_DECIDE, _BOOKS)
_FLOOR = (_BENCH, _DECIDE)
_ALL_SHOP = (_BENCH, _DECIDE, _BOOKS)

# Who may enter a row of a sheet.
ENTER: dict[str, Rights] = {
    "settings": (_MANAGE,),
    "people": (_MANAGE, _DECIDE),
    "rates": _DESK,
    "suppliers": _DESK,
    "products": _DESK,
    "tax codes": (_BOOKS,),
    "accounts": (_BOOKS,),
    "instruments": _FLOOR,
    "water hardness": _FLOOR,
    "work rules": (_DECIDE,),
    "vehicles": (_DECIDE,),
    "panels": _FLOOR,
    "findings": _FLOOR,
    "documents": (_BENCH, _DECIDE, _BOOKS),
    "film readings": _FLOOR,
    "gloss readings": _FLOOR,
    "water drops": _FLOOR,
    "surface tests": _FLOOR,
    "custody items": _FLOOR,
    "custody moves": _FLOOR,
    "candidates": (_DECIDE,),
    "interactions": (_DECIDE,),
    "terms": (_DECIDE,),
    "test first": (_DECIDE,),
    "comparables": (_DECIDE,),
    "orders": _ALL_SHOP,
    "change requests": (_DECIDE,),
    "approvals": (_DECIDE,),
    "supplier invoices": _DESK,
    "receipts": _DESK,
    "containers": _FLOOR,
    "mixed batches": _FLOOR,
    "standard amounts": (_DECIDE,),
    "labour": _FLOOR,
    "parts": _DESK,
    "consumables": _FLOOR,
    "sublets": _DESK,
    "charges": _DESK,
    "counts": _ALL_SHOP,
    "shared charges": _DESK,
    "late freight": _DESK,
    "supplier returns": _DESK,
    "outcomes": _FLOOR,
    "sales": _DESK,
    "payments": (_BOOKS,),
    "value tests": (_BOOKS,),
    "paid hours": (_BOOKS,),
    "consents": (_RELEASE,),
    "redactions": (_RELEASE,),
}

_SHOP_SEES = (_BENCH, _MONEY, _DECIDE, _BOOKS)
_MONEY_SEES = (_MONEY, _DECIDE, _BOOKS)
_EVERYBODY = (*_SHOP_SEES, _RELEASE)
_PUBLIC = (_RELEASE, _DECIDE)

# Who may see a record of a kind; of its fields see ``hidden``.
SEE: dict[str, Rights] = {
    "setting": (_MANAGE, _DECIDE, _BOOKS),
    "person": (*_SHOP_SEES, _MANAGE),
    "rate": _MONEY_SEES,
    "supplier": _SHOP_SEES,
    "product": _SHOP_SEES,
    "receipt": _SHOP_SEES,
    "late freight": _MONEY_SEES,
    "supplier return": _MONEY_SEES,
    "stock reversal": _SHOP_SEES,
    "container": _SHOP_SEES,
    "mixed batch": _SHOP_SEES,
    "standard amount": _SHOP_SEES,
    "movement": _SHOP_SEES,
    "vehicle": _EVERYBODY,
    "panel": _SHOP_SEES,
    "finding": _SHOP_SEES,
    "outcome": _SHOP_SEES,
    "instrument": _SHOP_SEES,
    "film reading": _SHOP_SEES,
    "gloss reading": _SHOP_SEES,
    "drop reading": _SHOP_SEES,
    "water hardness": _SHOP_SEES,
    "surface test": _SHOP_SEES,
    "custody item": _SHOP_SEES,
    "custody move": _SHOP_SEES,
    "work rule": _SHOP_SEES,
    "candidate": _SHOP_SEES,
    "interaction": _MONEY_SEES,
    "terms": _MONEY_SEES,
    "trial": _MONEY_SEES,
    "comparable": _MONEY_SEES,
    "decision": _MONEY_SEES,
    "sale": _MONEY_SEES,
    "document": _EVERYBODY,
    "clock": _SHOP_SEES,
    "order": _SHOP_SEES,
    "change request": _MONEY_SEES,
    "approval": _MONEY_SEES,
    "owner invoice": _MONEY_SEES,
    "tax code": _MONEY_SEES,
    "account": _MONEY_SEES,
    "supplier invoice": _MONEY_SEES,
    "shared charge": _MONEY_SEES,
    "payment": _MONEY_SEES,
    "value test": _MONEY_SEES,
    "paid hours": _MONEY_SEES,
    "entry reversal": _MONEY_SEES,
    "period event": _MONEY_SEES,
    "export batch": _MONEY_SEES,
    "consent": _PUBLIC,
    "redaction": _PUBLIC,
    "let pass": _PUBLIC,
    "edition": _PUBLIC,
    "edition withdrawn": _PUBLIC,
    "erasure": (_MANAGE,),
    "labour": _SHOP_SEES,
    "part": _SHOP_SEES,
    "consumable": _SHOP_SEES,
    "sublet": _SHOP_SEES,
    "charge": _MONEY_SEES,
    "count": _SHOP_SEES,
    "reversal": _SHOP_SEES,
}

# Texts that the work history never shows; a seller sees none of them.
_PRIVATE = frozenset({"private_note", "contact", "buyer", "owner"})
_OF_PEOPLE = frozenset({"contact", "buyer"})
# Who allowed it, why a place is hidden, why a hit may stand: written by whoever releases, read by
# whoever sees money.
_GIVEN_IN_PRIVATE = {
    "consent": frozenset({"given_by"}), "redaction": frozenset({"why"}),
    "let pass": frozenset({"reason"}),
}  # fmt: skip
_MONEY_KINDS = (Parse.MONEY, Parse.FOREIGN, Parse.TIERS)
_TELLS_MONEY = frozenset(
    {"uplift_percent", "fail_uplift_percent", "uplift_basis", "foreign", "price_per",
     "estimate_ground", "tax_code"}
)  # fmt: skip
PAPERS_OF_MONEY = (DocumentKind.INVOICE, DocumentKind.APPROVAL)


class FieldNotForThisRole(Refused):
    """A field that the role of the login may not fill was sent."""

    http_status = 403

    def __init__(self, heading: str) -> None:
        """Name the field."""
        super().__init__(
            f"this login may not fill in: {heading}",
            where=heading,
            todo="Leave it out; somebody who sees what work costs adds it.",
        )


class SheetNotForThisRole(Refused):
    """A row of a sheet that the role of the login does not enter."""

    http_status = 403

    def __init__(self, name: str) -> None:
        """Name the sheet."""
        super().__init__(
            f"this login may not enter rows of the sheet {name}",
            todo="Ask somebody who may, or whoever manages the logins.",
        )


def may_enter(sheet: str, rights: Iterable[Right]) -> bool:
    """Tell whether rights are enough to enter a row of a sheet."""
    return bool(set(ENTER.get(sheet, ())) & set(rights))


def may_see(kind: str, rights: Iterable[Right]) -> bool:
    """Tell whether rights are enough to see records of a kind."""
    return bool(set(SEE.get(kind, ())) & set(rights))


def sees_money(rights: Iterable[Right]) -> bool:
    """Tell whether rights are enough to see what work costs and may bring."""
    return Right.MONEY in set(rights)


def _is_money(column: ColumnSpec) -> bool:
    """Tell whether a column holds money, or what tells of money."""
    return column.parse in _MONEY_KINDS or column.field.partition(".")[0] in _TELLS_MONEY


def hidden(kind: str, rights: Iterable[Right]) -> frozenset[str]:
    """Name the fields of a kind that may not be seen with some rights.

    A private note is read by whoever sees money, and by whoever may write one.
    """
    held, names = set(rights), set[str]()
    if not sees_money(held):
        names |= _GIVEN_IN_PRIVATE.get(kind, frozenset())
        if kind not in _SHEET_KINDS or not may_enter(sheet_of_kind(kind).name, held):
            names.add("private_note")
    if not held & set(_SHOP_SEES):
        names |= _PRIVATE
    elif not held & {Right.DECIDE, Right.BOOKS, Right.MANAGE}:
        names |= _OF_PEOPLE
    if not sees_money(held) and kind in _SHEET_KINDS:
        names |= {c.field for c in sheet_of_kind(kind).columns if _is_money(c)}
    return frozenset(names)


_SHEET_KINDS = frozenset(sheet.kind for sheet in SHEETS)


def shut(kind: str, rights: Iterable[Right]) -> frozenset[str]:
    """Name the fields of a kind that may not be filled with some rights; see ``hidden``."""
    return hidden(kind, rights) - _GIVEN_IN_PRIVATE.get(kind, frozenset())


def words_seen(rights: Iterable[Right]) -> dict[str, tuple[str, ...]]:
    """Give the free texts that may be seen with some rights, by kind of record."""
    held = set(rights)
    found = {}
    for kind in (name for name in KINDS if may_see(name, held)):
        out = hidden(kind, held)
        texts = tuple(f for f in word_fields(KINDS[kind].entry) if f not in out)
        if texts:
            found[kind] = texts
    return found


def may_see_document(entry: Document, rights: Iterable[Right]) -> bool:
    """Tell whether a kept file may be seen with some rights.

    What names money is for whoever sees money; a seller sees what may be shown to a buyer.
    """
    held = set(rights)
    if held & {Right.MONEY, Right.DECIDE, Right.BOOKS}:
        return True
    if Right.BENCH in held:
        return entry.kind not in PAPERS_OF_MONEY
    return Right.RELEASE in held and entry.visibility is not Visibility.EVIDENCE


def hold_sheet(sheet: Sheet, rights: Iterable[Right]) -> None:
    """Raise SheetNotForThisRole unless rights are enough to enter a row of a sheet."""
    if not may_enter(sheet.name, rights):
        raise SheetNotForThisRole(sheet.name)


def hold_fields(sheet: Sheet, values: Mapping[str, str], rights: Iterable[Right]) -> None:
    """Raise FieldNotForThisRole where a row fills what rights are not enough for."""
    not_theirs = shut(sheet.kind, rights)
    for field in values:
        if field in not_theirs:
            raise FieldNotForThisRole(sheet.column(field).heading)


def _taken_back() -> dict[str, Rights]:
    """Give who may take back a record of each kind that is posted once: who may enter it."""
    found = {s.kind: ENTER[s.name] for s in SHEETS if KINDS[s.kind].once}
    return {**found, "owner invoice": _DESK}


TAKEN_BACK = _taken_back()
