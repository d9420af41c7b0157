"""Two kinds of text that a record may hold, told apart by type.

``Id`` names another record and enters the chain as it is. ``Words`` is free text: it enters
the chain only as a salted hash, and the text itself lies in a side table from which it can
be erased (design: people and free text).
"""

from __future__ import annotations

from typing import NewType

Id = NewType("Id", str)
Words = NewType("Words", str)
