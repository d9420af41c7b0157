"""A zip that others made: its list of contents is counted before a library reads it."""

from __future__ import annotations

import io
import zipfile

import pytest

from recondition.book.archives import TooManyMembers, open_zip

MANY = 66_000  # more than the two bytes of the plain record hold


@pytest.mark.long
def test_a_list_in_the_large_record_is_counted() -> None:
    stream = io.BytesIO()
    with zipfile.ZipFile(stream, "w") as archive:
        for number in range(MANY):
            archive.writestr(str(number), b"")
    assert len(open_zip(stream, MANY).namelist()) == MANY
    with pytest.raises(TooManyMembers, match="65,999"):
        open_zip(stream, MANY - 1)


def test_a_large_record_that_is_not_where_it_must_be_is_refused() -> None:
    stream = io.BytesIO()
    with zipfile.ZipFile(stream, "w") as archive:
        archive.writestr("one", b"")
    content = stream.getvalue()
    end = content.rindex(b"PK\x05\x06")
    pointer = b"PK\x06\x07" + bytes(16)
    with pytest.raises(TooManyMembers):
        open_zip(io.BytesIO(content[:end] + pointer + content[end:]), 10)
