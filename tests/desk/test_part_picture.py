"""The drawn part: its lines and what is told of them (default tier).

Outside check: music21 counts the bars and their numbers.
"""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path

import pytest

from excerpts.desk.part_picture import Drawn, Lines, PartPicture, as_json
from excerpts.engrave import Boxed
from excerpts.score import open_score, score_from_bytes
from excerpts.score.address import Resolver
from excerpts.score.bars import BarRange
from excerpts.score.write_address import address_of
from excerpts.system.resources import scores
from tests.music import bars_of

QUARTERS = "C5:1 D5:1 E5:1 F5:1"


def all_lines(picture: PartPicture) -> list[Lines]:
    found: list[Lines] = []
    while (lines := picture.lines(len(found))) is not None:
        found.append(lines)
    return found


def own(name: str) -> Path:
    return next(path for path in scores().iterdir() if path.stem == name)


@pytest.mark.parametrize("name", ["gale-concerto-1", "evening-ferry"])
def test_every_bar_is_drawn_once_with_its_own_number(name: str) -> None:
    import music21

    part = open_score(own(name)).part("#1")
    picture = Drawn().picture(part, 160, 0)
    told = [
        bar for lines in all_lines(picture) for system in as_json(picture, lines) for bar in system["bars"]
    ]
    places = [place for bar in told for place in range(bar["place"], bar["place"] + bar["count"])]
    counted = list(music21.converter.parse(own(name)).parts[0].getElementsByClass("Measure"))
    assert places == list(range(1, len(counted) + 1))
    numbers = [str(counted[bar["place"] - 1].measureNumberWithSuffix()) for bar in told]
    assert [bar["label"] for bar in told] == numbers


def test_what_may_be_boxed_can_be_named() -> None:
    """Each point inside a bar, as the beginning and as the end of a box."""
    part = open_score(own("evening-ferry")).part("#1")
    picture = Drawn().picture(part, 160, 0)
    resolver = Resolver(part.bars, "test")
    count = 0
    for system in as_json(picture, all_lines(picture)[0]):
        for bar in system["bars"]:
            index = bar["place"] - 1
            length = part.bars.length(index)
            xs = [bar["left"], *(x for _, x, _, _ in bar["cuts"]), bar["right"]]
            assert xs == sorted(xs)
            for onset, _, _, _ in bar["cuts"]:
                here = Fraction(onset)
                opening = BarRange(index, here, index, length)
                assert resolver.resolve(address_of(part.bars, opening, "test")) == opening
                closing = BarRange(index, Fraction(0), index, here)
                assert resolver.resolve(address_of(part.bars, closing, "test")) == closing
                count += 1
    assert count > 20


def test_a_box_ends_where_a_beat_or_a_note_names_its_end() -> None:
    """Not after the first quaver of a beat, for "1" is the whole beat; after a semiquaver, whose "2.25" is itself."""
    part = score_from_bytes(bars_of("C5:1/2 D5:1/2 E5:1/4 F5:1/4 G5:1/4 F5:1/4 E5:3/2 D5:1/2"), "test").part()
    (lines,) = all_lines(picture := Drawn().picture(part, 160, 0))
    cuts = as_json(picture, lines)[0]["bars"][0]["cuts"]
    ends = [Fraction(onset) for onset, _, _, may_end in cuts if may_end]
    assert [Fraction(cut[0]) for cut in cuts] == [
        Fraction(at) for at in ("1/2", "1", "5/4", "3/2", "7/4", "2", "3", "7/2")
    ]
    assert ends == [1, Fraction("3/2"), 2, 3]
    named = [address_of(part.bars, BarRange(0, Fraction(0), 0, end), "test") for end in ends]
    assert named == ["1-1:1", "1-1:2.25", "1-1:2", "1-1:3"]


def test_rests_are_one_bar_that_stands_for_several() -> None:
    part = score_from_bytes(bars_of(QUARTERS, *["r:4"] * 70, QUARTERS), "test").part()
    picture = Drawn().picture(part, 160, 0)
    told = [
        bar for lines in all_lines(picture) for system in as_json(picture, lines) for bar in system["bars"]
    ]
    assert [(bar["place"], bar["count"]) for bar in told] == [(1, 1), (2, 70), (72, 1)]
    box = Boxed((5, Fraction(0)), (72, Fraction(4)), "1")
    rects = [place for lines in all_lines(picture) for over in lines.overlays((box,)) for place in over.boxes]
    assert len(rects) == 1


def test_a_part_is_drawn_once() -> None:
    drawn = Drawn()
    part = open_score(own("evening-ferry")).part("#1")
    picture = drawn.picture(part, 160, 0)
    assert drawn.picture(part, 160, 0) is picture
    assert drawn.picture(part, 150, 0) is not picture
    first = picture.lines(0)
    again = drawn.picture(open_score(own("evening-ferry")).part("#1"), 160, 0)
    assert again is not picture
    fresh = again.lines(0)
    assert first is not None
    assert fresh is not None
    assert fresh.engraving is first.engraving  # the same music, opened anew


def test_a_box_changes_the_lines_that_it_stands_on_alone() -> None:
    part = open_score(own("gale-concerto-1")).part("#1")
    lines = Drawn().picture(part, 160, 0).lines(0)
    assert lines is not None
    last = lines.engraving.bars[lines.systems[-1].bars[0].bar].place
    one = Boxed((1, Fraction(0)), (2, Fraction(1)), "1")
    other = Boxed((last, Fraction(0)), (last, Fraction(1)), "2")
    before, after = lines.overlays((one,)), lines.overlays((one, other))
    assert [a is b for a, b in zip(before[:1], lines.overlays((one,))[:1], strict=True)] == [True]
    assert before[0].svg == after[0].svg
    assert before[-1].svg != after[-1].svg
