"""Drawings under the strict content policy: their styles move into one sheet that is let through.

A style attribute on an element is refused by the policy; a sheet with the answer's own mark is
not (Content Security Policy Level 3, style-src).
"""

from __future__ import annotations

import re
from itertools import count

from markupsafe import Markup

from recondition.reports.drawing import Figure

_STYLE = re.compile(r' style="([^"]*)"')
_SHEET = re.compile(r"<style[^>]*>(.*?)</style>", re.DOTALL)
_RULE = re.compile(r"\s*([^{}]+)\{([^{}]*)\}")


def strict(figure: Figure, mark: str) -> Markup:
    """Give a drawing without style attributes, and the sheet that stands for them.

    ``mark`` is the answer's nonce. Rules of the drawing's own sheet hold within it alone.
    """
    scope = f"fig-{re.sub(r'[^A-Za-z0-9_-]', '-', figure.name)}"
    numbers = count(1)
    names: dict[str, str] = {}

    def named(found: re.Match[str]) -> str:
        style = found[1]
        if style not in names:
            names[style] = f"{scope}-{next(numbers)}"
        return f' class="{names[style]}"'

    rules = [rule for sheet in _SHEET.findall(figure.svg) for rule in _RULE.findall(sheet)]
    body = _STYLE.sub(named, _SHEET.sub("", figure.svg))
    body = body.replace("<svg ", f'<svg id="{scope}" ', 1)
    lines = [f"#{scope} {selector.strip()} {{{content}}}" for selector, content in rules]
    lines += [f"#{scope} .{name} {{{style}}}" for style, name in names.items()]
    sheet = "\n".join(lines).replace("&quot;", '"')
    return Markup(f'<style nonce="{mark}">\n{sheet}\n</style>\n{body}')  # noqa: S704 - our own drawing
