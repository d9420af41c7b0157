"""Finding phrases quickly gives what looking for each of them gives."""

from __future__ import annotations

import re

from hypothesis import given
from hypothesis import strategies as st

from recondition.condition.cautions import says, says_any

_WORDS = ["sand", "sanding", "wheel", "off", "heat", "wheat", "a", "dry", "ice", "2k", "_", "("]
_SAID = st.lists(st.sampled_from(_WORDS), max_size=6).map(" ".join)
_TEXTS = _SAID | st.text("ab+ _.(", max_size=9)
_PHRASES = st.sampled_from(["sand", "wheel+off", "dry ice", "heat", "2k", "(", ".", "off + wheel"])


def plainly(text: str, phrase: str) -> bool:
    """Look for every part as the start of a word, one by one."""
    parts = [re.escape(part.strip()) for part in phrase.split("+")]
    return all(re.search(rf"(?<![^\W_]){part}", text) for part in parts)


@given(_TEXTS, st.lists(_PHRASES, max_size=4).map(tuple))
def test_a_text_says_a_phrase_where_each_part_starts_a_word(
    text: str, phrases: tuple[str, ...]
) -> None:
    for phrase in phrases:
        assert says(text, phrase) == plainly(text, phrase)
    assert says_any(text, phrases) == any(plainly(text, phrase) for phrase in phrases)
