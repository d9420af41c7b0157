"""What is said of a book in a new place: where its documents lie, and what became of its key."""

from __future__ import annotations


def where_the_key_goes(location: str) -> list[str]:
    """Say that the signing key did not come along; nothing where one lies there already."""
    from recondition.book.engine import files_of, named_book  # noqa: PLC0415 - heavy
    from recondition.book.keys import place_of_key  # noqa: PLC0415 - as above

    place = place_of_key(named_book(location, files_of(location)))
    if place.exists():
        return []
    words = "without it the next sheet has another fingerprint"
    return [f"The signing key is not in it: put the old key file at {place}; {words}."]


def where_the_files_lie(location: str) -> str:
    """Say where the documents of a book lie."""
    from recondition.book.engine import files_of  # noqa: PLC0415 - heavy

    return f"Its documents lie in {files_of(location)}."
