"""Bars in time, and what is in force behind them, beside a slow reading of the same rules one child after another.

W3C MusicXML 4.0, "The MIDI-compatible part of MusicXML": notes move a cursor on, `<backup>` and `<forward>` move it,
notes of a chord share the onset of the note before, `<divisions>` count for what is written behind them.
"""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st
from lxml import etree

from excerpts.musicxml.timeline import MOVES, placed, walk, write_measure
from excerpts.score import attributes as states
from excerpts.score.attributes import State, lead_on
from excerpts.score.bars import Bars

_DURATIONS = st.sampled_from(["1", "2", "3", "6", "0.5", "1.25", "", "0", "-1", "x"])
_NOTES = st.builds(
    lambda before, duration: f"<note>{before}{f'<duration>{duration}</duration>' if duration else ''}</note>",
    st.sampled_from(["<pitch/>", "<pitch/>", "<chord/><pitch/>", "<grace/><pitch/>", "<rest/>"]),
    _DURATIONS,
)
_MOVES = st.builds(
    lambda name, duration: f"<{name}><duration>{duration}</duration></{name}>",
    st.sampled_from(["backup", "forward"]),
    _DURATIONS,
)
_ATTRIBUTES = st.builds(
    lambda divisions, fifths: (
        f"<attributes>{f'<divisions>{divisions}</divisions>' if divisions else ''}"
        f"<key><fifths>{fifths}</fifths></key></attributes>"
    ),
    st.sampled_from(["", "", "2", "3", "0.5", "0", "x"]),
    st.integers(-3, 3),
)
_DIRECTIONS = st.builds(lambda offset: f"<direction><offset>{offset}</offset></direction>", _DURATIONS)
_BARS = st.lists(st.one_of(_NOTES, _NOTES, _MOVES, _ATTRIBUTES, _DIRECTIONS), max_size=12).map(
    lambda children: etree.fromstring(f"<measure>{''.join(children)}</measure>")
)


def _number(text: str | None) -> Fraction:
    try:
        return Fraction((text or "0").strip())
    except ValueError:
        return Fraction(0)


def _slowly(
    measure: etree._Element, divisions: Fraction
) -> tuple[list[tuple[Fraction, Fraction, Fraction]], Fraction, Fraction, Fraction]:
    """Onset, duration and cursor of each child; the length of the bar, its last divisions, where the cursor stays."""
    at = furthest = before = Fraction(0)
    found = []
    for child in measure:
        length = max(_number(child.findtext("duration")), Fraction(0)) / divisions
        if child.find("grace") is not None:
            length = Fraction(0)
        if child.tag == "note":
            before = before if child.find("chord") is not None else at
            found.append((before, length, at))
            furthest = max(furthest, before + length)
            at += length if child.find("chord") is None else 0
        elif child.tag == "direction":
            found.append((at + _number(child.findtext("offset")) / divisions, Fraction(0), at))
        else:
            found.append((at, Fraction(0), at))
            at = max(
                Fraction(0), at + {"forward": length, "backup": -length}.get(str(child.tag), Fraction(0))
            )
            told = _number(child.findtext("divisions"))
            divisions = told if told > 0 else divisions
        furthest = max(furthest, at)
    return found, furthest, divisions, at


@given(_BARS, st.sampled_from([Fraction(1), Fraction(4), Fraction(1, 2)]))
def test_bars_are_timed_as_the_slow_way_times_them(measure: etree._Element, divisions: Fraction) -> None:
    time = walk(measure, divisions)
    moments = [(moment.onset, moment.duration, moment.cursor) for moment in time.moments]
    assert (moments, time.length, time.divisions, time.cursor) == _slowly(measure, divisions)


@given(_BARS)
def test_what_is_in_force_behind_a_bar_was_said_last_in_time(measure: etree._Element) -> None:
    state = State()
    lead_on(state, measure)
    found, _, divisions, _ = _slowly(measure, Fraction(1))
    told = [
        (onset, place, child.findtext("key/fifths"))
        for place, (child, (onset, _, _)) in enumerate(zip(measure, found, strict=True))
        if child.tag == "attributes"
    ]
    assert state.divisions == divisions
    assert [key.findtext("fifths") for key in state.keys.values()] == [
        fifths for _, _, fifths in sorted(told)[-1:]
    ]


def test_bars_in_which_nothing_goes_back_are_not_timed_for_what_is_in_force(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """A file may change its divisions before every note: to time all bars before a cut took longer than to read it."""
    bar = (
        "<measure>"
        + "<attributes><divisions>{}</divisions></attributes><note><duration>1</duration></note>" * 3
    )
    part = etree.fromstring(f"<part>{(bar.format(2, 3, 5) + '</measure>') * 100}</part>")
    bars = Bars(part)
    monkeypatch.setattr(states, "walk", None)
    assert bars.state(99).divisions == 5


@given(st.lists(st.one_of(_NOTES, _NOTES, _MOVES, _DIRECTIONS), max_size=12), st.sampled_from([1, 2, 4]))
def test_a_bar_written_anew_from_its_times_has_the_same_times(children: list[str], divisions: int) -> None:
    measure = etree.fromstring(f"<measure>{''.join(children)}</measure>")
    before = walk(measure, Fraction(divisions))
    kept = [moment for moment in before.moments if moment.element.tag not in MOVES]
    write_measure(measure, map(placed, kept), Fraction(divisions), before.cursor)
    after = walk(measure, Fraction(divisions))
    assert [m[:5] for m in after.moments if m.element.tag not in MOVES] == [m[:5] for m in kept]
    assert after.cursor == before.cursor


def test_divisions_count_for_what_stands_behind_them() -> None:
    measure = etree.fromstring(
        "<measure><note><duration>2</duration></note><attributes><divisions>6</divisions></attributes>"
        "<note><duration>6</duration></note></measure>"
    )
    moments = walk(measure, Fraction(2)).moments
    assert [tuple(map(int, (m.onset, m.duration, m.divisions))) for m in moments] == [
        (0, 1, 2),
        (1, 0, 6),
        (1, 1, 6),
    ]
