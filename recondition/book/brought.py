"""What each schema brought: kinds, fields and settings that the ones before do not know.

An older version of the program reads a book only where nothing of that is in use. Fields of a
kind that a schema brought whole are not listed again.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from recondition.book.kinds import KINDS, LINE_KINDS
from recondition.book.schema import REVISIONS
from recondition.ledger.codec import decode_fields
from recondition.ledger.lines import document_day
from recondition.ledger.periods import month_of

KINDS_BROUGHT: dict[str, tuple[str, ...]] = {
    "0002": ("document",),
    "0003": (
        "approval", "change request", "clock", "container", "count", "late freight",
        "mixed batch", "movement", "order", "owner invoice", "receipt", "standard amount",
        "stock reversal", "supplier return",
    ),
    "0004": (
        "custody item", "custody move", "drop reading", "film reading", "gloss reading",
        "instrument", "surface test", "water hardness", "work rule",
    ),
    "0005": ("comparable", "decision", "sale", "trial"),
    "0006": (
        "account", "entry reversal", "export batch", "paid hours", "payment", "period event",
        "shared charge", "supplier invoice", "tax code", "value test",
    ),
    "0007": ("consent", "edition", "edition withdrawn", "let pass", "redaction"),
    "0008": (),
    "0009": (),
}  # fmt: skip

_TAXED = "foreign settled tax tax_code"
_FIELDS = {
    "0003": {
        "charge": "loss order rework",
        "consumable": "container loss measure mixed order receipt rework use",
        "labour": "bay billed_time clock elapsed ended_at loss order rework started_at taken",
        "part": "loss order outside_because replaces_part rework window",
        "product": "container_size density_g_ml dilution_label expected_uses hazards ph ph_to "
        "product_parts reorder_at sds_date shelf_life_open water_parts",
        "rate": "basis",
        "sublet": "loss order rework",
    },
    "0004": {
        "candidate": "film_removal override products",
        "charge": "override",
        "clock": "film_removal override",
        "consumable": "override",
        "count": "override",
        "document": "before camera_ahead",
        "finding": "distance new_since_arrival step when",
        "labour": "film_removal override",
        "panel": "film_floor",
        "part": "override",
        "product": "allowed_because ingredients",
        "sublet": "override",
        "vehicle": "film_floor",
    },
    "0005": {
        "candidate": "skills",
        "person": "hours_a_day skills",
        "terms": "ask_above cut_off_time loss_limit next_sale_days next_sale_fee work_from",
    },
    "0006": {
        "charge": f"{_TAXED} item shared_out",
        "late freight": "period",
        "owner invoice": "period",
        "part": _TAXED,
        "receipt": "foreign period settled tax_recovered",
        "sale": "buyer commission documents fees invoice_number margin_because period premium "
        "result shop_commission tax tax_code",
        "stock reversal": "period",
        "sublet": _TAXED,
        "supplier return": "period",
    },
    "0007": {"reversal": "words", "vehicle": "body_number odometer_words trim"},
}
FIELDS_BROUGHT: dict[str, dict[str, frozenset[str]]] = {
    revision: {kind: frozenset(names.split()) for kind, names in of_kind.items()}
    for revision, of_kind in _FIELDS.items()
}

SETTINGS_BROUGHT: dict[str, frozenset[str]] = {
    "0003": frozenset({"loss rule", "minimum charge", "shared supplies", "stock value"}),
    "0004": frozenset({"film floor", "film stands out"}),
    "0005": frozenset(
        {
            "bays", "closed days", "irreversible bar", "laying out", "limit case", "shop hours",
            "time case", "working days",
        }
    ),
    "0006": frozenset(
        {
            "drift a year", "insurance a year", "interest a year", "storage a day",
            "upkeep a day",
        }
    ),
    "0008": frozenset({"clock set right"}),
}  # fmt: skip

# What was worked out at posting: of line items, and of everything else.
_PRICED_BROUGHT = {
    "0003": frozenset({"measure", "quantity"}),
    "0006": frozenset({"tax", "tax_recovered", "period"}),
}
_BOOKED_FROM = "0006"


def later_than(revision: str) -> tuple[str, ...]:
    """List the schemas after one."""
    return REVISIONS[REVISIONS.index(revision) + 1 :]


def unknown_at(revision: str, payload: dict[str, Any], ref: str) -> Iterator[str]:
    """Name what a schema does not know of a record: the whole of it, or some of its fields.

    ``ref`` is the record's own name, which counts for a setting.
    """
    kind, later = payload["kind"], later_than(revision)
    held = {*payload["entry"], *payload["texts"]}
    for each in later:
        whole = kind in KINDS_BROUGHT[each]
        if whole or (kind == "setting" and ref in SETTINGS_BROUGHT.get(each, ())):
            yield "all of it"
            return
        yield from sorted(held & FIELDS_BROUGHT.get(each, {}).get(kind, frozenset()))
        yield from sorted(_worked_out(each, kind, payload))


def _worked_out(revision: str, kind: str, payload: dict[str, Any]) -> Iterator[str]:
    """Give what a schema brought of what was worked out at posting.

    The posting period says nothing where it is the one that older versions come to.
    """
    priced = payload["priced"]
    if kind not in LINE_KINDS:
        if revision == _BOOKED_FROM:
            yield from priced
        return
    for name in _PRICED_BROUGHT.get(revision, frozenset()) & set(priced):
        if name != "period" or priced[name] != _plain_period(kind, payload):
            yield name


def _plain_period(kind: str, payload: dict[str, Any]) -> str:
    """Give the posting period of a line as it was before months could be closed."""
    entry = decode_fields(KINDS[kind].entry, payload["entry"], {})
    return entry.period or month_of(document_day(entry))
