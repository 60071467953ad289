"""What an engraving tells of where its music stands (default tier).

Outside checks: music21 tells which notes begin where; the pitch of a head tells its height on a treble staff.
"""

from __future__ import annotations

import json
from collections import Counter
from fractions import Fraction
from itertools import pairwise

import pytest

from excerpts.engrave import Geometry, Style, engrave
from excerpts.excerpt import Excerpt
from excerpts.score import open_score
from excerpts.system.resources import scores
from tests.engrave.test_complete import music, one
from tests.engrave.test_parts import trio

STYLE = Style(width_mm=150.0)
CUTS = [
    ("evening-ferry", "#1", "@3-@10", 1),
    ("gale-concerto-1", "#1", "@12-@20", 0),
    ("loom-study", "#1", "@1-@9", 2),
    ("mill-wheel-dance", "#1", "@5-@12", 1),
    ("weir-study", "#1", "@2-@7", 0),
]


def cut(name: str, part: str, bars: str, context: int) -> Excerpt:
    path = next(path for path in scores().iterdir() if path.stem == name)
    return open_score(path).part(part).passage(bars).cut(context=context)


def geometry(excerpt: Excerpt) -> Geometry:
    return engrave(excerpt, STYLE, ("1",)).geometry


@pytest.mark.parametrize("which", CUTS, ids=lambda which: which[0])
def test_the_bars_are_those_of_the_excerpt_and_adjoin(which: tuple[str, str, str, int]) -> None:
    excerpt = cut(*which)
    systems = geometry(excerpt).systems
    told = [(bar.place, bar.label) for system in systems for bar in system.bars]
    assert told == [(bar.place, bar.label) for bar in excerpt.bars]
    for system in systems:
        assert all(one.right == pytest.approx(after.left, abs=0.1) for one, after in pairwise(system.bars))
        assert 0 <= system.bars[0].left < system.bars[-1].right <= system.width
    assert all(system.bars[-1].right == pytest.approx(STYLE.width_mm, abs=0.3) for system in systems[:-1])


@pytest.mark.parametrize("which", CUTS, ids=lambda which: which[0])
def test_the_heads_are_those_that_another_reader_counts(which: tuple[str, str, str, int]) -> None:
    import music21

    excerpt = cut(*which)
    counted = Counter(
        (excerpt.bars[bar].place, Fraction(note.getOffsetInHierarchy(measure)), pitch.step, pitch.octave)
        for bar, measure in enumerate(music21.converter.parse(excerpt.xml).parts[0].getElementsByClass("Measure"))
        for note in measure.recurse().notes
        if not note.duration.isGrace
        for pitch in note.pitches
    )  # fmt: skip
    heads = [head for system in geometry(excerpt).systems for head in system.heads]
    assert counted
    assert counted == Counter(
        (head.place, head.onset, head.pitch[0], int(head.pitch[-1])) for head in heads if not head.grace
    )


@pytest.mark.parametrize("which", CUTS, ids=lambda which: which[0])
def test_every_head_stands_in_its_bar(which: tuple[str, str, str, int]) -> None:
    for system in geometry(cut(*which)).systems:
        edges = {bar.place: bar for bar in system.bars}
        assert len(system.staves) == 1
        for head in system.heads:
            bar = edges[head.place]
            assert bar.left < head.rect.left < head.rect.right < bar.right
            assert 0 < head.rect.top < head.rect.bottom < system.height
        columns = sorted((head.place, head.onset, head.rect.left) for head in system.heads if not head.grace)
        for (bar_of, onset, left), (next_bar, next_onset, next_left) in pairwise(columns):
            assert next_left > left or (bar_of, onset) == (next_bar, next_onset)


def test_the_height_of_a_head_on_its_staff_is_that_of_its_pitch() -> None:
    pitches = "CDEFGAB"
    systems = geometry(music(*["".join(one(pitch, 8, "quarter") for pitch in pitches[:4])] * 9)).systems
    assert len(systems) > 1
    for system in systems:
        ((top, bottom),) = system.staves
        assert bottom - top == pytest.approx(STYLE.staff_mm, abs=0.01)
        for head in system.heads:
            steps = (
                7 * int(head.pitch[-1]) + pitches.index(head.pitch[0]) - (7 * 4 + 2)
            )  # E4 is the bottom line
            middle = (head.rect.top + head.rect.bottom) / 2
            assert middle == pytest.approx(bottom - steps * STYLE.staff_mm / 8, abs=0.1)


def test_staves_are_counted_from_the_top_over_all_parts() -> None:
    (system,) = geometry(trio()).systems
    assert len(system.staves) == 3
    assert {head.staff for head in system.heads} == {1, 2, 3}
    for head in system.heads:
        distances = [
            abs((head.rect.top + head.rect.bottom - top - bottom) / 2) for top, bottom in system.staves
        ]
        assert distances.index(min(distances)) == head.staff - 1


def test_rests_have_no_head_and_unpitched_notes_have() -> None:
    unpitched = "<unpitched><display-step>B</display-step><display-octave>4</display-octave></unpitched>"
    drum = one("R", 8, "quarter").replace("<rest/>", unpitched)
    (system,) = geometry(music(one("R", 8, "quarter") + drum + one("R", 16, "half"))).systems
    assert [(head.onset, head.pitch) for head in system.heads] == [(Fraction(1), "")]


def test_the_json_form_says_the_same() -> None:
    told = geometry(cut(*CUTS[0]))
    read = json.loads(json.dumps(told.to_json()))
    assert (read["format"], read["unit"]) == (1, "mm")
    for system, values in zip(told.systems, read["systems"], strict=True):
        assert set(values) == {"width", "height", "bars", "staves", "heads"}
        assert [(bar["place"], bar["label"]) for bar in values["bars"]] == [bar[:2] for bar in system.bars]
        assert [(staff["top"], staff["bottom"]) for staff in values["staves"]] == [
            pytest.approx(tuple(staff), abs=0.001) for staff in system.staves
        ]
        for head, row in zip(system.heads, values["heads"], strict=True):
            assert set(row) == {"place", "onset", "staff", "rect", "pitch", "grace"}
            assert (row["place"], Fraction(row["onset"]), row["staff"]) == (
                head.place,
                head.onset,
                head.staff,
            )
            assert row["rect"] == pytest.approx(list(head.rect), abs=0.001)
