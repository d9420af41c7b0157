"""The machine interface against its own description, by a tester that is driven by it."""

from __future__ import annotations

import multiprocessing
import traceback
from concurrent.futures import ProcessPoolExecutor
from functools import cache
from typing import TYPE_CHECKING, Any

import pytest
import schemathesis
from hypothesis import HealthCheck, Phase, given, settings
from schemathesis import GenerationMode
from schemathesis.config import SchemathesisConfig

from recondition.web.api import OPERATIONS, described
from recondition.web.openapi import statuses
from tests.places import copied_book, lies_at, opened
from tests.web.visitors import PASSWORD, app_of, login_of

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from recondition.book.engine import Book
    from recondition.web.api_call import Operation

# What is well written may still be refused by the book (422), or meet what is there (409).
_CONFIG = SchemathesisConfig.from_dict({
    "checks": {
        "positive_data_acceptance": {
            "expected-statuses": ["2xx", "401", "403", "404", "409", "422"]
        }
    },
    "generation": {"deterministic": True},
})  # fmt: skip
# A password cannot be guessed from a schema, and signing out would end the test. What begins long
# work would start a process each time: test_api_work begins every kind of it, and holds refusals.
_BY_HAND = (
    "signIn", "signOut", *(each.id for each in OPERATIONS if each.id.startswith("begin")),
)  # fmt: skip
_TRIED = [operation for operation in OPERATIONS if operation.id not in _BY_HAND]
_SLOW = ("check", "plan", "decide")
# The tester keeps some 70 MB for each operation as long as its process lives: 5 GB over all.
_AT_A_TIME = 8
# Rows go one way; the long run tries every sheet.
_QUICK = [
    each for each in _TRIED
    if not each.path.startswith("/rows/") or each.path.endswith(("s/findings", "s/documents"))
]  # fmt: skip


@pytest.fixture(scope="module")
def book(demo: tuple[Path, str], tmp_path_factory: pytest.TempPathFactory) -> Iterator[Book]:
    to = tmp_path_factory.mktemp("described") / "demo.book"
    made = opened(copied_book(demo[0] / "made" / "demo.book", to), keep=True)
    yield made
    made.close()


def _schema(book: Book) -> Any:
    return schemathesis.openapi.from_wsgi("/api/v1/openapi.json", app_of(book), config=_CONFIG)


@pytest.fixture(scope="module")
def schema(book: Book) -> Any:
    return _schema(book)


@pytest.fixture(scope="module")
def aside() -> Iterator[ProcessPoolExecutor]:
    """Start a process that tries a few operations, and another one after them."""
    of_its_own = multiprocessing.get_context("spawn")
    with ProcessPoolExecutor(1, of_its_own, max_tasks_per_child=_AT_A_TIME) as process:
        yield process


def _token(book: Book, role: str) -> str:
    """Sign somebody in as a script does."""
    client = app_of(book).test_client()
    name = login_of(book, role)
    answer = client.post("/api/v1/session", json={"name": name, "password": PASSWORD})
    assert answer.status_code == 200, answer.get_data(as_text=True)
    return str(answer.get_json()["token"])


@pytest.fixture
def token(book: Book) -> str:
    return _token(book, "dealer")


def _try(schema: Any, operation: Operation, token: str, *, examples: int) -> None:
    """Call an operation with what its description allows, and with what it does not."""
    described_one = schema[operation.path][operation.method]
    phases = [Phase.explicit, Phase.generate]
    for mode in (GenerationMode.POSITIVE, GenerationMode.NEGATIVE):
        if mode is GenerationMode.NEGATIVE and not (operation.parameters or operation.body):
            continue

        @given(case=described_one.as_strategy(generation_mode=mode))
        @settings(
            max_examples=examples, deadline=None, derandomize=True, database=None, phases=phases,
            suppress_health_check=list(HealthCheck),
        )  # fmt: skip
        def answered(case: Any) -> None:
            case.call_and_validate(headers={"Authorization": f"Bearer {token}"})

        answered()


@pytest.mark.parametrize("operation", _QUICK, ids=lambda each: each.id)
def test_an_operation_answers_as_it_is_described(
    schema: Any, operation: Operation, token: str
) -> None:
    _try(schema, operation, token, examples=1)


@cache
def _there(place: Path) -> tuple[Any, str]:
    """Open a book in a process that tries it; give its schema and a dealer's token."""
    book = opened(place, keep=True)
    return _schema(book), _token(book, "dealer")


def _fault_of(place: Path, number: int, examples: int) -> str:
    """Try an operation; give what was found as text, for not every finding can be sent."""
    schema, token = _there(place)
    try:
        _try(schema, _TRIED[number], token, examples=examples)
    except Exception:  # noqa: BLE001 - whatever it is, it is told
        return traceback.format_exc()
    return ""


@pytest.mark.long
@pytest.mark.parametrize("number", range(len(_TRIED)), ids=lambda each: _TRIED[each].id)
def test_every_operation_answers_as_it_is_described_many_times(
    aside: ProcessPoolExecutor, book: Book, number: int
) -> None:
    examples = 4 if _TRIED[number].id in _SLOW else 60
    assert not aside.submit(_fault_of, lies_at(book), number, examples).result()


def test_the_description_names_each_operation_once_with_its_refusals() -> None:
    names = [operation.id for operation in OPERATIONS]
    assert len(names) == len(set(names))
    assert len({(o.method, o.path) for o in OPERATIONS}) == len(OPERATIONS)
    for operation in OPERATIONS:
        made = described()["paths"][operation.path][operation.method.lower()]
        assert {str(status) for status in statuses(operation)} < set(made["responses"])
