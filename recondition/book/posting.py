"""Posting: the one way anything enters a book.

Each draft is checked, priced, chained and stored with its texts, columns, relations and
shares, all inside the caller's transaction. Identity is the row's ``ref`` within its kind:
the same content again is already there; other content is refused for what is posted once
and becomes a new version of everything else.
"""

from __future__ import annotations

import os
import uuid
from collections.abc import Sequence
from dataclasses import dataclass, replace
from enum import StrEnum
from typing import Any

from sqlalchemy import Connection, func, insert, select, update

from recondition.book import files, projection
from recondition.book.admission import admit
from recondition.book.booking import paid_for
from recondition.book.context import Context
from recondition.book.engine import Book
from recondition.book.errors import BookInUse
from recondition.book.existing import Existing, differences, existing, made_with
from recondition.book.heads import Heads
from recondition.book.kinds import KINDS, subject_of
from recondition.book.moments import (
    CLOCK_SET_RIGHT,
    ClockBehind,
    hold_set_right,
    is_behind,
    set_right_from,
    to_say,
    went_back,
)
from recondition.book.owed import passed
from recondition.book.pricing import Pricer
from recondition.book.resting import Rests
from recondition.book.surfaces import Surfaces
from recondition.book.tables import (
    entity,
    record,
)
from recondition.book.telling import counted_of, late_of, left_out_of, said_of
from recondition.book.timesheet import Timesheet
from recondition.errors import Refused
from recondition.ledger import chain
from recondition.ledger.approvals import Approval
from recondition.ledger.codec import encode_fields, words_of
from recondition.ledger.documents import DocumentKind
from recondition.ledger.drafts import Draft
from recondition.ledger.jobsheet import Verdict
from recondition.ledger.lines import Labour, Reversal
from recondition.ledger.rules import KeyReused, PostedDiffers, StaysWithItsVehicle
from recondition.ledger.shared import SharedCharge, charges_of
from recondition.materials.stock import Movement

# In the order of reference; working that out at every flush takes longer than the rest of it.
_TABLES = tuple(record.metadata.sorted_tables)


# What may not be there twice for one day, or follows what is there.
_LOOKED_BACK = frozenset({"rate", "tax code", "account", "paid hours", "custody move"})


class Status(StrEnum):
    """What became of a draft."""

    NEW = "new"
    SAME = "already there"
    VERSION = "new version"
    REFUSED = "refused"


@dataclass(frozen=True, slots=True)
class Result:
    """A draft, what became of it, the record's id, and why where it was refused.

    ``told`` is what the rules of the trade say of it, ``reminders`` the cautions that apply.
    """

    draft: Draft
    status: Status
    record: str = ""
    refused: Refused | None = None
    told: tuple[str, ...] = ()
    reminders: tuple[str, ...] = ()


class Poster:
    """Posts drafts for one acting person inside one transaction."""

    def __init__(self, book: Book, conn: Connection, author: str) -> None:
        """Remember who acts; ``author`` is a person's id, not a name."""
        self._book = book
        self._conn = conn
        self._author = author
        self._context = Context(conn)
        self._times = Timesheet(conn, self._context)
        self._surfaces = Surfaces(conn, self._context, self._flush)
        self._verdict = Verdict()
        self._after: tuple[str, ...] = ()
        self._heads = Heads(conn, book.turn)
        self._rests = Rests(conn, book.turn)
        self._pricer = Pricer(conn, self._context, self._heads.hold, self._flush)
        self._rows: dict[str, list[dict[str, Any]]] = {}

    def post(self, draft: Draft) -> Result:
        """Post one draft. Raises the refusal instead of returning it."""
        (result,) = self.post_many([draft])
        if result.refused is not None:
            raise result.refused
        return result

    def post_many(self, drafts: Sequence[Draft]) -> list[Result]:
        """Post drafts of one kind in their order; a refused one leaves the others alone."""
        if not drafts:
            return []
        held, seen, results = self._existing(drafts), set[str](), list[Result]()
        self._times.expect(draft.entry for draft in drafts)
        for draft in drafts:
            if draft.ref in seen:
                self._flush()
                held |= self._existing([draft])
            seen.add(draft.ref)
            results.append(self._try(draft, held.get(draft.ref)))
        self._flush()
        self._heads.forget()
        return results

    def judge(self, entry: Any) -> Verdict:  # noqa: ANN401 - any entry class
        """Say what film, surfaces and the order of work have to say; raises what stops it."""
        verdict = self._surfaces.judge(entry)
        for stop in verdict.stops:
            raise stop
        return verdict

    def _try(self, draft: Draft, held: Existing | None) -> Result:
        """Post one draft or say why not."""
        try:
            return self._one(draft, held)
        except BookInUse:
            raise
        except Refused as refused:
            self._flush()
            self._pricer.forget()  # it may have taken from stock before it was refused
            return Result(draft, Status.REFUSED, refused=refused)

    def _one(self, draft: Draft, held: Existing | None) -> Result:
        """Decide whether a draft is new, the same, or another version, and write it."""
        incoming = self._incoming(draft)
        sha256 = incoming.sha256 if incoming else None
        before = self._with_key(draft, sha256)
        if before is not None:
            return before
        if held is None:
            record_id = self._write(draft, draft.id, 1, incoming)
            return self._result(draft, Status.NEW, record_id)
        differing = differences(self._context, replace(draft, said=frozenset()), held, sha256)
        if not differing:
            return Result(draft, Status.SAME, held.payload["record"])
        if KINDS[draft.kind].once:
            raise PostedDiffers(draft.kind, draft.ref, differing)
        if subject_of(draft.kind, held.id, draft.entry) != held.payload["subject"]:
            raise StaysWithItsVehicle(draft.ref, held.payload["subject"])
        record_id = self._write(draft, held.id, held.version + 1, incoming)
        self._after += left_out_of(held.payload, draft.entry)
        return self._result(draft, Status.VERSION, record_id)

    def _incoming(self, draft: Draft) -> files.Incoming | None:
        """Read the file that a draft brings, if any; a photograph must be a picture."""
        if draft.file is None:
            return None
        picture = getattr(draft.entry, "kind", None) is DocumentKind.PHOTOGRAPH
        return files.read_incoming(draft.file, picture=picture)

    def _result(self, draft: Draft, status: Status, record_id: str) -> Result:
        """Give what became of a draft, with what is to be said of it."""
        verdict = self._verdict
        told = (*verdict.told, *said_of(draft.entry), *self._after)
        return Result(draft, status, record_id, told=told, reminders=verdict.reminders)

    def _with_key(self, draft: Draft, sha256: str | None) -> Result | None:
        """Give what an earlier try with the same key and content made, if any.

        A retry may carry another ref, since the first one took it. Raises KeyReused where the
        key was used for something else.
        """
        if draft.key is None:
            return None
        if any(row["key"] == draft.key for row in self._rows.get("record", [])):
            raise KeyReused(draft.key)
        found = made_with(self._conn, self._context, draft.key)
        if found is None:
            return None
        kind, ref, made = found
        if kind != draft.kind:
            raise KeyReused(draft.key, f"{kind} {ref}")
        differing = differences(self._context, draft, made, sha256)
        if differing:
            raise KeyReused(draft.key, f"{kind} {ref}", differing)
        return Result(replace(draft, ref=ref), Status.SAME, made.payload["record"])

    def _write(
        self, draft: Draft, entity_id: str, version: int, incoming: files.Incoming | None
    ) -> str:
        """Chain one record and lay out its rows; they reach the store at the next flush."""
        self._rests.hold(draft.entry)
        subject = subject_of(draft.kind, entity_id, draft.entry)
        self._heads.hold(subject)
        fields = encode_fields(draft.entry)
        # Their own checks look at what stands before them in this batch.
        links = (getattr(draft.entry, field, None) for field in ("rework", "before"))
        if draft.kind in _LOOKED_BACK or any(links):
            self._flush()
        admit(self._context, draft, fields)
        if draft.kind != "movement":
            self._verdict = self.judge(draft.entry)
        if isinstance(draft.entry, Labour):
            self._times.admit(draft.entry)
        record_id = entity_id if version == 1 else uuid.uuid4().hex
        documents = self._context.commitments(getattr(draft.entry, "documents", ()))
        worked = self._pricer.work_out(record_id, draft.entry)
        if draft.kind != "movement":
            self._after = late_of(draft.entry, worked.priced)
        words = words_of(draft.entry) | {"ref": draft.ref}
        salts = {field: os.urandom(chain.SALT_BYTES) for field in words}
        texts = {f: chain.commitment(salts[f], words[f].encode()) for f in words}
        if incoming is not None:
            texts["file"] = self._keep(record_id, incoming)
        head = self._heads.hold(subject)
        payload = chain.Payload(
            subject=subject,
            sequence=head.count + 1,
            previous=head.hash,
            record=record_id,
            entity=entity_id,
            version=version,
            kind=draft.kind,
            author=self._author,
            recorded_at=self._moment(draft, subject),
            key=draft.key or uuid.uuid4().hex,
            entry=fields,
            texts=texts,
            priced=worked.priced,
            documents=documents,
        )
        for field, content in words.items():
            self._add("free_text", record_id=record_id, field=field, salt=salts[field],
                      content=content)  # fmt: skip
        self._lay_out(payload, draft.ref, worked.original)
        self._context.forget(draft.kind)
        self._surfaces.forget(draft.kind)
        self._note(record_id, draft)
        if worked.movement is not None:
            unit = self._context.product(worked.movement.product).unit
            self._after += counted_of(draft.entry, worked.movement, unit)
            self._write_movement(worked.movement, f"{draft.kind}:{draft.ref}")
        if isinstance(draft.entry, SharedCharge):
            self._share_out(draft)
        if isinstance(draft.entry, Approval):
            self._flush()
            self._after += passed(self._conn, draft.entry)
        return record_id

    def _moment(self, draft: Draft, subject: str) -> str:
        """Give when a record is made, ISO 8601. Raises ClockBehind, NotThatMoment."""
        now = self._book.now().isoformat(timespec="microseconds")
        last = self._heads.last(subject)
        if (draft.kind, draft.ref) == ("setting", CLOCK_SET_RIGHT):
            hold_set_right(set_right_from(draft.entry.value), self._newest(), now)
            return now
        if not last or not went_back(last, now):
            return now
        set_right = self._context.settings().clock_set_right
        if is_behind(last, now, set_right, _said_at(self._conn)):
            say = to_say(self._newest(), set_right)
            raise ClockBehind(now, last, _named(self._context, subject), say)
        return now

    def _newest(self) -> str:
        """Give when the newest record of the whole book was made, '' where there is none."""
        self._flush()
        return self._conn.execute(select(func.max(record.c.recorded_at))).scalar() or ""

    def _share_out(self, draft: Draft) -> None:
        """Post the charge of each vehicle that a shared one is for."""
        shared: SharedCharge = draft.entry
        names = [self._context.ref(vehicle) for vehicle in shared.vehicles]
        self._flush()
        paid = dict(zip(names, paid_for(self._conn, shared.vehicles), strict=True))
        for name, charge in charges_of(shared, names, paid):
            made = Draft(
                id=uuid.uuid4().hex, kind="charge", ref=f"{draft.ref}/{name}", entry=charge
            )
            if self._existing([made]):
                raise PostedDiffers(made.kind, made.ref, ["it would be a share of " + draft.ref])
            self._write(made, made.id, 1, None)

    def _write_movement(self, movement: Movement, ref: str) -> None:
        """Chain what a record did to stock, under that record's own name."""
        made = Draft(id=uuid.uuid4().hex, kind="movement", ref=ref, entry=movement)
        self._write(made, made.id, 1, None)

    def _note(self, record_id: str, draft: Draft) -> None:
        """Keep hours and surfaces true while a batch is posted."""
        entry = draft.entry
        self._surfaces.note(draft.ref, entry)
        if isinstance(entry, Labour):
            self._times.note(record_id, entry)
        elif isinstance(entry, Reversal):
            self._times.forget()

    def _lay_out(self, payload: chain.Payload, ref: str, original: dict[str, Any] | None) -> None:
        """Add a payload's rows to those waiting to be written."""
        text = chain.canonical(payload)
        plain = chain.read(text)
        digest = chain.digest(text)
        self._heads.grow(payload, digest)
        self._add("record", **projection.record_row(plain, text, digest))
        table, row = projection.table_row(plain, original)
        self._add(table.name, **row)
        for row in projection.relation_rows(plain):
            self._add("relation", **row)
        for row in projection.share_rows(plain):
            self._add("share", **row)
        if payload.version == 1:
            self._add("entity", id=payload.entity, kind=payload.kind, ref=ref,
                      subject=payload.subject, current=payload.record)  # fmt: skip
        else:
            self._flush()
            self._conn.execute(
                update(entity).where(entity.c.id == payload.entity).values(current=payload.record)
            )

    def _keep(self, record_id: str, incoming: files.Incoming) -> str:
        """Note a file to be kept when the transaction ends well; give its commitment."""
        salt = os.urandom(chain.SALT_BYTES)
        self._add("stored_file", record_id=record_id, salt=salt, sha256=incoming.sha256,
                  size_bytes=len(incoming.content), media_type=incoming.media_type)  # fmt: skip
        folder = self._book.files
        self._conn.info.setdefault("before_commit", []).append(lambda: files.keep(folder, incoming))
        return chain.commitment(salt, incoming.content)

    def _existing(self, drafts: Sequence[Draft]) -> dict[str, Existing]:
        """Read what the book holds under the refs of some drafts of one kind."""
        return existing(self._conn, self._context, drafts[0].kind, drafts)

    def _add(self, table: str, **row: Any) -> None:  # noqa: ANN401 - a row of any table
        """Put one row among those waiting."""
        self._rows.setdefault(table, []).append(row)

    def _flush(self) -> None:
        """Write the waiting rows and the heads they lead to."""
        for table in _TABLES:
            rows = self._rows.pop(table.name, [])
            if rows:
                self._conn.execute(insert(table), rows)
        self._heads.write()


def _said_at(conn: Connection) -> str:
    """Give when it was said until when clocks ran ahead; '' where it was not."""
    query = (
        select(record.c.recorded_at)
        .join(entity, entity.c.current == record.c.id)
        .where(entity.c.kind == "setting", entity.c.ref == CLOCK_SET_RIGHT)
    )
    return conn.execute(query).scalar() or ""


def _named(context: Context, subject: str) -> str:
    """Name a chain in the user's words."""
    kind, _, name = subject.partition(":")
    return f"{kind} {context.ref(name)}" if name else "the shop itself"
