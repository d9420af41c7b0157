"""Tables of the public sheet: consents, hidden places, what was let pass, editions."""

from __future__ import annotations

from recondition.book.columns import count, flag, posted, refers, text

consent = posted(
    "consent",
    refers("vehicle", "of which vehicle, none for every vehicle"),
    text("shows", "what may be shown", required=True),
    text("given_on", "first day it holds", required=True),
    refers("person", "person who may be named"),
    refers("supplier", "firm that may be named"),
    text("withdrawn_on", "day from which it no longer holds"),
)
redaction = posted(
    "redaction",
    refers("vehicle", "of which vehicle"),
    refers("document", "on which picture"),
    text("from_left", "percent of the width before it", required=True),
    text("from_top", "percent of the height above it", required=True),
    text("width", "percent of the width", required=True),
    text("height", "percent of the height", required=True),
    flag("off", "is painted over no longer"),
)
let_pass = posted(
    "let_pass",
    refers("vehicle", "of which vehicle"),
    text("hit", "code of the hit", required=True),
    text("decided_on", "day", required=True),
)
edition = posted(
    "edition",
    refers("vehicle", "of which vehicle"),
    count("number", "1, 2, 3 on each vehicle"),
    text("made_on", "day", required=True),
    text("head", "hash of its signed head", required=True),
    text("code", "short code printed on paper", required=True),
    text("fingerprint", "of the key that signed", required=True),
    text("content", "digest of what is public", required=True),
    text("locale", "language and forms it is written in", required=True),
    refers("supersedes", "edition before"),
)
edition_withdrawn = posted(
    "edition_withdrawn",
    refers("vehicle", "of which vehicle"),
    refers("edition", "which edition"),
    text("withdrawn_on", "day", required=True),
)
