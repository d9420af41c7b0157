"""What the owner of a vehicle allowed, and was asked: approvals, change requests, invoices."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from enum import StrEnum

from recondition.amounts import Money
from recondition.fields import Id, Words


class How(StrEnum):
    """How an approval was given."""

    SIGNATURE = "signature"
    MESSAGE = "message"
    IN_PERSON = "in person"
    TELEPHONE = "telephone"


class Answer(StrEnum):
    """What the owner said."""

    APPROVED = "approved"
    DECLINED = "declined"


@dataclass(frozen=True, slots=True, kw_only=True)
class ChangeRequest:
    """Work found on the way that the owner is asked about, before it is done."""

    vehicle: Id
    asked_on: date
    candidates: tuple[Id, ...]
    amount: Money
    words: Words
    limit: Money | None = None
    documents: tuple[Id, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Approval:
    """The owner's answer on exactly these pieces of candidate work.

    ``amount`` is what was approved for them. ``limit`` is what may be billed for the vehicle
    in all, not to be exceeded; the newest approval that names one counts. ``request`` is the
    change request it answers.
    """

    vehicle: Id
    answered_on: date
    candidates: tuple[Id, ...]
    answer: Answer = Answer.APPROVED
    amount: Money
    how: How
    by: Id
    limit: Money | None = None
    request: Id | None = None
    words: Words | None = None
    documents: tuple[Id, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class OwnerInvoice:
    """That certain posted lines were billed to the owner; a line is billed once."""

    vehicle: Id
    issued_on: date
    lines: tuple[Id, ...]
    total: Money
    period: str | None = None
