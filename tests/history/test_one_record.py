"""One record shown alone: it holds, tells nothing of the others, and no part of it is slack."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import pytest

from recondition.history import proof, strictly, verifying
from recondition.history.folder import HTML, JSON, check_one
from recondition.history.verifying import check_record
from recondition.reports import checking
from tests.history.forging import FOREIGN
from tests.history.released import SAID, Released, released

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory, empty_file: Path) -> Released:
    """Give what was released."""
    return released(tmp_path_factory, empty_file)


def proof_of(made: Released) -> dict[str, Any]:
    return verifying.proof_in(made.files[JSON])


def shown_alone(made: Released, name: str) -> dict[str, Any]:
    text = proof.single(proof_of(made), name)
    assert text is not None
    whole: dict[str, Any] = strictly.read(text)
    return whole


def pretty(whole: dict[str, Any]) -> bytes:
    return strictly.pretty(whole).encode()


def test_one_record_alone_holds_and_shows_no_other(made: Released) -> None:
    for each in proof_of(made)["records"]:
        name = each["record"]["name"]
        text = proof.single(proof_of(made), name) or ""
        found = check_record(text.encode())
        assert found.faults == [], name
        assert found.unchanged == [f"the record {name}, one of {len(proof_of(made)['records'])}"]
    shown = proof.single(proof_of(made), "finding/1") or ""
    assert "by the \U0001f698" in shown
    assert SAID not in shown
    others = [each for each in proof_of(made)["records"] if each["record"]["name"] != "finding/1"]
    assert not [each for each in others if each["salt"] in shown]
    words = {text for each in others for text in each["record"]["data"].get("text", ())}
    assert not [text for text in words if len(text) > 30 and text in shown]


def test_page_and_json_give_the_same_record(made: Released, tmp_path: Path) -> None:
    for name in (HTML, JSON):
        (tmp_path / name).write_bytes(made.files[name])
    both = {checking.one_record(tmp_path / name, "part/1") for name in (HTML, JSON)}
    assert len(both) == 1
    alone = tmp_path / "part.json"
    alone.write_text(both.pop(), encoding="utf-8")
    verdict = checking.checked(alone, fingerprint=made.fingerprint, code=made.code)
    assert (verdict.holds, verdict.known) == (True, True)
    assert verdict.unchanged == [f"the record part/1, one of {proof_of(made)['head']['records']}"]
    assert proof.single(proof_of(made), "part/9") is None


def _words(whole: dict[str, Any]) -> None:
    whole["record"]["data"]["words"] = "by nobody"


def _name(whole: dict[str, Any]) -> None:
    whole["record"]["name"] = "finding/2"


def _place(whole: dict[str, Any]) -> None:
    whole["record"]["place"] = str(int(whole["record"]["place"]) + 1)


def _salt(whole: dict[str, Any]) -> None:
    whole["salt"] = "0" * 64


def _short_salt(whole: dict[str, Any]) -> None:
    whole["salt"] = whole["salt"][2:]


def _step(whole: dict[str, Any]) -> None:
    whole["path"][1] = whole["path"][0]


def _no_step(whole: dict[str, Any]) -> None:
    whole["path"].pop()


def _steps_swapped(whole: dict[str, Any]) -> None:
    whole["path"].reverse()


def _root(whole: dict[str, Any]) -> None:
    whole["head"]["root"] = "0" * 64


def _count(whole: dict[str, Any]) -> None:
    whole["head"]["records"] = "8"


def _edition(whole: dict[str, Any]) -> None:
    whole["head"]["edition"] = "2"


def _key(whole: dict[str, Any]) -> None:
    whole["key"] = proof.b64(FOREIGN.public)


def _signature(whole: dict[str, Any]) -> None:
    whole["signature"] = FOREIGN.signature("recondition head 1", whole["head"])


def _more(whole: dict[str, Any]) -> None:
    whole["note"] = "never raced"


def _more_in_the_record(whole: dict[str, Any]) -> None:
    whole["record"]["note"] = "never raced"


def _order(whole: dict[str, Any]) -> None:
    whole["record"] = dict(reversed(whole["record"].items()))


def _number(whole: dict[str, Any]) -> None:
    whole["record"]["place"] = int(whole["record"]["place"])


ALTERED = (
    _words, _name, _place, _salt, _short_salt, _step, _no_step, _steps_swapped, _root, _count,
    _edition, _key, _signature, _more, _more_in_the_record, _order, _number,
)  # fmt: skip


@pytest.mark.parametrize("alter", ALTERED, ids=lambda alter: alter.__name__)
def test_one_record_altered_is_a_fault(
    alter: Callable[[dict[str, Any]], None], made: Released
) -> None:
    whole = shown_alone(made, "finding/1")
    assert check_record(pretty(whole)).faults == []
    alter(whole)
    found = check_record(pretty(whole))
    assert found.faults
    assert found.unchanged == []
    assert not check_one("record.json", pretty(whole)).holds
