"""Words that name a command or one of its options, as a page says them: by a place of the pages."""

from __future__ import annotations

import re

AT_THE_MACHINE = "a command at the machine that keeps the book"
_UNDO = "'Take it back' on its own page"

# What does on the pages what a command does, by the command's words.
PLACES = {
    "account list": "Books",
    "books journal": "the journal, under Books,",
    "books settlement": "its settlement, under Books,",
    "check": "a check at the machine that keeps the book",
    "clock drop": "'Drop it' on the bench",
    "clock show": "your clock on the bench",
    "clock start": "'Start clock' on the bench",
    "clock stop": "'Stop' on the bench",
    "decide": "the vehicle's plan",
    "export columns": "the form of downloads, under Books,",
    "history let-pass": "'It may stand, because' on its work history",
    "inspect enter": "the bench or the form 'findings'",
    "invoice add": "the form 'supplier invoices'",
    "login anew": "'Give a new one-time token' under Logins",
    "login list": "Logins",
    "order add": "the form 'orders'",
    "owner approve": "the form 'approvals'",
    "owner ask": "the form 'change requests'",
    "period list": "Books",
    "person rate": "the form 'rates'",
    "post labour": "the form 'labour'",
    "post list": "the vehicle's ledger",
    "post reversal": _UNDO,
    "post undo": _UNDO,
    "product add": "the form 'products'",
    "rules list": "the list of rules at the machine that keeps the book",
    "serve": "the pages",
    "stock container": "the form 'containers'",
    "stock list": "Stock",
    "stock receive": "the form 'receipts'",
    "stock reverse": _UNDO,
    "tax add": "the form 'tax codes'",
    "terms set": "the form 'terms'",
    "vehicle add": "the form 'vehicles'",
}  # fmt: skip
# Turns that are said otherwise where there is a form and not a line to type.
_TURNS = (
    ("with --at 17:30 or --at 2031-03-04T17:30; --at with the time now if", "or the time now if"),
    (", with --at where it was forgotten", ", with the time where it was forgotten"),
    (" (--charge-out-rate)", ""),
    ("Add one to the sheet 'rates' (or 'recondition person rate') and try again",
     "A dealer or bookkeeper enters one in the form 'rates'; then try again"),
    (" ('--billed-to-owner 0')", ""),
    (", --emptied-on", ""),
    ("Say who acts with --as, or put", "Put"),
    ("name who exports with --as", "say so on the form of downloads"),
    ("or the same --key", "from the same form"),
    ("'import --blank' writes such a workbook", "the empty workbook on this page is such a one"),
    ("; 'plan --corrected' uses it", ""),
    (", or run 'recondition login anew NAME'", ""),
    ("; 'recondition rules check STOCK' lists them", ""),
    (" (recondition restore)", ""),
    ("Give --rest, such as --rest '12 ml'", "Say what is left, such as 12 ml"),
    ("Give --vehicle, or start a clock; --for-the-shop where it is for none",
     "Name the vehicle, or start a clock; say so where it is for the shop"),
    ("such as --zone +02:00", "such as +02:00"),
    ("a new one-time token: recondition login anew NAME.", "a new one-time token, under Logins."),
    (": recondition login add NAME ROLE --person REF.", ", under Logins."),
)  # fmt: skip
_QUOTED = re.compile(r"'recondition ([a-z-]+)(?: ([a-z-]+))?[^']*'")
# What is said of a workbook's rows, said of what is in the book.
_ROWS = (
    (re.compile(r"is not on the sheet ([a-z ]+), nor in the book"),
     r"is not among the \1 in the book"),
    (re.compile("Correct it, or add that row"), "Correct it, or enter it first"),
    (re.compile("in the book or on the sheet people"), "in the book"),
    (re.compile("its name, with the folder as seen from this workbook"),
     "at most 64 MB; it is kept with the book as it is"),
)  # fmt: skip
_BARE = re.compile(r": recondition (?:book set|person erase-text)\b(?:[^.']|'[^']*'|\.(?=\d))*")
_OPTION = re.compile(r"(?<![\w-])--([a-z]+(?:-[a-z]+)*)")


def on_page(text: str) -> str:
    """Say by a place of the pages what a sentence says by a command, or by rows of a workbook.

    A command that the pages have no place for is named as one of the machine that keeps the book;
    of an option its plain words stay.
    """
    for of_rows, said in _ROWS:
        text = of_rows.sub(said, text)
    if "recondition" not in text and "--" not in text:
        return text
    for typed, said in _TURNS:
        text = text.replace(typed, said)
    text = _QUOTED.sub(_place, text)
    text = _BARE.sub(f": use {AT_THE_MACHINE}", text)
    if _OPTION.fullmatch(text):
        return text[2:].replace("-", " ")
    return _OPTION.sub(lambda found: f"'{found[1].replace('-', ' ')}'", text)


def _place(found: re.Match[str]) -> str:
    """Name the place of one command, with a capital where it begins a sentence."""
    first, second = found[1], found[2]
    said = PLACES.get(f"{first} {second}") or PLACES.get(first) or AT_THE_MACHINE
    begins = found.start() == 0 or found.string[: found.start()].endswith(". ")
    return said[0].upper() + said[1:] if begins else said
