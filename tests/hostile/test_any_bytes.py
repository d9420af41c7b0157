"""Any bytes, and good input with a few bytes changed, give a value or a refusal; nothing else."""

from __future__ import annotations

import warnings
from typing import TYPE_CHECKING

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tests.hostile.targets import TARGETS

if TYPE_CHECKING:
    from tests.history.released import Released

# Those that take tens of milliseconds each are drawn less often.
SLOW = {"workbook-part", "workbook-file", "backup-part", "backup-file", "csv", "history-folder",
        "history-zip", "pdf", "document"}  # fmt: skip
HURRIED = 6
LOADED = "\0", "9" * 5000, "[" * 3000, "\ud800", "\u202e", "1e999999999", "NaN", "&a;", "<!DOCTYPE"
CHECKED = [HealthCheck.too_slow, HealthCheck.function_scoped_fixture, HealthCheck.data_too_large]


def changed(seed: bytes, changes: list[tuple[int, int, bytes]]) -> bytes:
    """Cut stretches out of an input, and put other bytes in their places."""
    for at, length, put in changes:
        place = at % (len(seed) + 1)
        seed = seed[:place] + put + seed[place + length :]
    return seed


PUT = st.binary(max_size=12) | st.sampled_from(LOADED).map(
    lambda text: text.encode("utf-8", "surrogatepass")
)
CHANGES = st.lists(st.tuples(st.integers(0, 10**6), st.integers(0, 40), PUT), max_size=4)


@pytest.mark.parametrize("name", TARGETS)
def test_a_value_or_a_refusal(name: str, history: Released) -> None:
    assert history.files
    target = TARGETS[name]
    seeds = list(target.seeds())

    @settings(
        max_examples=HURRIED if name in SLOW else 30, deadline=10_000,
        suppress_health_check=CHECKED, database=None,
    )  # fmt: skip
    @given(st.binary(max_size=400) | st.builds(changed, st.sampled_from(seeds), CHANGES))
    def held(data: bytes) -> None:
        target.run(data)

    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        held()


@pytest.mark.long
@pytest.mark.parametrize("name", TARGETS)
def test_good_inputs_are_taken(name: str, history: Released) -> None:
    assert history.files
    for seed in TARGETS[name].seeds():
        TARGETS[name].run(seed)
