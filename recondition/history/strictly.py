"""JSON that is read one way only: no byte of a file is without meaning.

Names come once, broken numbers do not occur, and a text must be written just as it would be
written again: other blanks, another order or another escape of a sign is another file.
"""

from __future__ import annotations

import json
from typing import Any, NoReturn

DEPTH_MAX = 40
# Signs that part values: a history of five thousand records has half as many, and each value
# that they part takes some sixty bytes once it is read.
PARTS_MAX = 500_000


class NotStrict(ValueError):  # noqa: N818 - said of a text, not an error of ours
    """A text is no JSON of the one form that is taken; says why."""


def read(text: str) -> Any:  # noqa: ANN401 - JSON holds anything
    """Read JSON with whole numbers at most, and no name twice in an object. Raises NotStrict."""
    if sum(map(text.count, ",[{")) > PARTS_MAX:
        message = f"it holds more than {PARTS_MAX:,} values"
        raise NotStrict(message)
    try:
        found = json.loads(
            text, object_pairs_hook=_once, parse_float=_number, parse_constant=_number
        )
        if _depth(found) > DEPTH_MAX:
            message = "it is nested too deeply"
            raise NotStrict(message)
        _whole_signs(text, found)
    except RecursionError:
        message = "it is nested too deeply"
        raise NotStrict(message) from None
    except UnicodeEncodeError:
        message = "half a sign stands alone in it"
        raise NotStrict(message) from None
    except json.JSONDecodeError as error:
        message = f"it is no JSON: {error}"
        raise NotStrict(message) from None
    except ValueError as error:
        raise NotStrict(str(error)) from None
    return found


def _whole_signs(text: str, found: Any) -> None:  # noqa: ANN401 - as above
    """Raise UnicodeEncodeError where half a sign stands alone; only an escape can bring it in."""
    text.encode()
    if "\\u" in text:
        json.dumps(found, ensure_ascii=False).encode()


def _depth(value: Any) -> int:  # noqa: ANN401 - as above
    """Give how deep lists and objects nest, level by level."""
    depth, level = 0, [value]
    while level := [item for item in level if isinstance(item, dict | list)]:
        depth += 1
        level = [
            inner for item in level for inner in (item.values() if isinstance(item, dict) else item)
        ]
    return depth


def _once(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    found = dict(pairs)
    if len(found) != len(pairs):
        message = "a name stands twice in one object"
        raise NotStrict(message)
    return found


def _number(text: str) -> NoReturn:
    message = f"it holds the number {text}"
    raise NotStrict(message)


def pretty(value: Any) -> str:  # noqa: ANN401 - as above
    """Write JSON for people, in the order it has."""
    return json.dumps(value, ensure_ascii=False, indent=2) + "\n"


def ordered(value: Any) -> Any:  # noqa: ANN401 - as above
    """Give a value with the names of every object in it in order, so that it is written one way."""
    match value:
        case list():
            return [ordered(item) for item in value]
        case dict():
            return {name: ordered(value[name]) for name in sorted(value)}
    return value


def embedded(value: Any) -> str:  # noqa: ANN401 - as above
    """Write JSON so that it can stand within a page's script element."""
    text = json.dumps(value, ensure_ascii=False, sort_keys=True, separators=(",", ":"))
    for sign in "<>&\u2028\u2029":
        text = text.replace(sign, f"\\u{ord(sign):04x}")
    return text


def plain(value: Any) -> bool:  # noqa: ANN401 - as above
    """Tell whether a value is of text, true, false, null, lists and objects only."""
    if isinstance(value, dict):
        return all(isinstance(name, str) for name in value) and all(map(plain, value.values()))
    if isinstance(value, list):
        return all(map(plain, value))
    return value is None or isinstance(value, str | bool)
