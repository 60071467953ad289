"""The draws before a performance: even, never twice running, apart from that uniform, and always the same."""

from collections import Counter
from collections.abc import Iterable
from itertools import pairwise, product
from random import Random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from excerpts.week.plan.run_throughs import draw_firsts, draw_orders, shuffled, usual_seed


def _is_fair(firsts: Iterable[int], count: int, then_programme: bool) -> bool:
    """The rule in its own words: different on consecutive days, even to one, with the programme's day too."""

    def even(row: list[int]) -> bool:
        counts = [row.count(piece) for piece in range(count)]
        return max(counts) - min(counts) <= 1

    row = list(firsts)
    whole = [*row, 0] if then_programme else row
    return even(row) and even(whole) and all(one != other for one, other in pairwise(whole))


@settings(max_examples=200, deadline=None)
@given(st.integers(2, 9), st.integers(0, 14), st.booleans(), st.integers())
def test_first_pieces_differ_and_are_even(count: int, days: int, programme: bool, seed: int) -> None:
    firsts = draw_firsts(count, days, Random(seed), then_programme=programme)
    assert len(firsts) == days
    assert _is_fair(firsts, count, programme)


@settings(deadline=None)
@given(st.integers(1, 9), st.integers(0, 14), st.integers())
def test_every_order_has_every_piece_once(count: int, days: int, seed: int) -> None:
    orders = draw_orders(count, days, Random(seed))
    assert [sorted(order) for order in orders] == [list(range(count))] * days
    assert orders == draw_orders(count, days, Random(seed))


@settings(max_examples=200, deadline=None)
@given(st.integers(2, 6), st.integers(0, 7), st.integers(0, 7), st.booleans(), st.integers())
def test_the_days_before_count_for_first_pieces(
    count: int, earlier: int, days: int, programme: bool, seed: int
) -> None:
    """A draw that goes on over a lesson is as fair as one without a lesson in it."""
    random = Random(seed)
    before = draw_firsts(count, earlier, random)
    after = draw_firsts(count, days, random, then_programme=programme, before=before)
    whole = [*before, *after]
    assert len(after) == days
    if _can_follow(before, count, days, programme):
        assert _is_fair(whole, count, programme)
    elif before and days and not programme:
        assert after[0] != before[-1]


def _can_follow(before: list[int], count: int, days: int, programme: bool) -> bool:
    rows = product(range(count), repeat=days) if count**days < 5000 else ()
    return count**days >= 5000 or any(_is_fair([*before, *row], count, programme) for row in rows)


def test_an_uneven_past_still_keeps_the_days_apart() -> None:
    for n in range(50):
        assert draw_firsts(3, 2, Random(n), before=[0, 0, 0, 0])[0] != 0


def test_a_single_piece_is_all_there_is() -> None:
    assert draw_orders(1, 3, Random(1), then_programme=True) == [[0]] * 3


def test_seeds_are_short_and_differ() -> None:
    seeds = {usual_seed(player, f"2026-11-{day:02d}") for player in ("Ada", "Bo") for day in range(1, 31)}
    assert len(seeds) == 60
    assert all(len(seed) == 6 and seed.isdecimal() for seed in seeds)


def _chi_square(counts: Counter[tuple[int, ...]], cells: int) -> float:
    expected = counts.total() / cells
    seen = sum((count - expected) ** 2 for count in counts.values())
    return (seen + (cells - len(counts)) * expected**2) / expected


# Critical values of chi-square at 0.001 (NIST/SEMATECH e-Handbook, section 1.3.6.7.4, from memory).
_CRITICAL = {5: 20.515, 17: 40.790, 23: 49.728}


@pytest.mark.slow
@pytest.mark.parametrize(
    ("count", "days", "programme"), [(3, 4, False), (4, 3, False), (3, 5, True), (3, 3, True)]
)
def test_every_fair_row_of_first_pieces_is_as_likely(count: int, days: int, programme: bool) -> None:
    """Slow tier: 10,000 draws against the list of all fair rows, made the plain way by trying every row."""
    fair = [row for row in product(range(count), repeat=days) if _is_fair(row, count, programme)]
    counts = Counter(
        tuple(draw_firsts(count, days, Random(f"seed {n}"), then_programme=programme)) for n in range(10_000)
    )
    assert set(counts) <= set(fair)
    # Wilson and Hilferty's approximation (1931) gives the critical value for any number of cells; 3.09 is the
    # normal deviate of 0.001.
    free = len(fair) - 1
    critical = free * (1 - 2 / (9 * free) + 3.09 * (2 / (9 * free)) ** 0.5) ** 3
    assert _chi_square(counts, len(fair)) < critical


@pytest.mark.slow
def test_every_order_is_as_likely() -> None:
    """Slow tier: 10,000 shuffles of four, and 10,000 first days of three, against the table."""
    four = Counter(tuple(shuffled(range(4), Random(f"a {n}"))) for n in range(10_000))
    assert _chi_square(four, 24) < _CRITICAL[23]
    three = Counter(tuple(draw_orders(3, 2, Random(f"b {n}"))[1]) for n in range(10_000))
    assert _chi_square(three, 6) < _CRITICAL[5]


@pytest.mark.slow
def test_the_chi_square_would_see_a_draw_that_is_not_fair() -> None:
    """Slow tier: to choose each day evenly among those that can still be first is not uniform over whole rows."""
    fair = [row for row in product(range(3), repeat=4) if _is_fair(row, 3, then_programme=False)]

    def naive(random: Random) -> tuple[int, ...]:
        row: tuple[int, ...] = ()
        while len(row) < 4:
            following = sorted({one[len(row)] for one in fair if one[: len(row)] == row})
            row = (*row, random.choice(following))
        return row

    counts = Counter(naive(Random(f"c {n}")) for n in range(10_000))
    assert len(fair) == 18
    assert _chi_square(counts, len(fair)) > _CRITICAL[17]
