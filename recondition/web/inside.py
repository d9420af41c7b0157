"""Addresses of this site alone: where a form goes on to."""

from __future__ import annotations

from urllib.parse import urlsplit

_LENGTH_MAX = 500


def inside(wanted: str, otherwise: str) -> str:
    """Give an address that was asked for where it is a page of this site, else another one."""
    if not wanted.startswith("/") or wanted.startswith("//") or len(wanted) > _LENGTH_MAX:
        return otherwise
    plain = wanted.isascii() and wanted.isprintable() and "\\" not in wanted
    try:
        return wanted if plain and not urlsplit(wanted).netloc else otherwise
    except ValueError:
        return otherwise
