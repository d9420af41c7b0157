"""What is said of proofs: on the sheet, by the page about itself, and by a check of the files.

The other half of ``wording``; another language translates both.
"""

from __future__ import annotations

VERIFY = (
    (
        "Every record on this sheet is hashed, the hashes are joined into one (a Merkle tree after "
        "RFC 6962), and that one is signed (Ed25519, RFC 8032). The short code is the beginning "
        "of the hash of what was signed: a printed page with it can be held against the files "
        "at any later time, and no service has to be running for that."
    ),
    (
        "The program recondition checks the files without a connection: recondition history "
        "verify, followed by the folder, the page or the JSON. Give it the fingerprint of the "
        "maker's key, got from the maker in some other way than with these files."
    ),
    (
        "A check that fits proves that these bytes are those which the holder of that key signed. "
        "It does not prove that the vehicle is as described, who held the gauge, or when: for "
        "that there are pictures with the chassis number in the frame, papers of third parties, "
        "and looking at the vehicle. The originals of the files can be asked for."
    ),
)
CODE, FINGERPRINT, CHECK = "Short code", "Fingerprint of the key", "This page's own check"

ON_PAPER = "on paper nothing can check itself: hold the short code against the files"

CHECK_WORDS = {
    "not_checked": "not checked",
    "checking": "checking",
    "unchanged": (
        "Unchanged: the records, the words and the pictures of this page agree with one another "
        "and with its signed head."
    ),
    "altered": "Altered: this page is not as it was signed. What was found:",
    "counts": "Compared: {records} records, {texts} places with text, {pictures} pictures.",
    "signed": "The signature was checked and is by the key whose fingerprint is {fingerprint}.",
    "unsigned": "The signature was not checked here: this browser has no means for it.",
    "compare": (
        "The records give the short code {code}. Compare it with the code on paper, and the "
        "fingerprint {fingerprint} with one that the shop gave you by another way."
    ),
    "more": "{count} more were found.",
    "nothing": "nothing",
    "limit_page": (
        "This page can only check itself, and whoever changes a page can change its check too. "
        "To be sure, have the file checked with recondition history verify, or ask somebody who "
        "has the fingerprint of the key."
    ),
    "limit_words": (
        "Words and pictures were compared, not the markup around them: what is large, small, "
        "hidden, drawn beside words or told to screen readers."
    ),
    "limit_files": "Evidence files beside this page were not looked at.",
    "limit_signer": (
        "The signer is whoever holds the key with this fingerprint; who that is, the page cannot "
        "prove."
    ),
    "limit_vehicle": (
        "None of this proves the vehicle: only that these are the words and pictures that were "
        "signed."
    ),
    "fault_proof": "The proof in this page cannot be read, or is not in its one exact form.",
    "fault_status": "Before the check the page said “{found}” about it.",
    "fault_leaf": "Record {name} is not as it was: it does not lead to its hash.",
    "fault_place": "Record {name} belongs in place {place} and stands in place {found}.",
    "fault_twice": "Record {name} is there more than once.",
    "fault_number": "There are {found} records; {signed} were signed.",
    "fault_root": (
        "The records do not lead to the root that was signed: at least one was changed, dropped, "
        "added or moved."
    ),
    "fault_list": "The list of evidence files is not the one that was signed.",
    "fault_signature": "The signature is not by the key in this page, or not of this head.",
    "fault_outside": "The text “{text}” belongs to no record.",
    "fault_unknown": "The text “{text}” names the record {name}, which is not there.",
    "fault_words": ("Record {name} shows “{found}” where it says “{signed}”."),
    "fault_missing": "Record {name} is not shown.",
    "fault_order": "Record {name} is shown where {expected} belongs.",
    "fault_stray": "The picture “{name}” is not of a record.",
    "fault_picture": "The picture of record {name} is not the one that was signed.",
    "fault_alt": (
        "The description of the picture of record {name} is “{found}” where it says “{signed}”."
    ),
    "fault_unshown": "The picture of record {name} is not shown.",
    "fault_label": ("In {name} a cell is labelled “{found}” under the heading “{signed}”."),
    "fault_code": "The short code shown is {found}; the records give {signed}.",
    "fault_fingerprint": "The fingerprint shown is {found}; the key has {signed}.",
    "fault_foreign": "The page holds an element “{name}” that cannot be checked.",
}


def was_withdrawn(edition: str, on: str, reason: str) -> str:
    """Say that an edition was withdrawn; ``on`` is ISO 8601."""
    return f"Edition {edition} was withdrawn on {on}: {reason}"


def other_key(fingerprint: str) -> str:
    """Say that it was signed with another key than the reader named."""
    return f"it was signed with another key than the one you named; its own is {fingerprint}"


def other_code(code: str) -> str:
    """Say that the printed code belongs to something else."""
    return f"the code you gave is not that of this sheet, which is {code}"


PROVEN = "Proven: unchanged since it was signed with the key that you named:"
CONSISTENT = "Consistent, signer unknown. Unchanged since somebody signed it:"
NOT_PROVEN = (
    "Not proven: that the vehicle is as described, or is the one in front of you; who held the "
    "gauge or the camera; that the dates are true (those are the word of whoever signed); nor that "
    "it was not withdrawn, or another edition made, since."
)
NOT_TO_BE_TRUSTED = (
    "Take none of it as signed. Ask whoever gave it to you for the files as they were released."
)


THE_KEY, THE_CODE = "the key", "the short code"
MAILED = (
    "only its line ends or a byte order mark were changed, as some mail programs do; ask for the "
    "zip, which they leave alone"
)


def no_history(name: str) -> str:
    """Say that something is no work history, or no longer one."""
    return f"{name} is no work history made here, or was altered beyond reading:"


def another(name: str) -> str:
    """Say that something is whole, and not what the reader expected."""
    return f"{name} is unchanged, but it is not what you named:"


def changed(name: str) -> str:
    """Say that something was changed."""
    return f"{name} is not as it was signed:"


def known_signer(fingerprint: str) -> str:
    """Say who signed, as far as a reader who gave the fingerprint knows."""
    return f"Signed by the holder of the key whose fingerprint you gave, {fingerprint}."


def unknown_signer(fingerprint: str) -> str:
    """Say that anybody may have signed."""
    return (
        f"Anybody can make a key and sign. This one is {fingerprint}: compare it with the maker's, "
        "got some other way, and give that with --fingerprint."
    )


def not_covered(names: str) -> str:
    """Name files that lie beside and are no part of it."""
    return f"No part of what was signed: {names}."


def edition_of(number: str) -> str:
    """Name an edition; a trial copy has no number."""
    return f"edition {number}" if number else "a trial copy, no edition"
