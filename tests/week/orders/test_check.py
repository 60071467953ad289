"""`check` tells at once what a workbook would refuse or leave out. Default tier.

A fault of each kind is put into generated weeks that are right otherwise: it is told with its file, its line and
its key, alone. What the pages of the same week then refuse or lack is what was told.
"""

from __future__ import annotations

import shutil
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

import pytest
from hypothesis import Phase, given, settings
from hypothesis import strategies as st

from excerpts.engrave import Spoken, Style
from excerpts.errors import InputError
from excerpts.variants import title
from excerpts.week import Week, load_week
from excerpts.week.measured import week_music
from excerpts.week.orders import DrillOrders
from excerpts.week.orders.boxes import same_notes
from excerpts.week.orders.check import check_week
from excerpts.week.plan import plan_week
from excerpts.weekfile.scale_items import TechniqueItem
from excerpts.words import Words, capital
from excerpts.workbook.box_pages import BoxPages
from excerpts.workbook.page_names import Names
from excerpts.workbook.page_texts import PageTexts
from excerpts.workbook.reader import reader
from excerpts.workbook.render_cache import Printed, PrintedSystem
from excerpts.workbook.sections import Sections
from excerpts.workbook.workbook_music import Music
from tests.music import bars_of
from tests.week.weeks import HEAD

LINE = "C5:1/2 D5:1/2 E5:1/2 F5:1/2 G5:1/2 F5:1/2 E5:1/2 D5:1/2"
SLUR = "[<notations><slur type='{}' number='1'/></notations>]"
SCORE = bars_of(
    *[LINE] * 4,
    "C5:4",
    "C5:4",
    "r:4",
    f"C5:1{SLUR.format('start')} D5:1 E5:1{SLUR.format('stop')} F5:1",
    "C5:1 D5:1 C5:1 D5:1",
    LINE,
)
"""Bars 1 to 4 and 10 run in quavers, 5 and 6 are semibreves, 7 is a rest, 8 has a slur, 9 only steps."""

PIECE = '[[piece]]\nid = "p"\ntitle = "P"\nscore = "p.musicxml"\n'
GOOD = (
    '[[box]]\nid = "good-{n}"\npiece = "p"\nbars = "1-2"\nvariants = ["long-short", "separate", "sing"]\n',
    '[[box]]\nid = "good-{n}"\npiece = "p"\nbars = "3-4"\nmarks = ["3:1 finger 2", "3 slur 2-3", "3:2 up"]\n',
    '[[box]]\nid = "good-{n}"\npiece = "p"\nplace = "p. 3"\nwhy = "tone"\n',
    '[[warmup]]\nkey = "D"\noctaves = 2\nvariants = ["long-short"]\n',
    '[[warmup]]\ntext = "Open strings"\n',
    '[[technique]]\npiece = "p"\nbars = "1-4"\nshort = "2-3"\n',
    '[[technique]]\nkey = "G"\npattern = "arpeggio"\n',
)
"""What a week may hold besides, all of it right."""


@dataclass(frozen=True)
class Kind:
    """A kind of fault: the text with "# here" behind the line that has it, the key, and what is said.

    Attributes:
        stops: Whether no workbook is made; else it goes on.
        list_file: A list of scales that has the fault, in place of the week file.
    """

    text: str
    key: str
    said: str
    stops: bool = True
    list_file: str = ""


BOX = '[[box]]\nid = "bad"\npiece = "p"\n'
KINDS = {
    "unknown variant": Kind(
        BOX + 'bars = "1-2"\nvariants = ["long-shrt"] # here\n', 'box "bad", variants', "mean 'long-short'"
    ),
    "parameter of a variant": Kind(
        BOX + 'bars = "1"\nvariants = ["burst:99"] # here\n', 'box "bad", variants', "16"
    ),
    "variants that clash": Kind(
        BOX + 'bars = "1"\nvariants = "long-short+short-long" # here\n', 'box "bad", variants', "no sense"
    ),
    "variant that does not fit": Kind(
        BOX + 'bars = "5-6"\nvariants = ["slow", "long-short"] # here\n',
        'box "bad", variants',
        "5-6",
        stops=False,
    ),
    "variant of a box on paper": Kind(
        BOX + 'place = "p. 9"\nvariants = ["long-short"] # here\n',
        'box "bad", variants',
        "needs notes",
        stops=False,
    ),
    "variant of a study": Kind(
        '[[technique]]\npiece = "p"\nbars = "5-6"\nvariants = "burst:4" # here\n',
        "technique {t}, variants",
        "burst:4 needs a run",
        stops=False,
    ),
    "variant of a warm-up": Kind(
        '[[warmup]]\nkey = "D"\nvariants = ["lower-line"] # here\n',
        "warmup {w}, variants",
        "double stop",
        stops=False,
    ),
    "bar": Kind(BOX + 'bars = "99" # here\n', 'box "bad", bars', "no bar 99"),
    "bars of a study": Kind(
        '[[technique]]\npiece = "p"\nbars = "99" # here\n', "technique {t}, bars", "no bar 99"
    ),
    "bars for a short day": Kind(
        '[[technique]]\npiece = "p"\nbars = "1-4"\nshort = "4-5" # here\n',
        "technique {t}, short",
        "not among",
    ),
    "all rests": Kind(
        BOX + 'bars = "7" # here\nvariants = "slow"\n', 'box "bad", bars', "all rests", stops=False
    ),
    "abc": Kind('[[box]]\nid = "bad"\nabc = "12" # here\n', 'box "bad", abc', "ABC"),
    "finger": Kind(
        BOX + 'bars = "1"\nmarks = "1:1 finger 5" # here\n', 'box "bad", marks', "there is no finger 5"
    ),
    "beat of a mark": Kind(
        BOX + 'bars = "1"\nmarks = "1:1.25 up" # here\n', 'box "bad", marks', "no note begins on 1:1.25"
    ),
    "mark outside": Kind(
        BOX + 'bars = "1"\nmarks = "9:1 up" # here\n', 'box "bad", marks', "not in this passage"
    ),
    "bow in a slur": Kind(
        BOX + 'bars = "1"\nmarks = ["1 slur 1-2",\n"1:2 down"] # here\n',
        'box "bad", marks',
        "in the middle of the bow of '1 slur 1-2'",
    ),
    "two fingers": Kind(
        BOX + 'bars = "1"\nmarks = ["1:1 finger 1",\n"1:1 finger 2"] # here\n',
        'box "bad", marks',
        "contradicts",
    ),
    "slurs that overlap": Kind(
        BOX + 'bars = "1"\nmarks = ["1 slur 1-2",\n"1 slur 1.5-3"] # here\n', 'box "bad", marks', "overlap"
    ),
    "string": Kind(
        BOX + 'bars = "1"\nmarks = "1:1 string V" # here\n', 'box "bad", marks', "the violin has 4 strings"
    ),
    "string too high": Kind(
        BOX + 'bars = "1"\nmarks = "1:1 string I" # here\n',
        'box "bad", marks',
        "lower than that string",
        stops=False,
    ),
    "thumb": Kind(
        BOX + 'bars = "1"\nmarks = "1:1 finger T" # here\n', 'box "bad", marks', "the thumb", stops=False
    ),
    "bow in a printed slur": Kind(
        BOX + 'bars = "8"\nvariants = "slow"\nmarks = "8:3 up" # here\n',
        'box "bad", marks',
        "in the middle of a slur of the score",
        stops=False,
    ),
    "marks of a piece": Kind(
        '[[piece]]\nid = "q"\ntitle = "Q"\nscore = "p.musicxml"\nmarks = "40:1 up" # here\n',
        'piece "q", marks',
        "no bar 40",
    ),
    "part": Kind(
        '[[piece]]\nid = "q"\ntitle = "Q"\nscore = "p.musicxml"\npart = "Tuba" # here\n',
        'piece "q", part',
        "Tuba",
    ),
    "score": Kind(
        '[[piece]]\nid = "q"\ntitle = "Q"\nscore = "broken.musicxml" # here\n', 'piece "q", score', "broken"
    ),
    "drill": Kind(
        BOX + 'bars = "9"\nvariants = "slow"\n[[technique]]\ndrill = "bad" # here\n',
        "technique {t}, drill",
        "gives no drill",
        stops=False,
    ),
    "drill on paper": Kind(
        BOX + 'place = "p. 9"\n[[technique]]\ndrill = "bad" # here\n',
        "technique {t}, drill",
        "on paper only",
        stops=False,
    ),
    "octaves": Kind('[[warmup]] # here\nkey = "D"\noctaves = 4\n', "warmup {w}", "do not fit"),
    "bowing": Kind('[[warmup]] # here\nkey = "D"\nslur = 17\n', "warmup {w}", "do not divide"),
    "fingers of a scale": Kind('[[warmup]] # here\nkey = "D"\nfingerings = "9"\n', "warmup {w}", "9"),
    "scale as technique": Kind(
        '[[technique]] # here\nkey = "C"\npattern = "thirds"\nfrom = "C7"\n', "technique {t}", "does not fit"
    ),
    "bowing in a list": Kind(
        "", "scale 2", "Bows of 17 do not divide", list_file="key,octaves,bowing\nD,2,4\n\nA,2,17 # here\n"
    ),
    "octaves in a list, in a later week": Kind(
        "", "scale 7", "do not fit", list_file="key,octaves\n" + "D,2\n" * 6 + "B,4 # here\n"
    ),
    "key in a list": Kind("", "scale 1, key", "no H", list_file="key\nH # here\n"),
}


OTHER_DAYS = {"bars for a short day", "marks of a piece", "octaves in a list, in a later week"}
"""Kinds that stop a workbook though its pages need not have them: they are for bars, days or weeks that come."""


def _text(kind: Kind, before: list[str], after: list[str]) -> tuple[str, str]:
    """A week file with a fault, and the key to be told."""
    items = [*before, kind.text, *after]
    body = "".join(item.replace("{n}", str(n)) for n, item in enumerate(items))
    told = kind.key
    for letter, table in (("t", "technique"), ("w", "warmup")):
        place = sum(item.count(f"[[{table}]]") for item in before) + 1
        told = told.replace(f"{{{letter}}}", str(place))
    head = HEAD.replace("format = 1", 'format = 1\nscales = "scales.csv"') if kind.list_file else HEAD
    return head + PIECE + body, told


@contextmanager
def _folder(kind: Kind, text: str) -> Iterator[tuple[Path, Path, int]]:
    """The files of a week, the one that has the fault, and its line."""
    folder = Path(tempfile.mkdtemp())
    try:
        (folder / "p.musicxml").write_bytes(SCORE)
        (folder / "broken.musicxml").write_text("<score-partwise><part")
        week, listed = folder / "week.toml", folder / "scales.csv"
        week.write_text(text)
        if kind.list_file:
            listed.write_text(kind.list_file.replace(" # here", ""))
        faulty = kind.list_file or text
        line = next(n for n, row in enumerate(faulty.split("\n"), start=1) if "# here" in row)
        yield week, listed if kind.list_file else week, line
    finally:
        shutil.rmtree(folder)


class _Undrawn(Music):
    """The music of a workbook with nothing drawn."""

    def engrave(self, *_: object, **__: object) -> Printed:
        return Printed((PrintedSystem('<svg viewBox="0 0 9 9"></svg>', 9.0, 9.0),), Spoken("1", "1"), ())


def _missing_in_pages(week: Week) -> int:
    """How many variants and drills that a week asks for its pages lack.

    Raises:
        InputError: They cannot be made.
    """
    texts = PageTexts(Words(week.player.words))
    kind = reader(week.player.level, week.player.age)
    music = _Undrawn(week, Names(week, texts), Style(staff_mm=kind.staff_mm))
    plan = plan_week(week, week_music(week))
    boxes = BoxPages(week, plan, kind, texts, music).build()
    sections = Sections(week, plan, texts, music)
    others = [block.title for block in (*sections.warmups(), *sections.studies())]
    missing = 0
    for item, page in zip(week.boxes, boxes, strict=True):
        titles = [block.title for block in (*page.variants, *page.spoken)]
        missing += sum(
            capital(title(name, texts.words)) not in titles
            for name in item.variants or ()
            if not same_notes(name)
        )
    for exercise in (*week.warmups, *week.technique):
        names = () if isinstance(exercise, TechniqueItem) and exercise.drill else exercise.variants
        missing += sum(
            not any(told.endswith(f": {title(name, texts.words)}") for told in others) for name in names
        )
    drills = [one for one in music.orders.technique.values() if isinstance(one, DrillOrders)]
    printed = sum("drill" in told.lower() or "alone" in told for told in others)
    return missing + (len(drills) if not printed else 0)


@pytest.mark.parametrize("name", KINDS)
@settings(max_examples=3, phases=[Phase.generate])
@given(st.data())
def test_a_fault_of_each_kind_is_told_with_its_place_and_the_pages_have_no_other(
    name: str, data: st.DataObject
) -> None:
    kind = KINDS[name]
    before, after = (data.draw(st.lists(st.sampled_from(GOOD), max_size=2)) for _ in range(2))
    text, key = _text(kind, before, after)
    with _folder(kind, text) as (week, faulty, line):
        found = check_week(week)
        wrong, others = (found.faults, found.told) if kind.stops else (found.told, found.faults)
        assert [(one.file.name, one.line, one.key) for one in wrong] == [(faulty.name, line, key)]
        assert kind.said in wrong[0].message
        assert others == ()
        _held_against_the_pages(name, week, sum("left out" in one.message for one in found.told))


def _held_against_the_pages(name: str, path: Path, left_out: int) -> None:
    """The pages themselves, which do not ask `check`: they refuse what it refuses, and lack what it leaves out."""
    kind = KINDS[name]
    try:
        missing = _missing_in_pages(load_week(path))
    except InputError:
        assert kind.stops
        return
    assert missing == left_out
    assert not kind.stops or name in OTHER_DAYS


def test_all_is_told_in_one_round(tmp_path: Path) -> None:
    """What is wrong in the file by itself hides nothing that is wrong with its music, its marks and its list."""
    kinds = [kind for kind in KINDS.values() if kind.stops and not kind.list_file]
    (tmp_path / "p.musicxml").write_bytes(SCORE)
    (tmp_path / "broken.musicxml").write_text("<score-partwise><part")
    (tmp_path / "scales.csv").write_text("key,bowing\nD,17\nH,2\n")
    body = ""
    for number, kind in enumerate(kinds):
        text = kind.text.replace('"bad"', f'"bad-{number}"').replace('"q"', f'"q-{number}"')
        body += text
    text = HEAD.replace("format = 1", 'format = 1\nscales = "scales.csv"') + PIECE + body
    path = tmp_path / "week.toml"
    path.write_text(text)
    lines = [number for number, row in enumerate(text.split("\n"), start=1) if "# here" in row]
    found = check_week(path).faults
    assert [one.line for one in found if one.file == path] == lines
    assert [(one.file.name, one.line) for one in found if one.file != path] == [
        ("scales.csv", 2),
        ("scales.csv", 3),
    ]


def test_a_fault_of_one_thing_is_not_told_again_at_what_needs_it(tmp_path: Path) -> None:
    (tmp_path / "p.musicxml").write_bytes(SCORE)
    box = (
        '[[box]]\nid = "b"\npiece = "p"\nbars = "1"\nvariants = ["long-short"]\n[[technique]]\ndrill = "b"\n'
    )
    path = tmp_path / "week.toml"
    path.write_text(HEAD + PIECE + 'part = "Tuba"\n' + box)
    assert [one.key for one in check_week(path).faults] == ['piece "p", part']
    path.write_text(HEAD + PIECE.replace("p.musicxml", "gone.musicxml") + box)
    assert [one.key for one in check_week(path).faults] == ['piece "p", score']
    path.write_text(HEAD.replace("middle", "midle") + PIECE + box)
    assert [one.key for one in check_week(path).faults] == ["player, level"]
