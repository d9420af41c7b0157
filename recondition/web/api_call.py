"""What an operation of the machine interface is, and one call of it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from flask import request

from recondition.errors import Refused
from recondition.history import strictly
from recondition.web import api_shapes
from recondition.web.api_shapes import NotThatShape, Schema
from recondition.web.told import told
from recondition.web.visit import hold, visit

if TYPE_CHECKING:
    from werkzeug.datastructures import FileStorage

    from recondition.book.roles import Right

JSON = "application/json"
FORM = "multipart/form-data"
BODY_BYTES_MAX = 1024 * 1024
FILE_BODY_BYTES_MAX = 48 * 1024 * 1024
QUERY_TEXTS_MAX = 100
_BODY = "body"


class NotJson(Refused):
    """A call of the machine interface whose body is not JSON, or not marked as such."""

    exit_status = 2
    http_status = 415

    def __init__(self) -> None:
        """Say what is wanted."""
        super().__init__(
            "the body is not marked as JSON",
            todo="Send it with the header Content-Type: application/json.",
        )


class NotAForm(Refused):
    """A call of the machine interface that is to bring a file and is no form."""

    exit_status = 2
    http_status = 415

    def __init__(self, name: str) -> None:
        """Say what is wanted."""
        super().__init__(
            "the body is no form with a file in it",
            todo=f"Send it as {FORM}, with the file as its part {name}.",
        )


class BodyTooLarge(Refused):
    """A call of the machine interface that is larger than is taken."""

    exit_status = 2
    http_status = 413

    def __init__(self, most: int) -> None:
        """Say how much is taken."""
        super().__init__(f"the body is larger than {most:,} bytes", todo="Send less in one call.")


@dataclass(frozen=True, slots=True)
class Call:
    """One call: what stands in the address, behind its question mark, and in its body."""

    path: dict[str, str]
    query: dict[str, list[str]]
    body: dict[str, Any]
    upload: FileStorage | None = None

    def one(self, name: str) -> str | None:
        """Give the first of a query's texts, None where there is none."""
        return next(iter(self.query.get(name, ())), None)


@dataclass(frozen=True, slots=True)
class Parameter:
    """One parameter of an operation, in the path or behind the question mark."""

    name: str
    schema: Schema
    place: str = "query"
    required: bool = False
    several: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Operation:
    """One operation: where it is, who may, what it takes, what it gives, and what does it.

    ``path`` has its parameters in braces; ``rights`` are any of which is enough, none for every
    login. ``open`` needs no login. ``run`` gives what is answered, as JSON, or a file of one of the
    types of ``media``. ``upload`` names the file that a form brings instead of a body;
    ``refusals`` are statuses that it may answer with besides those that follow from all this.
    """

    id: str
    method: str
    path: str
    summary: str
    tag: str
    run: Callable[[Call], Any]
    answer: Schema
    rights: tuple[Right, ...] = ()
    parameters: tuple[Parameter, ...] = ()
    body: Schema | None = None
    body_bytes_max: int = BODY_BYTES_MAX
    open: bool = False
    status: int = 200
    words: str = ""
    upload: str = ""
    media: tuple[str, ...] = (JSON,)
    refusals: tuple[int, ...] = ()

    @property
    def rule(self) -> str:
        """The path as the routing takes it; a ref and a stock number may hold slashes."""
        rule = self.path
        for parameter in self.parameters:
            if parameter.place == "path":
                name, kind = parameter.name, ""
                if "enum" in parameter.schema:
                    kind = f"any({', '.join(map(repr, parameter.schema['enum']))}):"
                elif name in ("ref", "stock"):
                    kind = "path:"
                rule = rule.replace(f"{{{name}}}", f"<{kind}{name}>")
        return rule


def called(operation: Operation, path: dict[str, str]) -> Any:  # noqa: ANN401 - JSON holds anything
    """Read a call, hold its rights and its shape, and do it.

    Raises NotSignedIn, NotForThisRole, NotThatShape, NotJson, BodyTooLarge and what the
    operation raises; without amounts where whoever is asking may see no money.
    """
    if not operation.open:
        _ = visit().signed_in
        if operation.rights:
            hold(*operation.rights)
    try:
        call = Call(_path(operation, path), _query(operation), _body(operation), _upload(operation))
        return operation.run(call)
    except Refused as refused:
        raise told(refused) from None


def _path(operation: Operation, path: dict[str, str]) -> dict[str, str]:
    """Hold what stands in the address."""
    for parameter in operation.parameters:
        if parameter.place == "path":
            api_shapes.hold(parameter.schema, path[parameter.name], parameter.name)
    return path


def _query(operation: Operation) -> dict[str, list[str]]:
    """Read and hold what stands behind the question mark; nothing else may stand there."""
    known = {p.name: p for p in operation.parameters if p.place == "query"}
    found = {name: request.args.getlist(name) for name in request.args}
    for name, texts in found.items():
        parameter = known.get(name)
        if parameter is None:
            shown = name[:60]
            raise NotThatShape(shown, f"nothing is called {shown!r} here")
        if len(texts) > (QUERY_TEXTS_MAX if parameter.several else 1):
            raise NotThatShape(name, f"{name} stands there {len(texts)} times")
        for text in texts:
            api_shapes.hold(parameter.schema, _typed(parameter.schema, text, name), name)
    for name, parameter in known.items():
        if parameter.required and not found.get(name):
            raise NotThatShape(name, f"{name} is missing")
    return found


def _typed(schema: Schema, text: str, name: str) -> str | int:
    """Give a text of an address as what its schema says. Raises NotThatShape."""
    if schema["type"] != "integer":
        return text
    if not text.isascii() or not text.removeprefix("-").isdigit() or len(text) > 12:  # noqa: PLR2004 - far above every bound
        raise NotThatShape(name, f"{name} is no whole number")
    return int(text)


def _body(operation: Operation) -> dict[str, Any]:
    """Read and hold the body, where the operation takes one."""
    if operation.body is None:
        return {}
    if request.mimetype != JSON:
        raise NotJson
    _hold_size(operation.body_bytes_max)
    try:
        found = strictly.read(request.get_data(cache=False).decode())
    except (UnicodeDecodeError, strictly.NotStrict) as error:
        said = "it is not UTF-8" if isinstance(error, UnicodeDecodeError) else str(error)
        raise NotThatShape(_BODY, f"the body cannot be read: {said}") from None
    api_shapes.hold(operation.body, found)
    if not isinstance(found, dict):
        message = "every body is an object"
        raise TypeError(message)
    return found


def _hold_size(most: int) -> None:
    """Hold that a body has no more bytes than are taken. Raises BodyTooLarge."""
    if (request.content_length or 0) > most:
        raise BodyTooLarge(most)
    request.max_content_length = most


def _upload(operation: Operation) -> FileStorage | None:
    """Give the file that came as a form, where the operation takes one."""
    name = operation.upload
    if not name:
        return None
    if request.mimetype != FORM:
        raise NotAForm(name)
    _hold_size(operation.body_bytes_max)
    for other in (*request.form, *request.files):
        if other != name or other in request.form:
            shown = other[:60]
            raise NotThatShape(shown, f"no file is called {shown!r} here")
    if name not in request.files:
        raise NotThatShape(name, f"{name} is missing")
    return request.files[name]
