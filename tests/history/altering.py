"""Alterations of a page and of its proof, each with what the check must say of it."""

from __future__ import annotations

import base64
from collections.abc import Callable
from typing import Any

import rfc8785

from tests.history.proving import HEAD, OTHER_KEY, Proved, leaf_of, point, proved


def _exchange(old: str, new: str) -> Callable[[str], str]:
    """Make a change of the page's text, in the one place where it stands outside the proof."""

    def changed(text: str) -> str:
        shown, mark, rest = text.partition('<script type="application/json" id="proof">')
        assert old in shown
        return shown.replace(old, new, 1) + mark + rest

    return changed


def _swapped_rows(text: str) -> str:
    """Put the second row of the table before the first."""
    head, first, second = text.partition("</thead>")[0], *text.split('<tr data-record="')[1:3]
    rows = [f'<tr data-record="{row}' for row in (first, second.split("\n")[0] + "\n")]
    body = text[len(head) :]
    return head + body.replace("".join(rows), rows[1] + rows[0])


IN_PAGE = {
    "a word": (
        _exchange("bonnet</td>", "boot lid</td>"),
        "Record finding/1 shows “boot lid” where it says “bonnet”.",
    ),
    "a word of the title": (
        _exchange("Work history:  ", "Work story:  "),
        "Record title shows “Work story: Aldane Corriva” where it says",
    ),
    "a word taken out": (
        _exchange("fading", ""),
        "Record finding/2 shows “nothing” where it says “fading”.",
    ),
    "a word put in": (
        _exchange("fading", "fading<b>, slight</b>"),
        "Record finding/2 shows “, slight” where it says “nothing”.",
    ),
    "words of no record": (
        _exchange("<body>", "<body><p>Never raced.</p>"),
        "The text “Never raced.” belongs to no record.",
    ),
    "words under a place that there is not": (
        _exchange("<body>", '<body><p data-proof="constructor">Never raced.</p>'),
        "The text “Never raced.” belongs to no record.",
    ),
    "words only read without script": (
        _exchange("<body>", "<body><noscript>Never raced.</noscript>"),
        "The text “Never raced.” belongs to no record.",
    ),
    "words of an unknown record": (
        _exchange("<body>", '<body><p data-record="race">Never raced.</p>'),
        "The text “Never raced.” names the record race, which is not there.",
    ),
    "a record not shown": (
        _exchange(' data-record="end">', ' data-record="title">'),
        "Record end is not shown.",
    ),
    "rows in another order": (
        _swapped_rows,
        "Record finding/2 is shown where finding/1 belongs.",
    ),
    "a description of a picture": (
        _exchange('alt="the bonnet on', 'alt="the clean bonnet on'),
        "The description of the picture of record place/1 is “the clean bonnet on arrival”",
    ),
    "a picture of another record": (
        _exchange('data-picture="place/1"', 'data-picture="place/2"'),
        "The picture of record place/1 is not shown.",
    ),
    "a picture of none": (
        _exchange('data-picture="place/1" alt', "alt"),
        "The picture “the bonnet on arrival” is not of a record.",
    ),
    "base64 written in another way": (
        _exchange(";base64,iVBOR", ";base64, iVBOR"),
        "The picture of record place/1 is not the one that was signed.",
    ),
    "another picture for wide windows": (
        _exchange("<img ", '<img srcset="data:image/png;base64,AA 2x" '),
        "The page holds an element “img” that cannot be checked.",
    ),
    "another page within it": (
        _exchange("<body>", '<body><iframe srcdoc="Never raced."></iframe>'),
        "The page holds an element “iframe” that cannot be checked.",
    ),
    "another script": (
        _exchange("<body>", "<body><script>document.title = 'Never raced.';</script>"),
        "The page holds an element “script” that cannot be checked.",
    ),
    "a label of a cell": (
        _exchange('data-label="Finding">fading', 'data-label="Repaired">fading'),
        "In finding/2 a cell is labelled “Repaired” under the heading “Finding”.",
    ),
    "the code": (
        _exchange(f">{proved().code}<", ">0000-0000-0000-0000<"),
        f"The short code shown is 0000-0000-0000-0000; the records give {proved().code}.",
    ),
    "the fingerprint": (
        _exchange(f">{proved().fingerprint}<", "><"),
        f"The fingerprint shown is nothing; the key has {proved().fingerprint}.",
    ),
    "the state": (
        _exchange(">not checked<", ">unchanged<"),
        "Before the check the page said “unchanged” about it.",
    ),
}  # fmt: skip


def _record(made: Proved, name: str) -> dict[str, Any]:
    """Give the salted record of a name."""
    return next(each for each in made.records if each["record"]["name"] == name)


def _reworded(made: Proved) -> None:
    _record(made, "private")["record"]["data"]["odometer"] = "02237"


def _reworded_with_its_hash(made: Proved) -> None:
    _reworded(made)
    each = _record(made, "private")
    each["leaf"] = leaf_of(each).hex()


def _resalted(made: Proved) -> None:
    _record(made, "finding/2")["salt"] = "ab" * 32


def _dropped(made: Proved) -> None:
    made.records.remove(_record(made, "finding/2"))


def _dropped_unseen(made: Proved) -> None:
    made.records.remove(_record(made, "private"))


def _reordered(made: Proved) -> None:
    first, second = made.records[2:4]
    made.records[2:4] = [second, first]


def _doubled(made: Proved) -> None:
    made.records.append(_record(made, "end"))


def _swapped_pictures(made: Proved) -> None:
    made.pictures.reverse()


def _other_picture(made: Proved) -> None:
    made.pictures[1] = point("white")


def _other_files(made: Proved) -> None:
    made.proof["files"][0]["path"] = "evidence/002.jpg"


def _later(made: Proved) -> None:
    made.proof["head"]["made_on"] = "2026-06-20"


def _foreign(made: Proved) -> None:
    message = HEAD.encode() + b"\n" + rfc8785.dumps(made.proof["head"])
    made.proof["signature"] = base64.b64encode(OTHER_KEY.sign(message)).decode()


def _short_signature(made: Proved) -> None:
    made.proof["signature"] = base64.b64encode(b"1" * 63).decode()


def _unsigned_word(made: Proved) -> None:
    made.proof["note"] = "never raced"


def _numbered(made: Proved) -> None:
    made.proof["files"][0]["bytes"] = 3


IN_PROOF = {
    "a record": (_reworded, "Record private is not as it was: it does not lead to its hash."),
    "a record with its hash": (_reworded_with_its_hash, "do not lead to the root that was signed"),
    "a salt": (_resalted, "Record finding/2 is not as it was"),
    "a record dropped": (
        _dropped,
        "The text “2” names the record finding/2, which is not there.",
    ),
    "a record dropped that is not shown": (_dropped_unseen, "There are 7 records; 8 were signed."),
    "records in another order": (
        _reordered,
        "Record finding/2 belongs in place 4 and stands in place 3.",
    ),
    "a record twice": (_doubled, "Record end belongs in place 8 and stands in place 9."),
    "pictures swapped": (
        _swapped_pictures,
        "The picture of record place/1 is not the one that was signed.",
    ),
    "another picture": (
        _other_picture,
        "The picture of record place/2 is not the one that was signed.",
    ),
    "the files": (_other_files, "The list of evidence files is not the one that was signed."),
    "the head": (_later, "The signature is not by the key in this page, or not of this head."),
    "a foreign signature": (
        _foreign,
        "The signature is not by the key in this page, or not of this head.",
    ),
    "a short signature": (
        _short_signature,
        "The signature is not by the key in this page, or not of this head.",
    ),
    "what nobody signed": (_unsigned_word, "The proof in this page cannot be read"),
    "a number": (_numbered, "The proof in this page cannot be read"),
}
