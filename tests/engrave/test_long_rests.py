"""Bars of rest that follow one another are one sign, and nothing that is looked for is lost in it."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction

import pytest

from excerpts.engrave import Engraving, Style, engrave
from excerpts.excerpt import Box, Position
from excerpts.score import open_score
from excerpts.workbook.annotated import annotate

NOTE = "<note><pitch><step>G</step><octave>4</octave></pitch><duration>4</duration><type>whole</type></note>"
REST = '<note><rest measure="yes"/><duration>4</duration></note>'
FERMATA = REST.replace("</note>", "<notations><fermata/></notations></note>")
WORDS = "<direction><direction-type><words>Solo</words></direction-type></direction>"
DOUBLE = '<barline location="right"><bar-style>light-light</bar-style></barline>'
HEAD = (
    "<attributes><divisions>1</divisions><time><beats>4</beats><beat-type>4</beat-type></time>"
    "<clef><sign>G</sign><line>2</line></clef></attributes>"
)
NEW_KEY = "<attributes><key><fifths>2</fifths></key></attributes>"


def _engraved(tmp_path: object, bars: Sequence[str], boxes: Sequence[str] = ("1",)) -> Engraving:
    path = tmp_path / "part.musicxml"  # type: ignore[operator]
    measures = "".join(
        f'<measure number="{n}">{HEAD if n == 1 else ""}{bar}</measure>'
        for n, bar in enumerate(bars, start=1)
    )
    path.write_text(
        '<score-partwise version="4.0"><part-list><score-part id="P1"><part-name>Violin</part-name></score-part>'
        f'</part-list><part id="P1">{measures}</part></score-partwise>'
    )
    made = annotate(open_score(path).part(None), boxes)
    return engrave(made.excerpt, Style(grey_context=False, long_rests=True), made.labels)


def _signs(engraving: Engraving) -> list[int]:
    """For how many bars each bar that is drawn stands."""
    return [bar.count for bar in engraving.bars]


@pytest.mark.parametrize(
    ("bars", "counts"),
    [
        ([NOTE, *[REST] * 7, NOTE], [1, 7, 1]),
        ([NOTE, REST, NOTE], [1, 1, 1]),
        ([NOTE, *[REST] * 3, WORDS + REST, REST, NOTE], [1, 3, 2, 1]),
        ([NOTE, REST, REST + DOUBLE, REST, REST, NOTE], [1, 2, 2, 1]),
        ([NOTE, REST, REST, NEW_KEY + REST, REST, NOTE], [1, 2, 2, 1]),
        ([NOTE, REST, REST, FERMATA, NOTE], [1, 2, 1, 1]),
        ([NOTE, REST, REST], [1, 2]),
    ],
)
def test_bars_of_rest_are_one_sign(tmp_path: object, bars: list[str], counts: list[int]) -> None:
    engraving = _engraved(tmp_path, bars)
    assert _signs(engraving) == counts
    assert engraving.missing == ()
    kinds = [ink.owner.kind for system in engraving.systems for ink in system.music]
    assert ("multiRest" in kinds) == (max(counts) > 1)


def test_bars_keep_their_numbers_behind_a_long_rest(tmp_path: object) -> None:
    engraving = _engraved(tmp_path, [NOTE, *[REST] * 7, *[NOTE] * 3], ["1", "10"])
    assert [bar.label for bar in engraving.bars] == ["1", "2", "9", "10", "11"]
    assert [box.box for system in engraving.systems for box in system.boxes] == [0, 1]


def test_a_rest_does_not_go_on_over_the_side_of_a_box(tmp_path: object) -> None:
    engraving = _engraved(tmp_path, [NOTE, *[REST] * 6, NOTE], ["4-5", "7:3-8"])
    assert _signs(engraving) == [1, 2, 2, 1, 1, 1]
    assert [bar.label for bar in engraving.bars] == ["1", "2", "4", "6", "7", "8"]


def test_the_barline_behind_a_long_rest_is_that_of_its_last_bar(tmp_path: object) -> None:
    def lines(bars: list[str]) -> int:
        system = _engraved(tmp_path, bars).systems[0]
        return sum(ink.owner.kind == "barLine" for ink in system.music)

    assert lines([NOTE, REST, REST + DOUBLE, NOTE]) == lines([NOTE, REST, REST, NOTE]) + 1


def test_a_box_over_a_long_rest_stands_over_it(tmp_path: object) -> None:
    from excerpts.engrave.long_rests import with_long_rests

    engraving = _engraved(tmp_path, [NOTE, *[REST] * 4, NOTE], ["2-5"])
    (system,) = engraving.systems
    (box,) = system.boxes
    assert _signs(engraving) == [1, 4, 1]
    rest = next(ink.rect for ink in system.music if ink.owner.kind == "multiRest")
    assert box.rect.left < rest.left < rest.right < box.rect.right
    score = open_score(tmp_path / "part.musicxml").part(None)  # type: ignore[operator]
    excerpt = annotate(score, ["2-5"]).excerpt
    assert with_long_rests(excerpt).boxes == (Box(Position(1, Fraction(0)), Position(1, Fraction(4))),)
