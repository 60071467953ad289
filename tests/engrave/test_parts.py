"""Several parts cut at the same bars: aligned systems, short names, one box round all staves."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import pytest
from lxml import etree

from excerpts.engrave import Style, System, engrave
from excerpts.engrave.parts import short_name
from excerpts.engrave.svg.rect import Rect, union
from excerpts.errors import EngravingError
from excerpts.excerpt import Excerpt, OpenEnd, Position
from excerpts.score import open_score
from excerpts.score.whole import whole_passage
from excerpts.system.resources import scores
from tests.engrave.audit import audit
from tests.engrave.music import ALTO, BASS, TREBLE, excerpt


def together(*parts: Excerpt, names: tuple[str, ...] = ("Violin I", "Viola", "Cello")) -> Excerpt:
    """One excerpt of several parts; the boxes and bars are those of the first."""
    root = parts[0].tree()
    listed, name = root.find("part-list"), root.find("part-list/score-part/part-name")
    assert listed is not None
    assert name is not None
    name.text = names[0]
    for number, (part, called) in enumerate(zip(parts[1:], names[1:], strict=False), start=2):
        body = part.tree().find("part")
        assert body is not None
        body.set("id", f"P{number}")
        entry = etree.SubElement(listed, "score-part", id=f"P{number}")
        etree.SubElement(entry, "part-name").text = called
        root.append(body)
    return replace(parts[0], xml=etree.tostring(root))


def trio(bars: int = 4, **more: object) -> Excerpt:
    box = [(1, 0, bars - 2, None)]
    return together(
        excerpt(["C5:q D5:q E5:q F5:q"] * bars, box, **more),  # type: ignore[arg-type]
        excerpt(["C4:h:p F4:h"] * bars, clef=ALTO),
        excerpt(["C3:q E3:q:up C2:q G2:q:4"] * bars, clef=BASS),
    )


def test_all_staves_stand_in_one_system_with_their_bars_aligned() -> None:
    engraving = engrave(trio(), Style(), ("1",))
    (system,) = engraving.systems
    assert engraving.log == ()
    assert [bar.bar for bar in system.bars] == [0, 1, 2, 3]
    assert {note.staff for note in system.notes} == {1, 2, 3}
    firsts = {
        note.bar: [n.x for n in system.notes if n.bar == note.bar and n.onset == 0] for note in system.notes
    }
    for bar, xs in firsts.items():
        assert len(xs) == 3, bar
        assert max(xs) - min(xs) < 1.5
    staves = sorted({(n.staff, n.pitch[:1]) for n in system.notes if n.staff == 2})
    assert staves == [(2, "C"), (2, "F")]


def test_barlines_stay_within_each_part() -> None:
    (system,) = engrave(trio(), Style(), ("1",)).systems
    heights = [c.ink.rect.height for c in system.drawing.inks if c.ink.owner.kind == "barLine"]
    assert all(height == pytest.approx(Style().staff_mm, abs=0.3) for height in heights)
    assert len(heights) >= 12


def test_the_box_goes_round_all_staves_and_context_is_grey_in_each() -> None:
    engraving = engrave(trio(), Style(), ("1",))
    (system,) = engraving.systems
    (box,) = system.boxes
    (top, _), *_, (_, bottom) = system.staves
    assert box.rect.top < top
    assert box.rect.bottom > bottom
    assert bottom - top > 3 * Style().staff_mm
    assert audit(engraving) == []
    for note in system.notes:
        assert note.boxed == (note.bar in {1, 2})
        assert note.boxed == (box.rect.left < note.x < box.rect.right)


def _names(system: System) -> list[Rect]:
    """The part names, from top to bottom."""
    left = system.bars[0].left
    letters = [
        c.ink.rect.moved(dy=-system.drawing.top_mm)
        for c in system.drawing.inks
        if c.ink.owner.kind == "label" and c.ink.rect.right < left
    ]
    rows: list[list[Rect]] = []
    for rect in sorted(letters, key=lambda rect: rect.bottom):
        if rows and rect.top < rows[-1][0].bottom:
            rows[-1].append(rect)
        else:
            rows.append([rect])
    return [union(row) for row in rows]


def test_short_names_stand_at_the_middle_of_their_staves_on_every_system() -> None:
    systems = engrave(trio(16), Style(), ("1",)).systems
    assert len(systems) > 1
    for system in systems:
        names = _names(system)
        assert len(names) == 3
        middles = sorted((n.head.top + n.head.bottom) / 2 for n in system.notes if n.pitch == "C5")
        assert names[0].left >= 0
        for name in names:
            assert name.right < system.bars[0].left - 2
        assert abs((names[0].top + names[0].bottom) / 2 - (middles[0])) < Style().staff_mm / 2


def test_one_part_has_no_name() -> None:
    assert _names(engrave(excerpt(["C5:w"]), Style()).systems[0]) == []
    assert engrave(excerpt(["C5:w"]), Style()).systems[0].bars[0].left < 1


@pytest.mark.parametrize(
    ("xml", "name"),
    [
        ("<part-name>Violin I</part-name><part-abbreviation>V. 1</part-abbreviation>", "V. 1"),
        ("<part-name>Violin I</part-name>", "Vln. I"),
        ("<part-name>1st Violin</part-name>", "1st Vln."),
        ("<part-name>Viola</part-name>", "Vla."),
        ("<part-name>Violoncello</part-name>", "Vc."),
        ("<part-name>Cello 2</part-name>", "Vc. 2"),
        ("<part-name>Double Bass</part-name>", "Db."),
        ("<part-name>Vc. 2</part-name>", "Vc. 2"),
        ("<part-name>Bratsche</part-name>", "Vla."),
        ("<part-name>Geige I</part-name>", "Vln. I"),
        ("<part-name>Flute</part-name>", "Flute"),
        ("<part-name>Alto Flute</part-name>", "Alto Flute"),
    ],
)
def test_short_names_are_the_source_s_or_the_customary_ones(xml: str, name: str) -> None:
    assert short_name(etree.fromstring(f"<score-part>{xml}</score-part>")) == name


def test_a_long_name_is_cut_to_what_has_room() -> None:
    long = trio()
    root = long.tree()
    for name in root.iter("part-name"):
        name.text = "Extraordinarilylongname of a part"
    (system,) = engrave(replace(long, xml=etree.tostring(root)), Style(), ("1",)).systems
    names = _names(system)
    assert len(names) == 3
    assert all(0 <= name.left and name.width < 3.6 * Style().staff_mm for name in names)


@pytest.mark.parametrize("part", [0, 1, 2])
def test_open_ends_are_drawn_at_their_own_part(part: int) -> None:
    pitch = ("F5", "F4", "G2")[part]
    onset = Fraction(2 if part == 1 else 3)
    end = OpenEnd("tie", "end", Position(3, onset), pitch=pitch, staff=part + 1)
    (system,) = engrave(trio(open_ends=[end]), Style(), ("1",)).systems
    (tie,) = [c.ink for c in system.drawing.inks if c.ink.owner.kind == "tie"]
    (head,) = [n.head for n in system.notes if (n.bar, n.onset, n.staff) == (3, onset, part + 1)]
    assert abs(tie.rect.top - system.drawing.top_mm - head.top) < Style().staff_mm / 2


def test_an_open_hairpin_stands_under_its_own_staff() -> None:
    end = OpenEnd("hairpin", "end", Position(3, Fraction(0)), detail="crescendo")
    (system,) = engrave(trio(open_ends=[end]), Style(), ("1",)).systems
    pin = union(c.ink.rect for c in system.drawing.inks if c.ink.owner.kind == "hairpin")
    lower = min(n.head.top for n in system.notes if n.staff == 2)
    assert pin.bottom - system.drawing.top_mm < lower


def test_a_spoken_description_names_all_parts() -> None:
    assert engrave(trio(), Style()).spoken.part == "Violin I, Viola, Cello"


def test_the_demo_trio_is_engraved_without_a_fault() -> None:
    score = open_score(scores() / "three-doors-trio.musicxml")
    for address in ("1-4", "9-12", "23-24"):
        engraving = engrave(whole_passage(score, address).cut(context=1), Style(staff_mm=6.0), ("1",))
        assert engraving.log == ()
        assert audit(engraving) == []
        assert {len(_names(system)) for system in engraving.systems} == {3}


def test_parts_of_different_length_are_refused() -> None:
    uneven = together(excerpt(["C5:w", "C5:w"]), excerpt(["C4:w"], clef=TREBLE))
    with pytest.raises(EngravingError, match="1 bars of music and 2 bar numbers"):
        engrave(uneven, Style())
