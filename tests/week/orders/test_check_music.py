from pathlib import Path

import pytest

from excerpts.week import load_week
from excerpts.week.orders.check import check_week, check_week_music
from excerpts.week.plan import plan_week
from excerpts.week.plan.describe import item_text
from excerpts.words import Words
from tests.week.weeks import HEAD

_NOTE = (
    "<note><pitch><step>D</step><octave>4</octave></pitch><duration>4</duration><voice>1</voice>"
    "<type>whole</type></note>"
)
_PART = "".join(f'<measure number="{n}">{_NOTE}</measure>' for n in range(1, 9))
_SCORE = f"""<?xml version="1.0"?>
<score-partwise version="4.0"><part-list>
<score-part id="P1"><part-name>Violin I</part-name></score-part>
<score-part id="P2"><part-name>Violin II</part-name></score-part>
</part-list><part id="P1">{_PART}</part><part id="P2">{_PART}</part></score-partwise>"""
_PIECE = '[[piece]]\nid = "a"\ntitle = "A"\nscore = "a.musicxml"\n'

# The piece starts on line 9, what follows it on line 14.
_GOOD = 'part = "Violin I"\n[[box]]\nid = 1\npiece = "a"\nbars = "3-4"\n[[warmup]]\nkey = "D"\noctaves = 2\n'


def _faults(folder: Path, text: str) -> list[tuple[int | None, str, str]]:
    (folder / "a.musicxml").write_text(_SCORE)
    (folder / "broken.musicxml").write_text("<score-partwise><part")
    path = folder / "week.toml"
    path.write_text(HEAD + _PIECE + text)
    return [(fault.line, fault.key, fault.message) for fault in check_week_music(load_week(path)).faults]


def test_a_week_that_can_be_played_has_no_faults(tmp_path: Path) -> None:
    assert _faults(tmp_path, _GOOD) == []
    assert _faults(tmp_path, _GOOD + '[[box]]\nid = 2\nabc = "K:D\\nDEFG|"\n') == []


@pytest.mark.parametrize(
    ("old", "new", "line", "key", "said"),
    [
        ('"Violin I"', '"Viola"', 13, 'piece "a", part', "Violin II"),
        ('"3-4"', '"7-9"', 17, 'box "1", bars', "8"),
        ('"3-4"', '"4-3"', 17, 'box "1", bars', "4"),
        ("octaves = 2", "octaves = 4", 18, "warmup 1", "octave"),
        ("octaves = 2", "slur = 8", 18, "warmup 1", "do not divide"),
        ("octaves = 2", "turn = true\noctaves = 2", 18, "warmup 1", "three octaves"),
        (
            "[[warmup]]",
            "[[technique]]\nkey = 'C'\npattern = 'thirds'\nfrom = 'C7'\n[[warmup]]",
            18,
            "technique 1",
            "does not fit",
        ),
        ("octaves = 2", "fingerings = 'loud'", 18, "warmup 1", "are not fingerings"),
        ("octaves = 2", "from = 'Q'", 18, "warmup 1", "Q"),
        ("[[warmup]]", "[[technique]]\npiece = 'a'\nbars = '99'\n[[warmup]]", 20, "technique 1, bars", "99"),
        (
            "[[warmup]]",
            "[[technique]]\npiece = 'a'\nbars = '1-4'\nshort = '4-5'\n[[warmup]]",
            21,
            "technique 1, short",
            "not among the bars 1-4",
        ),
        (
            "[[warmup]]",
            "[[technique]]\npiece = 'a'\nbars = '1-4'\nshort = '40'\n[[warmup]]",
            21,
            "technique 1, short",
            "40",
        ),
        ("[[warmup]]", "[[box]]\nid = 2\nabc = '12'\n[[warmup]]", 20, 'box "2", abc', "ABC"),
        (
            "[[warmup]]",
            "[[piece]]\nid = 2\ntitle = 'B'\nscore = 'broken.musicxml'\n[[warmup]]",
            21,
            'piece "2", score',
            "broken.musicxml",
        ),
    ],
)
def test_what_the_music_does_not_allow_is_told(
    tmp_path: Path, old: str, new: str, line: int, key: str, said: str
) -> None:
    faults = _faults(tmp_path, _GOOD.replace(old, new))
    assert [(found, name) for found, name, _ in faults] == [(line, key)]
    assert said in faults[0][2]


_ABC = """[[box]]
id = "run"
abc = \"\"\"
M:4/4
L:1/4
K:{key}
D F A d e | d4 |
hello {end}\"\"\"
[[warmup]]"""


@pytest.mark.parametrize("end", ["", "\n"])
def test_each_fault_of_typed_bars_has_its_line(tmp_path: Path, end: str) -> None:
    text = _GOOD.replace("[[warmup]]", _ABC.format(key="Z", end=end))
    faults = _faults(tmp_path, text)
    assert [(line, key) for line, key, _ in faults] == [(number, 'box "run", abc') for number in (23, 24, 25)]
    said = [message for _, _, message in faults]
    assert said[0].startswith('"K:Z" is not a key')
    assert said[1].startswith("Bar 1 has 5 crotchets")
    assert said[2].startswith('"hello" is not music')


def test_a_scale_may_be_technique(tmp_path: Path) -> None:
    """It is checked, planned and named as a warm-up is, in the section of technique."""
    assert _faults(tmp_path, _GOOD + '[[technique]]\nkey = "G"\npattern = "sixths"\nslur = 2\n') == []
    week = load_week(tmp_path / "week.toml")
    items = [item for day in plan_week(week).days for item in day.section("technique")]
    assert {item.technique for item in items} == {0}
    assert item_text(items[0], week, Words()) == "G major in sixths"


@pytest.mark.parametrize("kind", ["[[box]]\nid = 1\nbars = '3'", "[[technique]]\nbars = '3'"])
def test_open_strings_are_those_of_the_player_whatever_the_part_is_called(tmp_path: Path, kind: str) -> None:
    """A bass player with a cello part is told which notes the bass lacks: its lowest string is written E2."""
    score = _SCORE.replace("Violin I<", "Cello<").replace("<octave>4<", "<octave>2<")
    (tmp_path / "cello.musicxml").write_text(score.replace("<step>D<", "<step>C<"))
    head = HEAD.replace('"violin"', '"bass"')
    piece = '[[piece]]\nid = "a"\ntitle = "A"\nscore = "cello.musicxml"\npart = "Cello"\n'
    path = tmp_path / "week.toml"
    path.write_text(head + piece + kind + '\npiece = "a"\nvariants = ["open-strings"]\n')
    said = [fault.message for fault in check_week(path).told]
    assert any("the bass has no string for C2 in bar 3" in message for message in said), said
