"""Opening a zip that somebody else made, so that its list of contents fits into memory.

Unpacked sizes are checked by whoever reads the members. The list itself comes first: a library
reads it whole when it opens the file, and a file of 100 MB can list two million members.
"""

from __future__ import annotations

import struct
import zipfile
from typing import IO

# A zip of more than 65,535 members or 4 GB has a larger record and a pointer to it before its end.
_END, _END_BYTES = b"PK\x05\x06", 22
_POINTER, _POINTER_BYTES = b"PK\x06\x07", 20
_LARGE, _LARGE_BYTES = b"PK\x06\x06", 56
_ENTRY = b"PK\x01\x02"
_BLOCK_BYTES = 1 << 20
_COMMENT_MAX_BYTES = 65_535
# What one member takes in the list: its name, its times, its remark.
_LISTED_MAX_BYTES = 1024


class TooManyMembers(ValueError):  # noqa: N818 - said of a file, not an error of ours
    """A zip lists more members than are looked at."""


def open_zip(stream: IO[bytes], members_max: int) -> zipfile.ZipFile:
    """Open a zip of at most so many members. Raises TooManyMembers, BadZipFile, OSError."""
    if _listed(stream, members_max) > members_max:
        message = f"it lists more than {members_max:,} members"
        raise TooManyMembers(message)
    stream.seek(0)
    return zipfile.ZipFile(stream)


def _listed(stream: IO[bytes], members_max: int) -> int:
    """Count the members in the list, or give one more than there may be where it is longer.

    The end is found as the library finds it; 0 where there is none, the library says so itself.
    """
    size = stream.seek(0, 2)
    begin = max(0, size - _COMMENT_MAX_BYTES - _END_BYTES - _POINTER_BYTES - _LARGE_BYTES)
    stream.seek(begin)
    tail = stream.read()
    plain = tail[-_END_BYTES:]
    if plain.startswith(_END) and plain.endswith(b"\0\0"):
        at = len(tail) - _END_BYTES
    else:
        at = tail.rfind(_END)
    if at < 0 or at + _END_BYTES > len(tail):
        return 0
    (listed,) = struct.unpack_from("<L", tail, at + 12)
    ends = at
    if tail[max(0, at - _POINTER_BYTES) : at].startswith(_POINTER):
        ends = at - _POINTER_BYTES - _LARGE_BYTES
        if ends < 0 or not tail[ends:].startswith(_LARGE):
            return members_max + 1
        (listed,) = struct.unpack_from("<Q", tail, ends + 40)
    if listed > members_max * _LISTED_MAX_BYTES:
        return members_max + 1
    stream.seek(max(0, begin + ends - listed))
    return _counted(stream, listed)


def _counted(stream: IO[bytes], left: int) -> int:
    """Count the entries in so many bytes of a list, block by block."""
    count, before = 0, b""
    while left > 0 and (block := stream.read(min(left, _BLOCK_BYTES))):
        count += (before + block).count(_ENTRY)
        before = block[1 - len(_ENTRY) :]
        left -= len(block)
    return count
