"""Texts that are HTML, CSS, templates, addresses or formulas somewhere else: on the page they are letters.

The commands run under an audit hook: no host is reached, and no file outside the studio, the package and the Python
that runs it is opened.
"""

from __future__ import annotations

import io
import re
import sys
import sysconfig
from pathlib import Path
from typing import Final
from xml.sax.saxutils import escape

import mido
import pikepdf
import pytest
from lxml import etree

from tests.hostile.running import Ran, run
from tests.music import bars_of
from tests.pdf_text import text_of
from tests.score.cutting import direction

ROOT: Final = Path(__file__).parents[2]

TEXTS: Final = (
    "<script>alert(1)</script>",
    '<img src="http://127.0.0.1:9/a.png">',
    "<style>@import url('http://127.0.0.1:9/a.css')</style>",
    '"><object data="file:///etc/passwd"></object>',
    "<svg><image href='file:///etc/passwd'/></svg>",
    "<a rel='attachment' href='file:///etc/passwd'>x</a>",
    "<a href='javascript:alert(1)'>go</a>",
    "<link rel=stylesheet href=file:///etc/passwd>",
    "}*{background:url(http://127.0.0.1:9/b)}",
    "url(file:///etc/passwd)",
    "{{ 7*7 }}{% include '/etc/passwd' %}",
    "&lt;b&gt;&#x3c;i&#x3e;",
    "]]><!--",
    "=HYPERLINK(A1)",
    "%s%n{0}\\evil$(id)`id`",
)

_ACTIVE: Final = (
    "/URI", "/Launch", "/JavaScript", "/JS", "/EmbeddedFiles", "/EmbeddedFile", "/GoToR", "/SubmitForm", "/AA",
    "/OpenAction", "/RichMedia",
)  # fmt: skip
"""Names of what a PDF can do of its own (ISO 32000-2, 12.6.4 and 7.11.4)."""


def quiet(ran: Ran, folder: Path) -> None:
    """Nothing was reached, and nothing opened but what is ours."""
    assert ran.status == 0, ran.err[-1000:]
    fonts = ("urllib.Request ('data:", f"urllib.Request ('file://{ROOT}/templates/")
    assert {what for what in ran.reached if not what.startswith(fonts)} == set()
    roots = (*sysconfig.get_paths().values(), *filter(None, sys.path), sys.prefix, sys.base_prefix)
    libraries = {str(Path(path).resolve()) for path in roots}
    ours = (
        str(folder),
        str(ROOT),
        *libraries,
        sys.prefix,
        sys.base_prefix,
        "/proc/",
        "/tmp/tmp",
        "/dev/null",
    )
    foreign = {path for path in ran.opened if not path.startswith(ours) and path.startswith("/")}
    assert not {path for path in foreign if path.startswith("w ")}
    assert {path for path in foreign if "/fonts/" not in path and not path.startswith("/usr/share/")} == set()
    written = {path.removeprefix("w ") for path in ran.opened if path.startswith("w ")}
    assert {path for path in written if not path.startswith((str(folder), "/tmp/", "/dev/null"))} == set()


def letters(text: str) -> str:
    """What is left of a text when spaces and the marks that printers change are taken away."""
    return re.sub(r"[\s\u00ad\u2010-]+", "", text)


def printed(path: Path) -> str:
    return letters(text_of(path))


def inert(path: Path) -> None:
    """The PDF has nothing in it that does anything."""
    with pikepdf.open(path) as pdf:
        plain = io.BytesIO()
        pdf.save(
            plain,
            object_stream_mode=pikepdf.ObjectStreamMode.disable,
            stream_decode_level=pikepdf.StreamDecodeLevel.none,
        )
        for thing in pdf.objects:
            if isinstance(thing, pikepdf.Dictionary):
                assert not set(map(str, thing.keys())) & set(_ACTIVE), thing


def week_text(texts: tuple[str, ...]) -> str:
    """A week file with hostile texts wherever it takes a text."""
    quoted = [text.replace("\\", "\\\\").replace('"', '\\"') for text in texts]
    all_of_them = " ".join(quoted)[:1900]
    notes = "\n".join(f'    "{text}",' for text in quoted)
    return f"""
format = 1
[player]
name = "Ada {quoted[0]}"
instrument = "violin"
level = "middle"
age = 13
[week]
start = 2026-11-30
minutes = 30
focus = "{quoted[1]}"
notes = [
{notes}
]
[[piece]]
id = "song"
title = "{quoted[2]}"
composer = "{quoted[3]}"
score = "a.musicxml"
[[piece]]
id = "air"
title = "{quoted[4]}"
[[box]]
id = "run"
piece = "song"
bars = "1-2"
note = "{all_of_them}"
goal = "{quoted[5]}"
[[box]]
id = "tone"
piece = "air"
place = "{quoted[6]}"
note = "{quoted[7]}"
[[warmup]]
text = "{all_of_them}"
minutes = 3
"""


def score_with(text: str) -> bytes:
    """A score with a text in its title, composer, part, words, syllables, marks and bar numbers."""
    safe = escape(text)
    inside = (
        direction(f"<words>{safe}</words>")
        + direction(f"<rehearsal>{safe}</rehearsal>")
        + direction(f"<dynamics><other-dynamics>{safe}</other-dynamics></dynamics>")
    )
    lyric = f"<lyric number='1'><syllabic>single</syllabic><text>{safe}</text></lyric>"
    head = (
        f"<work><work-title>{safe}</work-title></work><identification><creator type='composer'>{safe}</creator>"
        f"<rights>{safe}</rights></identification>"
    )
    data = bars_of("C5:1 D5:1 E5:2", "F5:4", "G5:4")
    for old, new in (
        (b"<part-list>", head.encode() + b"<part-list>"),
        (b"<part-name>Violin<", f"<part-name>{safe}<".encode()),
        (b'<measure number="2">', f'<measure number="2">{inside}'.encode()),
        (b"</note><note>", f"{lyric}</note><note>".encode()),
    ):
        assert old in data
        data = data.replace(old, new, 1)
    return data


@pytest.fixture
def studio(tmp_path: Path) -> Path:
    (tmp_path / "studio.toml").write_text(f'format = 1\ncopying = "{TEXTS[8]}"\n', encoding="utf-8")
    (tmp_path / "a.musicxml").write_bytes(score_with(TEXTS[1]))
    (tmp_path / "ada.toml").write_text(week_text(TEXTS), encoding="utf-8")
    return tmp_path


@pytest.mark.slow
def test_the_texts_of_a_week_file_are_letters_on_the_page(studio: Path) -> None:
    output = studio / "ada.pdf"
    quiet(run(studio, "workbook", studio / "ada.toml", "-o", output), studio)
    inert(output)
    text = printed(output)
    for hostile in TEXTS:
        assert letters(hostile) in text


@pytest.mark.parametrize("command", ["lesson", "board", "progress"])
def test_the_teacher_s_own_pages(command: str, studio: Path) -> None:
    output = studio / "out.pdf"
    assert (
        run(
            studio, "log", studio / "ada.toml", "--box", "run", "--tempo", "crotchet = 60", "--note", TEXTS[5]
        ).status
        == 0
    )
    source = studio if command == "board" else studio / "ada.toml"
    ran = run(studio, command, source, "-o", output)
    quiet(ran, studio)
    inert(output)
    cut = letters(TEXTS[0]).removesuffix("/script>") + "…"  # the board has one line for each player
    assert (cut if command == "board" else letters(TEXTS[0])) in printed(output)


@pytest.mark.parametrize(
    "text", [*TEXTS[:2], *(pytest.param(text, marks=pytest.mark.long) for text in TEXTS[2:])]
)
def test_the_texts_of_a_score_are_letters_in_what_is_cut(text: str, tmp_path: Path) -> None:
    score = tmp_path / "a.musicxml"
    score.write_bytes(score_with(text))
    quiet(ran := run(tmp_path, "show", score), tmp_path)
    assert text in ran.out
    picture, music = tmp_path / "a.svg", tmp_path / "b.musicxml"
    quiet(run(tmp_path, "cut", score, "1-3", "-o", picture), tmp_path)
    tags = {etree.QName(element).localname for element in etree.parse(picture).iter(etree.Element)}
    assert tags <= {"svg", "g", "path", "text", "tspan", "title", "desc", "rect"}
    attributes = {
        str(name) for element in etree.parse(picture).iter(etree.Element) for name in element.attrib
    }
    assert not {name for name in attributes if "href" in name or name.startswith("on") or name == "style"}
    quiet(run(tmp_path, "cut", score, "1-3", "-o", music), tmp_path)
    assert text in {element.text for element in etree.parse(music).iter("words")}
    quiet(run(tmp_path, "cut", score, "1-3", "-o", tmp_path / "a.mid"), tmp_path)
    assert mido.MidiFile(tmp_path / "a.mid").tracks


def test_the_texts_of_a_score_are_letters_in_a_pdf(tmp_path: Path) -> None:
    score, output = tmp_path / "a.musicxml", tmp_path / "a.pdf"
    score.write_bytes(score_with(" ".join(TEXTS)[:290]))
    quiet(run(tmp_path, "cut", score, "1-3", "-o", output), tmp_path)
    inert(output)


@pytest.mark.parametrize(
    "sign",
    [
        "\u202e",
        "\u009b",
        *(pytest.param(sign, marks=pytest.mark.long) for sign in "\u2066\u0085\ufeff\u200f"),
    ],
)
def test_signs_that_turn_the_text_round_or_steer_a_terminal_are_not_shown(sign: str, tmp_path: Path) -> None:
    score = tmp_path / "a.musicxml"
    score.write_bytes(score_with(f"fdp{sign}.A"))
    commands: tuple[tuple[str | Path, ...], ...] = (
        ("show", score),
        ("cut", score, "1-3", "-o", tmp_path / "a.svg", "--json"),
    )
    for command in commands:
        ran = run(tmp_path, *command)
        assert ran.status == 0, ran.err
        assert "fdp.A" in ran.out.replace("fdp .A", "fdp.A")
        assert sign not in ran.out
    week = tmp_path / "ada.toml"
    week.write_text(week_text((f"a{sign}b", *TEXTS[1:])), encoding="utf-8")
    ran = run(tmp_path, "check", week)
    if sign not in "\ufeff\u200f":
        assert (ran.status, "cannot be printed" in ran.err) == (2, True)


@pytest.mark.parametrize("bad", [b"\x00", b"\x01", b"\x1b[31m", b"&#0;", b"&#27;", b"\xff\xfe"])
def test_signs_that_no_text_may_have(bad: bytes, tmp_path: Path) -> None:
    score = tmp_path / "a.musicxml"
    score.write_bytes(bars_of("C5:4").replace(b"Violin", b"Vio" + bad + b"lin"))
    ran = run(tmp_path, "show", score)
    assert (
        ran.status,
        bool(re.search("not well-formed XML|cut off|encoding is wrong|has to declare", ran.err)),
    ) == (2, True)
    assert "\x1b" not in ran.err
    week = tmp_path / "ada.toml"
    week.write_bytes(week_text(TEXTS).encode().replace(b"Ada ", b"Ada " + bad))
    ran = run(tmp_path, "check", week)
    if not bad.startswith(b"&"):
        assert ran.status == 2
        assert "\x1b" not in ran.err


def test_formulas_stay_texts_in_the_log_and_in_week_files(studio: Path) -> None:
    formulas = ('=HYPERLINK("http://127.0.0.1:9/")', "+1+1", "-2+3", "@SUM(A1)", "\t=1", "＝1", "'=1")
    for formula in formulas:
        week = studio / "ada.toml"
        assert (
            run(studio, "log", week, "--box", "run", "--tempo", "crotchet = 60", f"--note={formula}").status
            == 0
        )
    (log,) = studio.glob("*-log.csv")
    cells = [cell for line in log.read_text(encoding="utf-8").splitlines() for cell in line.split(",")]
    assert len([cell for cell in cells if cell.lstrip('"').startswith("'")]) == len(formulas)
    assert not [cell for cell in cells if re.match(r'"?[=+\-@＝\t]', cell)]
    table = studio / "table.csv"
    table.write_text(
        "player,instrument,level,start,minutes,piece,box,place,note\n"
        "=cmd|x!A0,violin,middle,2026-11-30,20,@Air,a,+b,-note\n",
        encoding="utf-8",
    )
    quiet(run(studio, "new", studio / "new", "--from", table), studio)
    (made,) = (studio / "new").glob("*.toml")
    text = made.read_text(encoding="utf-8")
    for value in ('"=cmd|x!A0"', '"@Air"', '"+b"', '"-note"'):
        assert value in text
