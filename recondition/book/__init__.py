"""The book: the only room with a database. Everything else reaches it through this door.

``Connection`` is what the two kinds of transaction hand out (see ``engine``); other rooms
pass it on and never use the library behind it.
"""

from sqlalchemy import Connection

__all__ = ["Connection"]
