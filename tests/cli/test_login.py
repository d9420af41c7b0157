"""The commands that give and take logins, list links and read the trail."""

from __future__ import annotations

import json
import re
from typing import TYPE_CHECKING

from recondition.book import logins, sessions, share_links
from tests.book.make_logins import GOOD
from tests.places import opened
from tests.running import done, run

if TYPE_CHECKING:
    from pathlib import Path


def _token(said: str) -> str:
    """Take the one-time token out of what a command said."""
    found = re.search(r"^One-time token: ([\w-]{43})$", said, re.MULTILINE)
    assert found
    assert "the page /set-password within 48 hours" in said
    return found[1]


def test_a_login_is_given_and_its_password_set_with_the_token(shop: Path) -> None:
    token = _token(done("recondition login add Mara dealer --person MR"))
    assert token not in done("recondition login list")
    said = json.loads(done("recondition login list --json"))
    login = {"name": "Mara", "role": "dealer", "person": "MR"}
    assert said == {"Logins": [login | {"state": "has no password yet"}]}
    book = opened(shop / "shop.book")
    logins.set_password(book, token, GOOD)
    assert sessions.sign_in(book, "mara", GOOD, address="192.0.2.7")
    assert "open" in done("recondition login list")
    again = _token(done("recondition login anew mara"))
    assert logins.set_password(book, again, GOOD + "!").name == "Mara"
    book.close()


def test_a_role_is_changed_a_login_closed_and_all_of_it_in_the_trail(shop: Path) -> None:
    done('recondition person add HK "Hana Kess" preparer')
    done("recondition login add Mara dealer --person MR")
    done("recondition login add hana preparer --person HK")
    assert done("recondition login role hana dealer") == "login hana: is dealer now.\n"
    assert "closed" in done("recondition login close mara")
    assert run("recondition login close hana").status == 1
    assert run("recondition login add otto captain --person HK").status == 2
    rows = json.loads(done("recondition login trail --json"))["Trail"]
    assert [(row["action"], row["about"], row["detail"]) for row in rows] == [
        ("login closed", "Mara", ""),
        ("role changed", "hana", "preparer to dealer"),
        ("login made", "hana", "preparer"),
        ("login made", "Mara", "dealer"),
    ]
    assert len(json.loads(done("recondition login trail --last 1 --json"))["Trail"]) == 1
    assert "No login: the command line." in done("recondition login trail")
    assert "No damage" in done("recondition check")
    assert shop.is_dir()


def test_links_are_listed_with_what_has_become_of_them(shop: Path) -> None:
    assert json.loads(done("recondition login links --json")) == {"Links": []}
    book = opened(shop / "shop.book")
    token = share_links.make(book, "0007", number=None, by=None, days=None)
    share_links.make(book, "0008", number=None, by=None, days=3)
    (link,) = json.loads(done("recondition login links 0007 --json"))["Links"]
    assert (link["stock"], link["edition"], link["ends_at"], link["state"]) == (
        "0007", None, "withdrawn", "holds",
    )  # fmt: skip
    share_links.withdraw(book, link["id"], None)
    book.close()
    both = json.loads(done("recondition login links --json"))["Links"]
    assert {each["stock"]: each["state"].split()[0] for each in both} == {
        "0007": "withdrawn",
        "0008": "holds",
    }
    assert token not in done("recondition login links")
    assert run("recondition login links 0070").status == 1


def test_what_is_kept_about_somebody_is_handed_out_and_let_go(shop: Path) -> None:
    done('recondition person add ZQ "Zebulon Quist" helper')
    done("recondition login add zebulon seller --person ZQ")
    done("recondition person export ZQ --into zq.json")
    found = json.loads((shop / "zq.json").read_text(encoding="utf-8"))["on the pages"]
    assert [(each["name"], each["role"]) for each in found["logins"]] == [("zebulon", "seller")]
    done('recondition person erase ZQ --ground "request of 4 March"')
    said = done("recondition login list") + done("recondition login trail")
    assert "zebulon" not in said
    assert "erased-" in said
    assert "No damage" in done("recondition check")
