"""The commands that show, restrict and erase what is kept about people."""

from __future__ import annotations

import json
import zipfile
from typing import TYPE_CHECKING

from tests.running import done, run

if TYPE_CHECKING:
    from pathlib import Path

GROUND = '--ground "request of 4 March"'
READING = (
    "person list", "person list --json", "supplier list", "vehicle list", "finding list",
    "books hours", "books journal", "check",
)  # fmt: skip


def _added() -> None:
    """Enter somebody who owns a car and is named in two texts."""
    done('recondition person add ZQ "Zebulon Quist" owner --contact "quay 7"')
    done('recondition vehicle add 0099 "1969 Ostra 9" --whose-it-is consigned --owner ZQ')
    done('recondition finding add 0099 bonnet scratch --words "as Zebulon Quist said"')


def test_all_that_is_kept_about_somebody_is_handed_out(shop: Path) -> None:
    _added()
    said = done("recondition person export ZQ --into zq.json")
    assert "1 records that name ZQ" in said
    found = json.loads((shop / "zq.json").read_text(encoding="utf-8"))
    assert found["is"][0]["texts"] == {"ref": "ZQ", "name": "Zebulon Quist", "contact": "quay 7"}
    (car,) = found["named in"]
    assert (car["record"], car["entered by"]) == ("vehicle 0099", "person MR")
    assert [each["text"] for each in found["mentioned in"]] == ["as Zebulon Quist said"]


def test_an_erasure_says_where_else_the_name_stands(shop: Path) -> None:
    _added()
    said = done(f"recondition person erase ZQ {GROUND}")
    assert "3 texts were erased" in said
    assert "The name stands in: finding F-" in said
    assert "person erase-text KIND REF FIELD --ground ..." in said
    assert "Backups, copies and exports made before still hold them" in said
    ref = said.split("finding ")[1].split(",")[0]
    assert "1 text was erased. What it was" in done(
        f"recondition person erase-text finding {ref} words {GROUND}"
    )
    assert "No damage" in done("recondition check")
    assert "quay 7" not in done("recondition person list")
    assert "Nothing that was erased is left" in done("recondition person wipe")
    assert shop.is_dir()


def test_texts_go_with_the_name_where_asked(shop: Path) -> None:
    _added()
    said = done(f"recondition person erase ZQ {GROUND} --texts")
    assert "4 texts were erased" in said
    assert "stands in" not in said
    assert shop.is_dir()


def test_a_supplier_is_handed_out_and_erased_too(shop: Path) -> None:
    done('recondition supplier add Q-1 "Zebulon Quist"')
    done("recondition supplier export Q-1 --into q.json")
    assert json.loads((shop / "q.json").read_text(encoding="utf-8"))["kind"] == "supplier"
    assert "2 texts were erased" in done(f"recondition supplier erase Q-1 {GROUND}")
    assert "Zebulon" not in done("recondition supplier list")


def test_somebody_restricted_is_in_no_list_report_or_export(shop: Path) -> None:
    _added()
    done("recondition person rate ZQ 2021-01-01 41.00")
    said = done(f"recondition person erase ZQ --keep-until 2041-12-31 {GROUND}")
    new = said.split(" is called ")[1].split()[0]
    assert f"'person erase {new} --ground ...' deletes them" in said
    assert "The name stands in: finding F-" in said
    assert "until 2041-12-31" in said
    done("recondition export workbook book.xlsx")
    with zipfile.ZipFile(shop / "book.xlsx") as packed:
        seen = "".join(packed.read(name).decode("utf-8", "replace") for name in packed.namelist())
    seen += "".join(done(f"recondition {line}") for line in READING)
    done("recondition report condition 0099 --html condition.html")
    seen += (shop / "condition.html").read_text(encoding="utf-8")
    assert new in seen
    assert "quay 7" not in seen
    assert seen.count("Zebulon Quist") == seen.count("as Zebulon Quist said")
    ran = run(f"recondition person erase {new} {GROUND}")
    assert (ran.status, "stays until 2041-12-31" in ran.err) == (1, True)
    done(f"recondition person export {new} --into kept.json")
    assert "Zebulon Quist" in (shop / "kept.json").read_text(encoding="utf-8")
