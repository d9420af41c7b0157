"""What a line item must satisfy before it is posted, apart from the shape of its fields."""

from __future__ import annotations

from collections.abc import Sequence

from recondition.amounts.documents import check_foreign
from recondition.errors import Refused
from recondition.ledger.codec import Plain
from recondition.ledger.lines import Charge, Entered, LineKind, Part, Sublet, Unlinked
from recondition.ledger.taxes import TaxWithoutCode


class LinkNeeded(Refused):
    """A line neither links to a finding nor says why not."""

    def __init__(self) -> None:
        """List the reasons that are allowed."""
        super().__init__(
            "the line names no finding and no reason for naming none",
            todo="Name a finding, or give one of: " + ", ".join(Unlinked) + ".",
        )


class LinkAndReason(Refused):
    """A line links to findings and also says that it links to none."""

    def __init__(self, reason: str) -> None:
        """Name the reason that contradicts the links."""
        super().__init__(
            f"the line names findings and also says it serves none ({reason})",
            todo="Leave out one of the two.",
        )


class FindingOfAnotherVehicle(Refused):
    """A line of one vehicle links to a finding of another."""

    def __init__(self, finding: str) -> None:
        """Name the finding."""
        super().__init__(
            f"finding {finding} belongs to another vehicle",
            todo="Post one line for each vehicle.",
        )


class HoldingFixed(Refused):
    """Another holding for a vehicle that has posted lines."""

    def __init__(self, ref: str, holding: str) -> None:
        """Name the vehicle and whose it is."""
        super().__init__(
            f"vehicle {ref} is {holding} and has posted lines, so that is fixed",
            todo="Where it changes hands, enter it anew under another stock number, with what was "
            "paid for it.",
        )


class NoRate(Refused):
    """A person has no rate on the day of the work."""

    def __init__(self, person: str, day: str) -> None:
        """Name person and day."""
        super().__init__(
            f"{person} has no cost rate that holds on {day}",
            todo="Add one to the sheet 'rates' (or 'recondition person rate') and try again.",
        )


class SecondFromOneDay(Refused):
    """A person, a tax code or a kind of posting would have two rows from one day, or one week."""

    def __init__(self, what: str, day: str, other: str) -> None:
        """Say what has which row, the day and the row that is there."""
        super().__init__(
            f"{what} from {day} already ({other})",
            todo=f"Enter the right one under the ref {other}, or for another day.",
        )


class ClockRunsAlready(Refused):
    """A second clock of one person, while another is open."""

    def __init__(self, person: str, ref: str) -> None:
        """Name the person and the clock that is open."""
        super().__init__(
            f"{person} has clock {ref} open",
            todo=f"Stop it first ('recondition clock stop', with --at where it was forgotten); "
            f"'recondition clock show' says what {ref} is on.",
        )


class ReworkOfAnotherVehicle(Refused):
    """Rework on one vehicle of work that was done on another."""

    def __init__(self, ref: str) -> None:
        """Name the line of the first work."""
        super().__init__(
            f"line {ref} is of another vehicle, and its work cannot be done again on this one",
            todo="Name the line of the first work on this vehicle.",
        )


class PriceBesideStock(Refused):
    """A price on a product that is kept in stock, which has its value already."""

    def __init__(self, product: str) -> None:
        """Name the product."""
        super().__init__(
            f"{product} is kept in stock, and the line gives a price of its own",
            todo="Leave the price empty: the line costs what stock is worth. Enter what was "
            "bought as a receipt.",
        )


class NoChargeOutRate(Refused):
    """Labour on an owner's vehicle by a person without a charge-out rate."""

    def __init__(self, person: str, day: str) -> None:
        """Name person and day."""
        super().__init__(
            f"{person} has no charge-out rate on {day}, and the vehicle is consigned",
            todo="Add the rate, or say what the owner is billed for this line.",
        )


class BilledOnOwnStock(Refused):
    """A billed amount on a vehicle that belongs to the shop."""

    def __init__(self) -> None:
        """Say that there is nobody to bill."""
        super().__init__(
            "the line says what an owner is billed, but the vehicle is the shop's own stock",
            todo="Leave the billed amount empty.",
        )


class AlreadyReversed(Refused):
    """A line that was reversed before."""

    def __init__(self, ref: str, by: str) -> None:
        """Name the line and its reversal."""
        super().__init__(
            f"line {ref} was reversed already, by {by}", todo="Nothing is left to reverse."
        )


class ReversalOfReversal(Refused):
    """A reversal is not itself reversed."""

    def __init__(self, ref: str) -> None:
        """Name the reversal."""
        super().__init__(
            f"{ref} is itself a reversal", todo="Post the line again as a new one instead."
        )


_TAKEN_BACK_BY: dict[str, str] = {
    "receipt": "recondition stock reverse",
    "late freight": "recondition stock reverse",
    "supplier return": "recondition stock reverse",
    **dict.fromkeys(
        ("supplier invoice", "payment", "sale", "owner invoice", "value test"),
        "recondition post undo",
    ),
    **{kind.value: "recondition post reversal" for kind in LineKind},
}


class PostedDiffers(Refused):
    """What is posted once comes again under the same ref with other content."""

    def __init__(self, kind: str, ref: str, differences: list[str]) -> None:
        """Show both contents, field by field."""
        what = "line" if kind in tuple(LineKind) else kind
        command = _TAKEN_BACK_BY.get(kind)
        back = f"reverse it ('{command} {ref} WHY') and" if command else "leave it, and"
        super().__init__(
            f"{what} {ref} is posted already with other content: " + "; ".join(differences),
            todo=f"What is posted is not changed: {back} post the right one under a new ref.",
        )


class StaysWithItsVehicle(Refused):
    """A new version or a reversal of a record would go to another vehicle, product or the shop."""

    def __init__(self, ref: str, chain: str = "vehicle:") -> None:
        """Name the record; ``chain`` is the subject that it belongs to."""
        what = "product" if chain.startswith("product:") else "vehicle"
        super().__init__(
            f"{ref} is on record for another {what}, and a record stays in its own chain",
            todo=f"Name its own {what}, or enter it under a new ref for the right one; the old "
            "one stays readable.",
        )


class KeyReused(Refused):
    """An idempotency key that was used for something else."""

    def __init__(self, key: str, made: str = "", differing: Sequence[str] = ()) -> None:
        """Name the key, what was made with it, and in what that differs, where that is known."""
        self.made, self.differing = made or "another record", tuple(differing)
        words = [f"the key {key!r} was used for {self.made}", *differing]
        super().__init__("; ".join(words), todo="Use a fresh key for a new entry.")


class OtherCurrency(Refused):
    """An amount in another currency than the book's."""

    def __init__(self, found: str, home: str) -> None:
        """Name both currencies."""
        super().__init__(
            f"the amount is in {found}, the book is kept in {home}",
            todo="Give the amount in the home currency; the foreign one stays on the document.",
        )


def check_line(entry: Entered, *, consigned: bool) -> None:
    """Refuse a line that links badly, bills nobody, or has tax without a code.

    Raises also what ``check_foreign`` names.
    """
    if isinstance(entry, Part | Sublet | Charge):
        if entry.tax is not None and entry.tax_code is None:
            raise TaxWithoutCode
        check_foreign(entry.price, entry.foreign)
    if not entry.links and entry.unlinked is None:
        raise LinkNeeded
    if entry.links and entry.unlinked is not None:
        raise LinkAndReason(entry.unlinked.value)
    if entry.billed is not None and not consigned:
        raise BilledOnOwnStock


def check_currency(plain: Plain, home: str) -> None:
    """Refuse an entry with any amount in a foreign currency. Raises OtherCurrency.

    Columns hold minor units of the home currency, so no other amount may reach them; what a
    document has in its own currency stands under ``foreign`` with its rate.
    """
    match plain:
        case {"minor": str(), "currency": str(found)} if found != home:
            raise OtherCurrency(found, home)
        case dict():
            for name, value in plain.items():
                if name != "foreign":
                    check_currency(value, home)
        case list():
            for value in plain:
                check_currency(value, home)
