"""What is fuzzed: functions that take any bytes and raise nothing but what breaks a promise.

An error that is meant for a teacher (`ExcerptsError`) is an answer. Every other exception is a finding.
"""

from __future__ import annotations

import tempfile
from collections.abc import Callable, Iterator
from contextlib import suppress
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from random import Random
from typing import Final
from zlib import crc32

from lxml import etree

from excerpts.errors import ExcerptsError
from excerpts.instruments.instrument import INSTRUMENTS
from excerpts.log import log_path, next_week, read_log
from excerpts.log.row import HEADER, row_line
from excerpts.score import Part, Score, score_from_bytes
from excerpts.score.boxes_in_score import read_marks
from excerpts.score.marking_syntax import parse_mark
from excerpts.score.numbering import Numbering
from excerpts.score.overview import overview
from excerpts.score.whole import whole_passage
from excerpts.sound.midi import write_midi
from excerpts.technique import drills, few_useful_bars
from excerpts.variants import parse_variant, variants, vary
from excerpts.week import Week, load_week, week_faults
from excerpts.week.orders.check import check_reading
from excerpts.week.plan import plan_lines, plan_week
from excerpts.weekfile.new import from_table
from excerpts.weekfile.tempo_text import parse_tempo
from excerpts.words import Words
from tests.fuzz.mutate import mutated
from tests.log.weeks import HEAD, RUN, TONE
from tests.music import FIRST, bars_of, part, score
from tests.score.test_address import mark

ROOT: Final = Path(__file__).parents[2]


@dataclass(frozen=True)
class Target:
    """Something that is fuzzed.

    Attributes:
        run: Takes any bytes.
        seeds: What the fuzzer begins with.
        xml: The bytes are a score, so that they are best changed as a tree.
    """

    run: Callable[[bytes], None]
    seeds: Callable[[], Iterator[bytes]]
    xml: bool = False


def look_at(opened: Score) -> None:
    """Everything that `excerpts show` asks of a score."""
    assert isinstance(opened.title + opened.composer, str)
    for info in opened.parts:
        one = opened.part(f"#{info.place}")
        overview(one.bars)
        Numbering(one.bars).range_text()
        assert len(one.bars.info()) == len(one.bars)
        assert all(1 <= found.place for found in one.bars.marks)
        read_marks(one)


def random_address(one: Part, random: Random) -> str:
    """An address as a teacher might write it for a part, mostly of bars that are there."""
    labels = [label for label in one.bars.labels if label] or ["1"]
    marks = [found.text for found in one.bars.marks] or ["A"]
    places = [f"@{random.randint(1, len(one.bars) + 1)}" for _ in range(2)]
    ends = random.choice(
        (
            [random.choice(labels)],
            random.choices(labels, k=2),
            places[:1],
            sorted(places),
            [random.choice(marks)],
        )
    )
    return "-".join(f"{end}:{random.randint(1, 5)}" if random.random() < 0.2 else end for end in ends)


def cut_somewhere(opened: Score, random: Random) -> None:
    """Cut at a random address; the excerpt has the bars that it says."""
    one = opened.part(f"#{random.randint(1, len(opened.parts))}")
    if random.random() < 0.1:
        whole_passage(opened, random_address(one, random)).cut(random.randint(0, 2))
        return
    excerpt = one.passage(random_address(one, random)).cut(random.randint(0, 2))
    assert len(etree.fromstring(excerpt.xml).findall("part/measure")) == len(excerpt.bars)


def read(data: bytes) -> None:
    """A score of any bytes, looked at as `excerpts show` does."""
    with suppress(ExcerptsError):
        look_at(score_from_bytes(data, "fuzzed"))


def cut(data: bytes) -> None:
    """A score of any bytes, cut at two places that follow from them."""
    random = Random(crc32(data))
    for _ in range(2):
        with suppress(ExcerptsError):
            cut_somewhere(score_from_bytes(data, "fuzzed"), random)


def practised(data: bytes) -> None:
    """A score of any bytes, with what is made from a passage of it: variants and stacks, drills, MIDI."""
    random = Random(crc32(data))
    with suppress(ExcerptsError):
        opened = score_from_bytes(data, "fuzzed")
        one = opened.part(f"#{random.randint(1, len(opened.parts))}")
        excerpt = one.passage(random_address(one, random)).cut(random.randint(0, 2))
        player = random.choice(tuple(INSTRUMENTS.values()))
        names = random.sample([text for info in variants() for text in info.examples], 6)
        for name in (*names[:4], "+".join(names[4:])):
            with suppress(ExcerptsError):
                made = vary(excerpt, name)
                assert len(etree.fromstring(made.xml).findall("part/measure")) == len(made.bars)
                write_midi(made)
        for drill in drills(excerpt, player, most=4):
            write_midi(drill.music)
        few_useful_bars(excerpt, player)


def addresses(data: bytes) -> None:
    """Any text as an address, a mark, a variant or a tempo; the first byte says of which score."""
    text = data[1:].decode("utf-8", "replace")
    one = _parts()[data[0] % len(_parts())] if data else _parts()[0]
    with suppress(ExcerptsError):
        found = one.passage(text, pupil_bars=(data[0] >> 4) - 8 if data else 0).span
        assert found.last < len(one.bars)
    with suppress(ExcerptsError):
        found = one.passage(text).span
        assert 0 <= found.first <= found.last < len(one.bars)
        assert 0 <= found.start
        assert found.end <= one.bars.length(found.last)
        assert (found.first, found.start) < (found.last, found.end)
        one.passage(text).cut(0)
    with suppress(ExcerptsError):
        parse_mark(text)
        one.passage("@1-@2").cut(0, [text])
    with suppress(ExcerptsError):
        parse_variant(text)
    with suppress(ValueError):  # what a week file's checker turns into a fault
        parse_tempo(text)


def week(data: bytes) -> None:
    """A week file of any bytes: its faults, and the plan of one that has none."""
    path = _folder() / "ada.toml"
    path.write_bytes(data)
    with suppress(ExcerptsError):
        if not week_faults(path):
            loaded = load_week(path)
            assert plan_lines(plan_week(loaded), loaded, Words(loaded.player.words))


def log(data: bytes) -> None:
    """A log of any bytes, read and carried into the week after; and a table of boxes."""
    loaded = _week()
    path = log_path(loaded)
    for content in (data, HEADER.encode() + b"\n" + data):
        path.write_bytes(content)
        with suppress(ExcerptsError):
            read = read_log(path, loaded.player.name)
            for row in read.rows:
                path.write_text(f"{HEADER}\n{row_line(row, Words())}", encoding="utf-8")
                assert read_log(path, loaded.player.name).rows == (row,)
            next_week(loaded, read.rows)
    table = loaded.path.with_suffix(".csv")
    table.write_bytes(data)
    with suppress(ExcerptsError):
        from_table(table, loaded.path.parent / "new", lambda reading: check_reading(reading).faults)


@cache
def _folder() -> Path:
    """A studio in memory, with two scores."""
    folder = Path(tempfile.mkdtemp(prefix="fuzz-", dir="/dev/shm" if Path("/dev/shm").is_dir() else None))
    (folder / "scores").mkdir()
    for name in ("paper-boats.musicxml", "snail-on-the-stairs.musicxml"):
        (folder / "scores" / name).write_bytes((ROOT / "scores" / name).read_bytes())
    (folder / "studio.toml").write_bytes((ROOT / "scores/studio.toml").read_bytes())
    return folder


@cache
def _week() -> Week:
    path = _folder() / "log" / "ada.toml"
    path.parent.mkdir()
    path.write_text(HEAD + RUN + TONE, encoding="utf-8")
    return load_week(path)


@cache
def _parts() -> tuple[Part, ...]:
    marked = bars_of(
        *(f"{mark(text)} C5:1 D5:1/2 E5:1/2 F5:2" for text in ("A", "B-1", "12", "Ü", "C")),
        "C5:3", "C5:1",
        numbers=['0" implicit="yes', "1", "2", "2", "2a", "10", "X1"],
    )  # fmt: skip
    trio = score_from_bytes((ROOT / "scores/three-doors-trio.musicxml").read_bytes(), "trio")
    return (score_from_bytes(marked, "marked").part(), trio.part("#2"), trio.part("#3"))


def scores() -> Iterator[bytes]:
    """Small scores of much variety: written ones, the corners of the shipped ones, small ones of the corpus."""
    slur = "C5:1[<notations><slur type='start' number='1'/><tied type='start'/></notations>]"
    yield bars_of(
        f"{slur} C5:1[<notations><tied type='stop'/></notations>] E5:1/3 F5:1/3 G5:1/3 r:1", "D4+A4:4"
    )
    yield score(part([f"{FIRST} C5:4", "D5:4"]), part([f"{FIRST} C3:2 D3:2", "r:4"], part_id="P2"))
    yield bars_of("C5:1", "C5:4", "D5:2 E5:2", "F5:4", numbers=['0" implicit="yes', "1", "1", "2"])
    for path in sorted((ROOT / "scores").glob("*.musicxml")):
        opened = score_from_bytes(path.read_bytes(), path.name)
        one = opened.part(f"#{len(opened.parts)}")
        for first in range(1, len(one.bars) - 2, max(1, len(one.bars) // 5)):
            yield one.passage(f"@{first}-@{first + 1}").cut(0).xml
    yield from _corpus(6000)


def _corpus(most: int) -> Iterator[bytes]:
    import music21

    folder = Path(str(music21.__file__)).parent / "corpus"
    for path in sorted(folder.rglob("*.xml")):
        if path.stat().st_size < most:
            yield path.read_bytes()


def _score_files() -> Iterator[bytes]:
    yield from scores()
    yield (ROOT / "scores/mill-wheel-dance.mxl").read_bytes()


def _address_texts() -> Iterator[bytes]:
    for text in (
        "1", "2-4", "A", "A-C", "B-1+2", "mark:12", "@1-@3", "2:1-2:3", "12", "1:2.5-2a:1.33", "2:2 finger 3",
        "@2:1 up", "1 slur 1-3", "2:1 no slur", "1:1 string II", "separate+long-short", "burst 5",
        "dotted crotchet = 92", "♩. = 60",
    ):  # fmt: skip
        yield b"\x80" + text.encode()
        yield b"\x81" + text.encode()


def _week_files() -> Iterator[bytes]:
    for path in sorted((ROOT / "scores/weeks").glob("*.toml")):
        yield path.read_bytes()
    yield (HEAD + RUN + TONE).encode()
    yield (HEAD + '[[warmup]]\nkey = "G"\n').encode()


def _logs() -> Iterator[bytes]:
    rows = (
        "2026-11-30,2026-12-01,box,run,60,crotchet,5,,'=note",
        "2026-11-30,,run-through,song,,,,,went well",
        "2026-11-30,2026-12-02,heard,run,80,crotchet,0,4-5,",
        "2026-11-30,,player,,,,,,Ada Lind",
    )
    yield "\n".join([HEADER, *rows, ""]).encode()
    yield "\n".join([*rows, ""]).encode()
    yield from (row.encode() + b"\n" for row in rows)
    head = b"player,instrument,level,start,minutes,box,bars,target\n"
    yield head + b"Ada Lind,violin,middle,2026-11-30,20,run,4-5,crotchet = 60\n"
    yield (ROOT / "scores/autumn-scales.csv").read_bytes()


TARGETS: Final = {
    "read": Target(read, _score_files, xml=True),
    "cut": Target(cut, scores, xml=True),
    "practised": Target(practised, scores, xml=True),
    "addresses": Target(addresses, _address_texts),
    "week": Target(week, _week_files),
    "log": Target(log, _logs),
}


def broken(data: bytes, seed: int, most: int) -> bytes:
    """A score with one to four things wrong; the same for the same seed."""
    random = Random(seed)
    changed = mutated(data, random, random.choice((1, 1, 2, 4)))
    return changed if len(changed) <= most else data
