"""Where the tests put their books: in memory where the machine has a place for that.

A book on disk waits for the disk at each commit, as it must; thousands of small ones made the
run half a minute longer. They stay real files in a real file system.
"""

from __future__ import annotations

import os
import shutil
import tempfile
from pathlib import Path

_IN_MEMORY = Path("/dev/shm")  # noqa: S108 - a file system in memory, where there is one
_ROOM_BYTES = 4 * 1024**3

_USABLE = _IN_MEMORY.is_dir() and os.access(_IN_MEMORY, os.W_OK)
if _USABLE and shutil.disk_usage(_IN_MEMORY).free > _ROOM_BYTES:
    os.environ.setdefault("PYTEST_DEBUG_TEMPROOT", str(_IN_MEMORY))
    tempfile.tempdir = str(_IN_MEMORY)
