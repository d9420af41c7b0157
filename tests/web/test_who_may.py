"""Who may open and send what: every address of the pages and of the interface, for every role.

The table stands by itself, so that a page that is opened to one role more is seen here.
"""

from __future__ import annotations

import re
from typing import TYPE_CHECKING
from urllib.parse import unquote

import pytest
from flask import url_for

from recondition.book.roles import RIGHTS, Role
from recondition.web.permits import may_enter
from tests.web.visitors import PASSWORD, app_of, mark_of, post, signed_in

if TYPE_CHECKING:
    from collections.abc import Iterator

    from flask.testing import FlaskClient
    from werkzeug.routing import Rule

    from recondition.book.engine import Book

ROLES = ("nobody", "preparer", "dealer", "bookkeeper", "seller")
# Sign-in and sign-out have tests of their own, in test_signing_in and test_api.
APART = {"signing_in.signed_in", "signing_in.sign_out", "api.signIn", "api.signOut"}
# What each of ROLES is answered, then the method and the address. What is sent holds nothing,
# so that 400, 404 and 422 stand for "may, but that is no entry".
TABLE = """
302 302 302 302 302 GET /
302 200 200 200 200 GET /api
401 403 400 403 403 POST /api/v1/answers
401 403 200 200 403 GET /api/v1/check
401 400 400 403 403 POST /api/v1/clock/drop
401 400 400 403 403 POST /api/v1/clock/pause
401 400 400 403 403 POST /api/v1/clock/resume
401 400 400 403 403 POST /api/v1/clock/start
401 400 400 403 403 POST /api/v1/clock/stop
401 200 200 200 403 GET /api/v1/clocks
401 400 400 403 403 POST /api/v1/containers/<path:ref>/scrap
401 200 200 200 200 GET /api/v1/lists
401 200 200 200 200 GET /api/v1/lists/<name>
200 200 200 200 200 GET /api/v1/openapi.json
401 403 400 400 403 POST /api/v1/periods/<period>/close
401 403 400 400 403 POST /api/v1/periods/<period>/reopen
401 400 400 400 403 POST /api/v1/products/<path:ref>/counts
401 200 200 200 200 GET /api/v1/records/<kind>/<path:ref>
401 200 200 200 200 GET /api/v1/reports
401 422 422 422 404 GET /api/v1/reports/<name>
401 400 400 400 400 POST /api/v1/reversals/<kind>/<path:ref>
401 403 400 400 403 POST /api/v1/rows/accounts
401 403 400 403 403 POST /api/v1/rows/approvals
401 403 400 403 403 POST /api/v1/rows/candidates
401 403 400 403 403 POST /api/v1/rows/change-requests
401 403 400 400 403 POST /api/v1/rows/charges
401 403 400 403 403 POST /api/v1/rows/comparables
401 403 400 403 400 POST /api/v1/rows/consents
401 400 400 403 403 POST /api/v1/rows/consumables
401 400 400 403 403 POST /api/v1/rows/containers
401 400 400 400 403 POST /api/v1/rows/counts
401 400 400 403 403 POST /api/v1/rows/custody-items
401 400 400 403 403 POST /api/v1/rows/custody-moves
401 400 400 400 403 POST /api/v1/rows/documents
401 400 400 403 403 POST /api/v1/rows/film-readings
401 400 400 403 403 POST /api/v1/rows/findings
401 400 400 403 403 POST /api/v1/rows/gloss-readings
401 400 400 403 403 POST /api/v1/rows/instruments
401 403 400 403 403 POST /api/v1/rows/interactions
401 400 400 403 403 POST /api/v1/rows/labour
401 403 400 400 403 POST /api/v1/rows/late-freight
401 400 400 403 403 POST /api/v1/rows/mixed-batches
401 400 400 400 403 POST /api/v1/rows/orders
401 400 400 403 403 POST /api/v1/rows/outcomes
401 403 400 400 403 POST /api/v1/rows/paid-hours
401 400 400 403 403 POST /api/v1/rows/panels
401 403 400 400 403 POST /api/v1/rows/parts
401 403 400 400 403 POST /api/v1/rows/payments
401 403 400 403 403 POST /api/v1/rows/people
401 403 400 400 403 POST /api/v1/rows/products
401 403 400 400 403 POST /api/v1/rows/rates
401 403 400 400 403 POST /api/v1/rows/receipts
401 403 400 403 400 POST /api/v1/rows/redactions
401 403 400 400 403 POST /api/v1/rows/sales
401 403 400 403 403 POST /api/v1/rows/settings
401 403 400 400 403 POST /api/v1/rows/shared-charges
401 403 400 403 403 POST /api/v1/rows/standard-amounts
401 403 400 400 403 POST /api/v1/rows/sublets
401 403 400 400 403 POST /api/v1/rows/supplier-invoices
401 403 400 400 403 POST /api/v1/rows/supplier-returns
401 403 400 400 403 POST /api/v1/rows/suppliers
401 400 400 403 403 POST /api/v1/rows/surface-tests
401 403 400 400 403 POST /api/v1/rows/tax-codes
401 403 400 403 403 POST /api/v1/rows/terms
401 403 400 403 403 POST /api/v1/rows/test-first
401 403 400 400 403 POST /api/v1/rows/value-tests
401 403 400 403 403 POST /api/v1/rows/vehicles
401 400 400 403 403 POST /api/v1/rows/water-drops
401 400 400 403 403 POST /api/v1/rows/water-hardness
401 403 400 403 403 POST /api/v1/rows/work-rules
401 400 400 400 400 GET /api/v1/search
401 200 200 200 200 GET /api/v1/session
401 200 200 200 200 GET /api/v1/sheets
401 400 400 403 403 POST /api/v1/uses/count
401 400 400 403 403 POST /api/v1/uses/level
401 400 400 403 403 POST /api/v1/uses/pour
401 400 400 403 403 POST /api/v1/uses/pump
401 400 400 403 403 POST /api/v1/uses/spray
401 400 400 403 403 POST /api/v1/uses/standard
401 400 400 403 403 POST /api/v1/uses/weigh
401 200 200 200 403 GET /api/v1/vehicles/<path:stock>
401 200 200 200 404 GET /api/v1/vehicles/<path:stock>/<part>
401 403 400 403 403 POST /api/v1/vehicles/<path:stock>/decisions
401 403 200 403 403 GET /api/v1/vehicles/<path:stock>/plan
401 200 200 403 403 GET /api/v1/vehicles/<path:stock>/today
401 200 200 200 200 GET /api/v1/jobs
401 404 404 404 404 GET /api/v1/jobs/<id>
401 404 404 404 404 POST /api/v1/jobs/<id>/cancel
401 404 404 404 404 GET /api/v1/jobs/<id>/file
401 403 415 415 403 POST /api/v1/jobs/check
401 403 400 400 403 POST /api/v1/jobs/import
401 403 400 400 403 POST /api/v1/jobs/journal
401 403 400 400 403 POST /api/v1/jobs/lines
401 403 400 403 403 POST /api/v1/jobs/plan
401 403 400 403 400 POST /api/v1/jobs/trial-copy
401 403 400 403 400 POST /api/v1/jobs/work-history
401 403 400 400 403 POST /api/v1/jobs/workbook
400 400 400 400 400 GET /begin/<token>
400 400 400 400 400 POST /begin/<token>
302 200 200 403 403 GET /bench
302 200 200 403 403 GET /bench/<path:stock>
302 200 200 403 403 GET /bench/<path:stock>/film
302 400 400 403 403 POST /bench/<path:stock>/film
302 200 200 403 403 GET /bench/<path:stock>/finding
302 400 400 403 403 POST /bench/<path:stock>/finding
302 200 200 403 403 GET /bench/<path:stock>/photograph
302 422 422 403 403 POST /bench/<path:stock>/photograph
302 400 400 403 403 POST /bench/<path:stock>/state
302 200 200 403 403 GET /bench/<path:stock>/use
302 400 400 403 403 POST /bench/<path:stock>/use
302 400 400 403 403 POST /bench/clock/<turn>
302 422 422 403 403 POST /bench/read-label
302 400 400 403 403 POST /bench/scrap
302 200 200 403 403 GET /bench/use
302 400 400 403 403 POST /bench/use
302 403 200 200 403 GET /books
302 403 200 200 403 GET /books/<name>
302 403 404 404 403 GET /books/accounts/<path:code>
302 403 200 200 403 GET /books/downloads
302 403 400 400 403 POST /books/downloads
302 403 200 200 403 GET /books/downloads/columns-<what>.csv
302 403 404 404 403 GET /books/entries/<path:number>
302 403 400 400 403 GET /books/hours/<path:person>/<week>
302 403 200 200 403 GET /books/journal
302 403 200 200 403 GET /books/periods/<month>
302 403 422 422 403 POST /books/periods/<month>/close
302 403 400 400 403 POST /books/periods/<month>/reopen
302 403 404 404 403 GET /books/tax/<path:code>
302 403 200 200 403 GET /books/vehicles/<path:stock>/<name>
200 200 200 200 200 GET /device/mark
302 200 200 200 200 GET /enter
302 200 200 403 403 GET /enter/<name>
302 400 400 400 400 POST /enter/<name>
302 404 404 404 404 GET /files/<sha256>
302 404 404 404 404 GET /files/<sha256>/small
200 200 200 200 200 GET /help/tls
302 403 200 403 200 GET /histories
302 403 200 403 200 GET /histories/<path:stock>
302 403 422 403 422 POST /histories/<path:stock>/consents
302 403 422 403 422 POST /histories/<path:stock>/consents/<ref>/end
302 403 404 403 404 GET /histories/<path:stock>/editions/<int:number>/<name>
302 403 422 403 422 POST /histories/<path:stock>/editions/<int:number>/notice
302 403 400 403 400 POST /histories/<path:stock>/editions/<int:number>/withdraw
302 403 303 403 403 POST /histories/<path:stock>/let-pass
302 403 200 403 200 POST /histories/<path:stock>/links
302 403 422 403 422 POST /histories/<path:stock>/links/<link>/withdraw
302 403 303 403 303 POST /histories/<path:stock>/look
302 403 404 403 404 GET /histories/<path:stock>/look/sheet
302 403 200 403 200 GET /histories/<path:stock>/pictures/<path:ref>
302 403 422 403 422 POST /histories/<path:stock>/pictures/<path:ref>
302 403 422 403 422 POST /histories/<path:stock>/pictures/<path:ref>/<place>/show
302 403 200 403 200 GET /histories/<path:stock>/pictures/<path:ref>/shown.jpg
302 403 200 403 200 GET /histories/<path:stock>/release
302 403 422 403 422 POST /histories/<path:stock>/release
302 403 200 200 403 GET /import
302 403 400 400 403 POST /import
302 403 404 404 403 POST /import/<job_id>/enter
302 403 200 200 403 GET /import/blank.xlsx
302 200 200 200 200 GET /jobs
302 404 404 404 404 GET /jobs/<job_id>
302 404 404 404 404 POST /jobs/<job_id>/cancel
302 404 404 404 404 GET /jobs/<job_id>/file
302 204 204 204 403 GET /live
302 403 200 403 403 GET /logins
302 403 400 403 403 POST /logins
302 403 422 403 403 POST /logins/<path:name>/close
302 403 422 403 403 POST /logins/<path:name>/end
302 403 400 403 403 POST /logins/<path:name>/role
302 403 422 403 403 POST /logins/<path:name>/token
200 200 200 200 200 GET /manifest.webmanifest
302 200 200 200 200 GET /password
302 400 400 400 400 POST /password
302 200 200 200 200 GET /records/<kind>/<path:ref>
302 404 404 404 404 POST /records/<kind>/<path:ref>/take-back
404 404 404 404 404 GET /s/<token>
404 404 404 404 404 GET /s/<token>/<name>
404 404 404 404 404 GET /s/<token>/sheet
302 200 200 200 200 GET /search
200 200 200 200 200 GET /set-password
400 400 400 400 400 POST /set-password
200 302 302 302 302 GET /sign-in
200 200 200 200 200 GET /static/<path:filename>
302 200 200 200 403 GET /stock
302 302 302 302 403 GET /stock/<product>
302 404 404 404 403 GET /stock/batches/<path:ref>
302 200 200 200 403 GET /stock/counts
302 200 200 200 403 GET /stock/labels
302 200 200 200 403 GET /stock/opened
302 200 200 200 403 GET /stock/products/<path:ref>
302 200 200 200 403 GET /stock/reorder
302 422 422 422 403 POST /stock/weigh/<path:ref>
302 403 200 403 403 GET /trail
200 200 200 200 200 GET /unsent
302 200 200 200 403 GET /vehicles
302 200 200 200 403 GET /vehicles/<path:stock>
302 403 200 200 403 GET /vehicles/<path:stock>/cost
302 200 200 200 403 GET /vehicles/<path:stock>/findings
302 403 200 200 403 GET /vehicles/<path:stock>/ledger
302 403 200 200 403 GET /vehicles/<path:stock>/plan
302 200 200 200 403 GET /vehicles/<path:stock>/plan/answer
302 403 422 403 403 POST /vehicles/<path:stock>/plan/approve
302 403 422 403 403 POST /vehicles/<path:stock>/plan/ask
302 403 422 403 403 POST /vehicles/<path:stock>/plan/estimate
302 403 400 403 403 POST /vehicles/<path:stock>/plan/freeze
302 403 400 403 403 POST /vehicles/<path:stock>/plan/leave
302 403 400 403 403 POST /vehicles/<path:stock>/plan/take-up
302 403 200 403 403 POST /vehicles/<path:stock>/plan/what-if
302 403 422 422 403 POST /vehicles/<path:stock>/reverse
302 200 200 200 403 GET /vehicles/<path:stock>/timeline
302 403 200 403 403 GET /week
302 403 400 403 403 POST /week
200 200 200 200 200 GET /worker.js
"""
PARTS = {
    "stock": "0007", "month": "2031-03", "period": "2031-03", "sha256": "0" * 64,
    "product": "blade", "kind": "labour", "what": "journal", "part": "findings",
    "filename": "site.css", "number": "1",
}  # fmt: skip
OF_RULE = {
    "/books/<name>": {"name": "journal"},
    "/api/v1/reports/<name>": {"name": "film"},
    "/api/v1/lists/<name>": {"name": "vehicles"},
    "/enter/<name>": {"name": "findings"},
    "/records/<kind>/<path:ref>": {"kind": "vehicle", "ref": "0007"},
    "/api/v1/records/<kind>/<path:ref>": {"kind": "vehicle", "ref": "0007"},
    "/stock/products/<path:ref>": {"ref": "blade"},
    "/books/vehicles/<path:stock>/<name>": {"name": "position"},
    "/histories/<path:stock>/pictures/<path:ref>": {"ref": "D-001"},
    "/histories/<path:stock>/pictures/<path:ref>/shown.jpg": {"ref": "D-001"},
}


def table() -> dict[tuple[str, str], str]:
    """Read the table: statuses by method and address."""
    found = {}
    for line in TABLE.strip().splitlines():
        *statuses, method, rule = line.split()
        found[method, rule] = " ".join(statuses)
    return found


def address(rule: Rule) -> str:
    """Give an address without the list of what a part of it may be."""
    return re.sub(r"any\([^)]*\):", "", rule.rule)


def ways(book: Book) -> Iterator[tuple[str, Rule]]:
    """Give every method of every address that the application has."""
    for rule in app_of(book).url_map.iter_rules():
        for method in sorted((rule.methods or set()) - {"HEAD", "OPTIONS"}):
            if rule.endpoint not in APART:
                yield method, rule


def filled(book: Book, method: str, rule: Rule) -> str:
    """Fill the parts of an address: what a page shows, and for an entry what is not there."""
    parts = {name: PARTS.get(name, "none") for name in rule.arguments}
    if method == "GET":
        parts |= OF_RULE.get(rule.rule, {})
    with app_of(book).test_request_context():
        return url_for(rule.endpoint, **parts)


def visitor(book: Book, role: str) -> FlaskClient:
    """Give a visitor of a role, or nobody."""
    return app_of(book).test_client() if role == "nobody" else signed_in(book, role)


def answered(client: FlaskClient, method: str, path: str, mark: str) -> int:
    """Say what a visitor is answered, to a form or a body that holds nothing of use."""
    body = {"no such field": ""} if path.startswith("/api/") and method == "POST" else None
    headers = {"X-CSRF": mark}
    with client.open(path, method=method, headers=headers, json=body) as answer:
        return answer.status_code


def test_every_address_has_its_row(empty_book: Book) -> None:
    assert {(method, address(rule)) for method, rule in ways(empty_book)} == set(table())


@pytest.mark.long
@pytest.mark.parametrize("role", ROLES)
def test_each_role_is_answered_as_the_table_says(shop_book: Book, role: str) -> None:
    client, place = visitor(shop_book, role), ROLES.index(role)
    mark = mark_of(client)
    wrong = []
    for method, rule in ways(shop_book):
        status = answered(client, method, filled(shop_book, method, rule), mark)
        if status != int(table()[method, address(rule)].split()[place]):
            wrong.append(f"{method} {address(rule)}: {status}")
    assert wrong == []


@pytest.mark.parametrize("mark", ["", "of-another-session"])
def test_nothing_is_sent_without_the_mark_of_the_session(shop_book: Book, mark: str) -> None:
    client = visitor(shop_book, "dealer")
    sent = [(m, r) for m, r in ways(shop_book) if m != "GET"]
    assert len(sent) > 100
    for method, rule in sent:
        path = filled(shop_book, method, rule)
        with client.open(path, method=method, headers={"X-CSRF": mark}) as answer:
            assert answer.status_code == 400, path
            assert "older than your session" in answer.get_data(as_text=True), path


@pytest.mark.long
@pytest.mark.parametrize("role", ROLES[1:])
@pytest.mark.parametrize("there", ["shop_book", "empty_book"])
def test_no_page_leads_to_a_form_that_the_login_may_not_use(
    role: str, there: str, request: pytest.FixtureRequest
) -> None:
    book: Book = request.getfixturevalue(there)
    if there == "empty_book":
        start_book_of(book)
    client, led = visitor(book, role), 0
    for method, rule in ways(book):
        if method != "GET":
            continue
        with client.get(filled(book, method, rule)) as answer:
            if answer.status_code != 200 or answer.mimetype != "text/html":
                continue
            page = answer.get_data(as_text=True)
        for name in set(re.findall(r'href="/enter/([^"?#]+)', page)):
            led += 1
            sheet = unquote(name).replace("-", " ")
            assert may_enter(sheet, RIGHTS[Role(role)]), (rule.rule, sheet)
    assert led or role == "seller"


def start_book_of(book: Book) -> None:
    """Let a book that is empty have the first login and person."""
    fields = {"name": "first", "person": "MR", "full_name": "Mara Rell"}
    fields |= dict.fromkeys(("password", "again"), PASSWORD)
    assert post(app_of(book).test_client(), "/begin/begin-here", **fields).status_code == 302
