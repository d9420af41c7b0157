"""What proves a posted line: its documents, and those of the batch or order it came from."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from typing import Any

from recondition.book import Connection, reading
from recondition.ledger.drafts import Stored
from recondition.ledger.lines import PartState, Reversal, Use

_SOURCES = ("receipt", "order")
BILLED_NOTE = "Billed is what a line charges its owner, on an invoice already or not yet."


def proofs(conn: Connection, lines: Iterable[Stored[Any]]) -> dict[str, str]:
    """Name what proves each line, by its id; a line that nothing proves is left out."""
    among = list(lines)
    named = {getattr(line.entry, field, None) for line in among for field in _SOURCES}
    behind = reading.stored(conn, "receipt", "order", ids=sorted(filter(None, named)))
    entries = (item.entry for item in (*among, *behind))
    documents_named = {each for entry in entries for each in getattr(entry, "documents", ())}
    refs = reading.names_of(conn, documents_named)
    sources = {item.id: (item.ref, _named(item.entry, refs)) for item in behind}
    found = {}
    for line in among:
        said = _named(line.entry, refs)
        for field in _SOURCES:
            source = sources.get(getattr(line.entry, field, None) or "")
            if source is not None:
                ref, documents = source[0], [each for each in source[1] if each not in said]
                said.append(f"{ref}: {', '.join(documents)}" if documents else ref)
        if said:
            found[line.id] = "; ".join(said)
    return found


def _named(entry: Any, refs: dict[str, str]) -> list[str]:  # noqa: ANN401 - any entry class
    """Give the refs of an entry's documents."""
    return [refs[each] for each in getattr(entry, "documents", ())]


def named_in(lines: Iterable[Stored[Any]]) -> set[str]:
    """Give the ids that a list of lines names: their findings, what they take back or do again."""
    found: set[str] = set()
    for line in lines:
        if isinstance(line.entry, Reversal):
            found.add(line.entry.reverses)
            continue
        found |= {link.finding for link in line.entry.links}
        if line.entry.rework is not None:
            found.add(line.entry.rework.of)
    return found


def marks(entry: Any, ref_of: Callable[[str | None], str]) -> str:  # noqa: ANN401 - any line entry
    """Say beside a line what was lost on it, which line it does again, why it was overridden."""
    said = []
    if getattr(entry, "part_state", None) is PartState.SPOILED:
        said.append("spoiled")
    if getattr(entry, "use", None) is Use.WASTED:
        said.append("wasted")
    if entry.rework is not None:
        said.append(f"does {ref_of(entry.rework.of)} again, {entry.rework.cause.value}")
    if getattr(entry, "override", None):
        said.append(f"overridden: {entry.override}")
    return f" ({'; '.join(said)})" if said else ""
