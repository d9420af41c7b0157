"""The tests that are about the file of an SQLite book, each with the reason.

A run on PostgreSQL leaves them out. All other tests hold on both engines.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import pytest

# By file and name of the test; the file alone where all of it is meant, and the part in brackets
# where only that case differs.
ASIDE = "sets the file of a book aside, which is refused on a server"
BOTH = "goes from one engine to the other by itself, in every run"
NETWORK = "names the folder of the network's authority, which is beside the file"
LOG = "takes away or changes the log beside the file"
_CASE = "errors/test_cases.py::test_what_is_said"
REASONS = {
    "book/test_chains.py::test_the_name_is_gone_from_the_file_itself": "reads the file's bytes",
    "book/test_engine.py::test_a_book_without_the_right_to_write_is_refused_clearly": (
        "takes the right to write from the file and its folder"
    ),
    "book/test_engine.py::test_sqlite_runs_as_it_must": "asks for SQLite's own settings",
    "book/test_schema.py::test_an_added_reference_is_held_and_deferred": (
        "reads SQLite's own catalogue; on a server the models are compared with the references"
    ),
    "book/test_copying.py::test_a_copy_holds_the_same_rows_heads_and_files": BOTH,
    "book/test_copying.py::test_a_damaged_book_gives_no_copy": "damages the file",
    "book/test_copying.py::test_to_the_server_to_another_and_back_nothing_changes": BOTH,
    "book/test_copying.py::test_what_is_there_is_never_written_over": BOTH,
    "book/test_copying.py::test_a_database_with_other_tables_is_not_taken": BOTH,
    "book/test_copying.py::test_a_damaged_book_gives_no_copy_on_a_server": BOTH,
    "book/test_copying.py::test_what_fails_on_the_way_leaves_nothing": BOTH,
    "book/test_copying.py::test_a_backup_of_one_engine_is_restored_on_the_other": BOTH,
    "bench/test_size.py": "counts the memory of an import into a file",
    "cli/test_serve.py::test_lan_serves_pages_and_pairing_and_keeps_its_authority": NETWORK,
    "book/test_copying.py::test_a_shared_folder_of_files_serves_both": BOTH,
    "book/test_people.py::test_wiping_waits_for_nobody_and_says_so": "zeroes the log of the file",
    "cli/test_safekeeping.py::test_a_restore_takes_the_place_of_a_book_only_if_told_so": ASIDE,
    "cli/test_safekeeping.py::test_the_book_that_was_there_lies_aside": ASIDE,
    "faults/test_durable.py::test_a_restored_book_is_on_the_disk": "watches the file being renamed",
    "faults/test_durable.py::test_each_commit_waits_for_the_disk": "asks for SQLite's own settings",
    "faults/test_strange.py::test_a_lost_log_is_found_by_the_heads_that_were_noted": LOG,
    "faults/test_strange.py::test_a_log_of_another_book_is_found_by_the_heads_that_were_noted": LOG,
    "book/test_replacing.py": ASIDE,
    f"{_CASE}[book.AnotherBook]": "names the file of another book, whose heads are compared",
    f"{_CASE}[book.BookDamaged]": "cuts the file short",
    f"{_CASE}[book.BookInUse]": "locks the file; on a server test_engine has another writer",
    f"{_CASE}[book.BookNotReadable]": "lays a folder in the place of the log beside the file",
    f"{_CASE}[book.BookNotWritable]": "changes the head of the file",
    f"{_CASE}[book.BookTakenAway]": "lays another file in the place of the book",
    f"{_CASE}[book.NoBook]": "a database that is missing is told by the server itself",
    f"{_CASE}[book.NoFolder]": "a database lies in no folder",
    f"{_CASE}[book.NotABook]": "names a text file",
    f"{_CASE}[web.AuthorityNotUsable]": NETWORK,
    f"{_CASE}[web.NameOutsideAuthority]": NETWORK,
}


def reason(item: pytest.Item) -> str | None:
    """Say why a test has no place on a server; None where it has one."""
    params = getattr(getattr(item, "callspec", None), "params", {})
    if "sqlite" in params.values() or any("sqlite" in each for each in _pairs(params)):
        return "it holds on PostgreSQL under its other parameter"
    whole = item.nodeid.partition("tests/")[2]
    named = (whole, whole.partition("[")[0], whole.partition("::")[0])
    return next((REASONS[name] for name in named if name in REASONS), None)


def _pairs(params: dict[str, object]) -> list[tuple[object, ...]]:
    """Give the parameters that are an engine together with something else."""
    return [each for each in params.values() if isinstance(each, tuple)]


def words() -> str:
    """Say how many tests are left out."""
    return f"Books on PostgreSQL; left out are {len(REASONS)} about the file: tests/sqlite_only.py"
