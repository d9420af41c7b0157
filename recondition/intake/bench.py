"""What the bench records in a few values: a use from a labelled container, a count by weight.

The container says which product and batch it is; the open clock of whoever acts says which
vehicle, findings, panel and operation it is for. What is said besides goes before both.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from typing import TYPE_CHECKING, Any

from recondition.amounts import Quantity
from recondition.book import reading
from recondition.book.again import again
from recondition.book.clocks import open_clock
from recondition.book.posting import Poster, Result, Status
from recondition.book.reversing import WhyNeeded
from recondition.book.shelf import on_hand_of
from recondition.errors import Refused
from recondition.intake.form import author_id, draft_of, one_row
from recondition.intake.identity import UnknownRef, nearest
from recondition.ledger.drafts import Draft
from recondition.materials import measuring
from recondition.materials.counts import added
from recondition.materials.measuring import Way

if TYPE_CHECKING:
    from recondition.book import Connection
    from recondition.book.engine import Book
    from recondition.ledger.drafts import Stored


class WhichVehicle(Refused):
    """A use for no vehicle that could be told."""

    exit_status = 2

    def __init__(self, person: str) -> None:
        """Name who acts."""
        super().__init__(
            f"the use names no vehicle, and {person} has no clock running",
            todo="Give --vehicle, or start a clock; --for-the-shop where it is for none.",
        )


class NotAWeighing(Refused):
    """A container and its weight that are not written as one."""

    exit_status = 2

    def __init__(self, found: str) -> None:
        """Show what was given."""
        super().__init__(f"{found!r} is not a weighing", todo="Write LABEL=GRAMS, as K-07=701.9.")


class WeighedTwice(Refused):
    """One container stands twice in a count."""

    def __init__(self, label: str) -> None:
        """Name the container."""
        super().__init__(f"container {label} is weighed twice", todo="Give each container once.")


class HoldsAnotherProduct(Refused):
    """A container is weighed for the count of a product that it does not hold."""

    def __init__(self, label: str, holds: str, wanted: str) -> None:
        """Name the container, what it holds and what is counted."""
        super().__init__(
            f"container {label} holds {holds}, and {wanted} is counted",
            todo="Leave it out, or count the other product.",
        )


class RestNeeded(Refused):
    """A container is thrown away and nothing says how much was left in it."""

    exit_status = 2

    def __init__(self, label: str) -> None:
        """Name the container."""
        super().__init__(
            f"how much was left in {label} is not known",
            todo="Give --rest, such as --rest '12 ml'; weigh it if you can.",
        )


class NothingLeft(Refused):
    """A reusable that has had all its expected uses already."""

    def __init__(self, label: str, expected: int) -> None:
        """Name the container and its uses."""
        super().__init__(
            f"{label} has had its {expected} expected uses: nothing is left to waste",
            todo="Note the day it was thrown away: 'recondition stock container', --emptied-on.",
        )


@dataclass(frozen=True, slots=True)
class Used:
    """A use that was posted, and what it comes to in words."""

    result: Result
    words: str


def use(  # noqa: PLR0913 - each is a separate choice of the caller
    book: Book,
    given: Mapping[str, str],
    *,
    author_ref: str,
    ref: str | None = None,
    key: str | None = None,
    priced: bool = True,
) -> Used:
    """Post one use; ``given`` are texts by field of the sheet consumables.

    Its words name the cost where ``priced``.
    The same again under the same ``key`` is there already, whatever clock runs by then.
    Raises WhichVehicle, UnknownRef and what posting a row raises.
    """
    with book.reading() as conn:
        values = _known(conn, given, author_ref, key)
    result = one_row(
        book, "consumables", values, author_ref=author_ref, ref=ref, key=key, said=given
    )
    if result.refused is not None:
        raise result.refused
    with book.reading() as conn:
        return Used(result, _said(conn, result, priced=priced))


def _known(
    conn: Connection, given: Mapping[str, str], person: str, key: str | None = None
) -> dict[str, str]:
    """Complete a use from its container or mixed batch, and from the clock that runs."""
    values = dict(given)
    for kind, field in (("container", "container"), ("mixed batch", "mixed")):
        if field in values:
            holder = _there(conn, kind, values[field]).entry
            named = reading.names_of(conn, filter(None, (holder.product, holder.receipt)))
            values.setdefault("product", named[holder.product])
            if holder.receipt:
                values.setdefault("receipt", named[holder.receipt])
    for_shop = values.pop("for_shop", "")
    if for_shop:
        values.setdefault("unlinked", "overhead")
    elif "vehicle" not in values:
        values = _on(conn, _work_of(conn, person, key)) | values
    if "product" in values:
        entry = _there(conn, "product", values["product"]).entry
        values.setdefault("words", entry.material_type)
        if values.get("quantity", "")[-1:].isdigit():
            values["quantity"] += f" {entry.unit}"
    return values


def _work_of(conn: Connection, person: str, key: str | None) -> Any:  # noqa: ANN401 - line or clock
    """Give what a use is for: that of an earlier try with its key, else of the open clock.

    Raises WhichVehicle.
    """
    before = reading.made_with(conn, key) if key else None
    if before is not None and before.kind == "consumable" and before.entry.vehicle:
        return before.entry
    who = reading.ids_by_ref(conn, "person", [person]).get(person)
    clock = open_clock(conn, who) if who else None
    if clock is None:
        raise WhichVehicle(person)
    return clock.entry


def _on(conn: Connection, entry: Any) -> dict[str, str]:  # noqa: ANN401 - line or clock
    """Say what a line or a clock is on, as texts."""
    findings = [link.finding for link in entry.links]
    refs = reading.names_of(conn, filter(None, (entry.vehicle, entry.candidate, *findings)))
    links = "; ".join(f"{refs[link.finding]} {link.weight:f}" for link in entry.links)
    said = {
        "vehicle": refs[entry.vehicle],
        "links": links,
        "unlinked": entry.unlinked.value if entry.unlinked else "",
        "candidate": refs[entry.candidate] if entry.candidate else "",
        "panel": entry.panel or "",
        "operation": entry.operation or "",
    }
    return {field: text for field, text in said.items() if text}


def _there(conn: Connection, kind: str, ref: str) -> Stored[Any]:
    """Give a record by its ref, or refuse with the names that are near. Raises UnknownRef."""
    found = reading.ids_by_ref(conn, kind, [ref])
    if ref not in found:
        raise UnknownRef(kind, ref, nearest(ref, reading.all_refs(conn, kind)))
    return reading.stored(conn, kind, ids=[found[ref]])[0]


def _said(conn: Connection, result: Result, *, priced: bool = True) -> str:
    """Tell what a use came to: amount with its doubt, cost, and what is left."""
    line = reading.one(conn, "consumable", result.draft.ref)
    entry, found = line.entry, line.priced
    if found is None or found.quantity is None:
        message = "a consumable has an amount"
        raise ValueError(message)
    doubt = found.measure.uncertainty if found.measure else None
    parts = [f"{found.quantity}" + (f" ± {doubt}" if doubt else "")]
    if entry.vehicle:
        parts.append(f"on {reading.names_of(conn, [entry.vehicle])[entry.vehicle]}")
    if priced:
        parts.append(f"{found.cost} {found.cost.currency}")
    if entry.price is None:
        parts.append(f"{on_hand_of(conn, entry.product)} {found.quantity.unit} left in stock")
    way = found.measure.way.value if found.measure else entry.standing.value
    return f"{way}: " + ", ".join(parts)


@again
def scrap(  # noqa: PLR0913 - each is a separate choice of the caller
    book: Book,
    label: str,
    why: str,
    *,
    rest: str | None,
    given: Mapping[str, str],
    author_ref: str,
    key: str | None = None,
    priced: bool = True,
) -> Used:
    """Throw a container away with what is left in it: a torn pad, a bottle past its life.

    The rest of a numbered reusable is its expected uses less the standing uses that name it;
    of anything else, ``rest`` says how much. It is wasted, and lands where the loss rule or
    ``given`` says, on the day that it says, else today. The container is emptied. The same again
    under the same ``key`` is there already. Its words name the cost where ``priced``.
    Raises RestNeeded and what a use raises.
    """
    if not why.strip():
        raise WhyNeeded
    with book.writing() as conn:
        holder = _there(conn, "container", label)
        product = reading.stored(conn, "product", ids=[holder.entry.product])[0]
        uses = _uses(conn, holder, key)
        left = rest or _left_of_reusable(uses, holder, product)
        last = _last_use(uses)
        values = {"container": label, "quantity": left, "use": "wasted", "private_note": why}
        if "vehicle" not in given and "for_shop" not in given and last is not None:
            findings = [link.finding for link in last.entry.links]
            refs = reading.names_of(conn, [last.entry.vehicle, *findings])
            values["vehicle"] = refs[last.entry.vehicle]
            links = "; ".join(refs[link.finding] for link in last.entry.links)
            values |= {"links": links} if links else {"unlinked": last.entry.unlinked.value}
        values = _known(conn, {"work_date": _today(book)} | values | dict(given), author_ref, key)
        waste = draft_of(conn, "consumables", values, key=key)
        said = {"container", "use", "private_note", *given, *(("quantity",) if rest else ())}
        waste = replace(waste, said=frozenset(said - {"for_shop"}))
        poster = Poster(book, conn, author_id(conn, waste, author_ref))
        result = poster.post(waste)
        if result.status is Status.NEW:
            emptied = replace(holder.entry, emptied_on=waste.entry.work_date)
            poster.post(Draft(id=holder.id, kind="container", ref=label, entry=emptied))
    with book.reading() as conn:
        return Used(result, _said(conn, result, priced=priced))


def _today(book: Book) -> str:
    """Give the day by the book's clock, as a text."""
    return book.now().astimezone().date().isoformat()


def _uses(conn: Connection, holder: Stored[Any], key: str | None) -> list[Stored[Any]]:
    """List the standing uses that name a container, without what an earlier try entered."""
    before = reading.made_with(conn, key) if key else None
    return [
        line
        for line in reading.lines(conn)
        if line.kind == "consumable" and line.entry.container == holder.id and not line.reversed_by
        if before is None or line.id != before.id
    ]


def _last_use(uses: Sequence[Stored[Any]]) -> Stored[Any] | None:
    """Give the newest use of a container that was for a vehicle."""
    found = [line for line in uses if line.entry.vehicle]
    return max(found, key=lambda line: (line.entry.work_date, line.recorded_at), default=None)


def _left_of_reusable(
    uses: Sequence[Stored[Any]], holder: Stored[Any], product: Stored[Any]
) -> str:
    """Say how many uses are left of a numbered pad or cloth. Raises RestNeeded, NothingLeft."""
    expected = product.entry.expected_uses
    if expected is None or product.entry.unit != "use":
        raise RestNeeded(holder.ref)
    used = added(
        line.priced.quantity.number
        for line in uses
        if line.priced is not None and line.priced.quantity is not None
    )
    left = Decimal(expected) - used
    if left <= 0:
        raise NothingLeft(holder.ref, expected)
    return f"{left:f} use"


def count_by_weight(  # noqa: PLR0913 - each is a separate choice of the caller
    book: Book,
    product_ref: str,
    weights: Sequence[str],
    *,
    why: str,
    day: str | None,
    author_ref: str,
    key: str | None = None,
) -> list[str]:
    """Post the count of a product from the gross weights of its containers, in grams.

    ``weights`` are ``LABEL=GRAMS``. Gives what to say. All of them are one count: the same again
    under the same ``key`` is there already. Raises NotAWeighing, WeighedTwice,
    HoldsAnotherProduct and what weighing and posting name.
    """
    with book.reading() as conn:
        product = _there(conn, "product", product_ref)
        total, seen, shown = Decimal(0), set[str](), list[str]()
        for each in weights:
            label, gross = _weighing(each)
            if label in seen:
                raise WeighedTwice(label)
            seen.add(label)
            holder = _there(conn, "container", label).entry
            if holder.product != product.id:
                inside = reading.stored(conn, "product", ids=[holder.product])[0].entry.name
                raise HoldsAnotherProduct(label, inside, product.entry.name)
            net = measuring.net_of(product.entry, gross, holder.tare)
            total += net
            shown.append(f"{label}: {gross} gross, {holder.tare} tare, {net} net")
        before = on_hand_of(conn, product.id)
    unit = product.entry.unit
    values = {
        "product": product_ref,
        "counted": f"{total:f} {unit}",
        "words": why or "counted by weight",
        "private_note": "; ".join(shown),
        "work_date": day or _today(book),
        "measure.way": Way.WEIGHED.value,
    }
    said = [field for field in values if day or field != "work_date"]
    result = one_row(book, "counts", values, author_ref=author_ref, key=key, said=said)
    if result.refused is not None:
        raise result.refused
    if result.status is Status.SAME:
        there = f"count {result.draft.ref}: already there, {total:f} {unit} on the shelf"
        return [*shown, there]
    difference = total - before
    agrees = f"differs by {difference:+f} {unit}" if difference else "agrees with stock"
    return [*shown, f"count {result.draft.ref}: {total:f} {unit} on the shelf, {agrees}"]


def _weighing(text: str) -> tuple[str, Quantity]:
    """Read ``K-07=701.9``. Raises NotAWeighing."""
    label, _, gross = text.partition("=")
    try:
        grams = Quantity.of(gross.strip().removesuffix("g").strip(), "g")
    except Refused:
        raise NotAWeighing(text) from None
    if not label.strip():
        raise NotAWeighing(text)
    return label.strip(), grams
