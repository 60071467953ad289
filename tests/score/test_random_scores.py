"""Laws of cutting, on small scores made at random (default tier).

Every cut is valid, is what a second reader finds in the source, hangs nowhere, engraves clean, and cut again is
itself.
"""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from excerpts.score import score_from_bytes
from tests.corpus.check import faults
from tests.corpus.compare import Source
from tests.corpus.engraver import complaints
from tests.corpus.reading import document
from tests.schema import schema_errors
from tests.score.random_scores import FEATURES, make_score


@pytest.mark.slow
@settings(max_examples=100, deadline=None)
@given(
    features=st.frozensets(st.sampled_from(FEATURES), max_size=12),
    bars=st.integers(2, 6),
    seed=st.integers(0, 10_000),
    first=st.integers(0, 5),
    span=st.integers(0, 2),
    context=st.integers(0, 1),
)
def test_cuts_of_random_scores(
    features: frozenset[str], bars: int, seed: int, first: int, span: int, context: int
) -> None:
    data = make_score(seed, bars, features)
    assert schema_errors(data) == []
    first = min(first, bars - 1)
    last = min(first + span, bars - 1)
    part = score_from_bytes(data, "random").part("#1")
    excerpt = part.passage(f"@{first + 1}-@{last + 1}").cut(context)
    assert schema_errors(excerpt.xml) == []
    begin, end = max(0, first - context), min(bars - 1, last + context)
    assert Source(document(data)).part(0).differences(excerpt, begin, end) == []
    moved = f"@{first - begin + 1}-@{last - begin + 1}"
    log = complaints(excerpt.xml)
    assert log == [] or faults(log, complaints(data)) == []
    again = score_from_bytes(excerpt.xml, "again").part().passage(moved).cut(context)
    assert again.xml == excerpt.xml
