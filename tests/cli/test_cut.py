"""`excerpts cut`: what it writes, what it says, and what it refuses."""

from __future__ import annotations

import json
import subprocess
import sys
import zipfile
from pathlib import Path

import mido
import pytest

from excerpts.cli import main
from excerpts.score import open_score
from tests.music import FIRST, bars_of, part, score
from tests.schema import schema_errors

RUN = " ".join(f"{name}5:1/4" for name in "C# D E F# G F# E D C# D E F# G A B A".split())
DATA = bars_of(*[RUN] * 6)


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    (tmp_path / "run.musicxml").write_bytes(DATA)
    two = score(part([f"{FIRST} C5:4"]), part(["C3:4"], part_id="P2"), names=("Violin", "Cello"))
    (tmp_path / "two.musicxml").write_bytes(two)
    monkeypatch.chdir(tmp_path)
    return tmp_path


def test_musicxml(folder: Path) -> None:
    assert main(["cut", "run.musicxml", "2-3", "-o", "out.musicxml"]) == 0
    data = (folder / "out.musicxml").read_bytes()
    assert schema_errors(data) == []
    assert open_score(folder / "out.musicxml").part().bars.labels == ("1", "2", "3", "4")


def test_compressed(folder: Path) -> None:
    assert main(["cut", "run.musicxml", "2-3", "--context", "0", "-o", "out.mxl"]) == 0
    with zipfile.ZipFile(folder / "out.mxl") as box:
        assert box.namelist()[0] == "mimetype"
        assert box.read("mimetype") == b"application/vnd.recordare.musicxml"
    assert open_score(folder / "out.mxl").part().bars.labels == ("2", "3")


@pytest.mark.parametrize(
    ("name", "start"), [("out.svg", b"<?xml"), ("out.pdf", b"%PDF"), ("out.mid", b"MThd")]
)
def test_pages_and_midi(folder: Path, name: str, start: bytes) -> None:
    assert main(["cut", "run.musicxml", "2-3", "-o", name]) == 0
    assert (folder / name).read_bytes().startswith(start)


@pytest.mark.parametrize("name", ["out.musicxml", "out.mxl", "out.svg", "out.pdf", "out.mid"])
def test_its_own_files_are_written_over_and_the_same_bytes_come_out(folder: Path, name: str) -> None:
    assert main(["cut", "run.musicxml", "2-3", "-o", name]) == 0
    before = (folder / name).read_bytes()
    assert main(["cut", "run.musicxml", "2-3", "-o", name]) == 0
    assert (folder / name).read_bytes() == before


def test_several_boxes_and_variants_stack_on_a_page(folder: Path) -> None:
    command = ["cut", "run.musicxml", "2", "4-5", "--variant", "as-written", "--variant", "long-short"]
    assert main([*command, "-o", "out.svg"]) == 0
    assert main(["cut", "run.musicxml", "2", "-o", "one.svg"]) == 0
    assert len((folder / "out.svg").read_bytes()) > 2 * len((folder / "one.svg").read_bytes())


def test_the_report_as_json(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["cut", "run.musicxml", "2-3", "--json", "-o", "out.musicxml"]) == 0
    facts = json.loads(capsys.readouterr().out)
    (excerpt,) = facts["excerpts"]
    assert excerpt["boxes"] == [{"from": {"bar": "2", "onset": 0}, "to": {"bar": "3", "onset": 4}}]
    ids = [line["id"] for line in excerpt["report"]]
    assert "restated.key" not in ids
    assert ids == [f"{line['action']}.{line['what']}" for line in excerpt["report"]]


BAD = [
    (["cut", "none.xml", "2", "-o", "o.musicxml"], "none.xml: there is no such file"),
    (["cut", "two.musicxml", "1", "-o", "o.musicxml"], "Name one of: #1 Violin, #2 Cello"),
    (["cut", "two.musicxml", "1", "--part", "Viola", "-o", "o.musicxml"], "there is no part 'Viola'"),
    (["cut", "run.musicxml", "9", "-o", "o.musicxml"], "there is no bar 9. The part has bars 1 to 6"),
    (["cut", "run.musicxml", "4-2", "-o", "o.musicxml"], "'4-2' runs backwards"),
    (["cut", "run.musicxml", "2", "-o", "o.doc"], "does not write '.doc' files"),
    (["cut", "run.musicxml", "2", "-o", "nowhere/o.pdf"], "there is no folder nowhere"),
    (["cut", "run.musicxml", "2", "3", "-o", "o.mid"], "holds one passage"),
    (["cut", "run.musicxml", "2", "--variant", "long-shrt", "-o", "o.pdf"], "long-short"),
    (["cut", "run.musicxml", "2", "--variant", "slow:-3", "-o", "o.pdf"], "slow"),
    (["cut", "run.musicxml", "2"], "-o"),
    (["cut", "run.musicxml", "2", "--context", "-1", "-o", "o.pdf"], "context"),
    (["cut", "run.musicxml", "2", "-o", "mine.musicxml"], "that this program did not make"),
    (["nonsense"], "nonsense"),
]


@pytest.mark.parametrize(("command", "message"), BAD)
def test_bad_input_gets_a_sentence_status_2_and_no_file(
    folder: Path, capsys: pytest.CaptureFixture[str], command: list[str], message: str
) -> None:
    (folder / "mine.musicxml").write_bytes(DATA)
    before = sorted(path.name for path in folder.iterdir())
    assert main(command) == 2
    assert message in capsys.readouterr().err
    assert sorted(path.name for path in folder.iterdir()) == before
    assert (folder / "mine.musicxml").read_bytes() == DATA


def test_force_writes_over_a_file_of_the_users(folder: Path) -> None:
    (folder / "mine.musicxml").write_bytes(DATA)
    assert main(["cut", "run.musicxml", "2", "-o", "mine.musicxml", "--force"]) == 0
    assert (folder / "mine.musicxml").read_bytes() != DATA


def test_music21_verovio_weasyprint_and_numpy_stay_out_of_a_plain_cut(folder: Path) -> None:
    code = (
        "import sys; from excerpts.cli import main; "
        "assert main(['cut', 'run.musicxml', '2', '-o', 'o.musicxml']) == 0; "
        "assert main(['show', 'run.musicxml']) == 0; "
        "heavy = 'music21', 'verovio', 'weasyprint', 'jinja2', 'mido', 'numpy'; "
        "print([name for name in heavy if name in sys.modules])"
    )
    done = subprocess.run(
        [sys.executable, "-c", code], cwd=folder, capture_output=True, text=True, check=True
    )
    assert done.stdout.splitlines()[-1] == "[]"


def test_an_error_of_ours_is_status_1_without_a_trace(
    folder: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    def broken(*_: object) -> None:
        raise RuntimeError("out of luck")

    monkeypatch.setattr("excerpts.score.open_score", broken)
    assert main(["show", "run.musicxml"]) == 1
    said = capsys.readouterr().err
    assert "RuntimeError: out of luck" in said
    assert "Traceback" not in said
    with pytest.raises(RuntimeError):
        main(["--debug", "show", "run.musicxml"])


def test_interrupting_is_status_130(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def interrupted(*_: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr("excerpts.score.open_score", interrupted)
    assert main(["show", "run.musicxml"]) == 130


def test_all_parts_at_once(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["cut", "two.musicxml", "1", "--part", "all", "-o", "out.musicxml"]) == 0
    opened = open_score(folder / "out.musicxml")
    assert [info.name for info in opened.parts] == ["Violin", "Cello"]
    assert main(["cut", "two.musicxml", "1", "--part", "all", "-o", "out.svg"]) == 0
    assert main(["cut", "two.musicxml", "1", "--part", "all", "-o", "out.mid"]) == 0
    programs = [m.program for m in mido.MidiFile(folder / "out.mid") if m.type == "program_change"]
    assert programs == [40, 42]  # General MIDI, counted from 0: violin, cello
    for more in (["--variant", "long-short"], ["--voice", "1"], ["--staff", "1"]):
        assert main(["cut", "two.musicxml", "1", "--part", "all", *more, "-o", "out.pdf"]) == 2
        assert "need a single part. Name one part with --part instead of all." in capsys.readouterr().err


def test_one_voice(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    low = (
        "<note><pitch><step>A</step><octave>3</octave></pitch><duration>96</duration><voice>2</voice></note>"
    )
    data = bars_of(*[f"C5:4 <backup><duration>96</duration></backup> {low}"] * 2)
    (folder / "voices.musicxml").write_bytes(data)
    assert main(["cut", "voices.musicxml", "2", "--voice", "2", "-o", "out.musicxml"]) == 0
    steps = [e.text for e in open_score(folder / "out.musicxml").root.iter("step")]
    assert steps == ["A", "A"]
    assert main(["cut", "voices.musicxml", "2", "--voice", "7", "-o", "out.musicxml"]) == 2
    assert "the part has no voice 7. It has voice 1, 2." in capsys.readouterr().err


def test_a_converted_score_says_what_may_be_lost(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (folder / "tune.abc").write_text("X:1\nT:Tune\nM:3/4\nL:1/4\nK:G\nGAB|cBA|]\n")
    assert main(["cut", "tune.abc", "2", "-o", "out.musicxml"]) == 0
    assert "warning the score: converted from ABC: fingerings" in capsys.readouterr().err


HEELS = "E5:1[<notations><technical><heel/></technical></notations>]"
"""What the engraver has no sign for."""
LOST = "bar 3: 2 of 2 heel signs could not be drawn"


@pytest.mark.parametrize("suffix", ["svg", "pdf"])
def test_what_could_not_be_drawn_is_told(
    suffix: str, folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (folder / "heels.musicxml").write_bytes(bars_of(RUN, RUN, f"{HEELS} {HEELS} C5:2", RUN))
    assert main(["cut", "heels.musicxml", "2-3", "-o", f"out.{suffix}"]) == 0
    told = capsys.readouterr()
    assert told.err == f"excerpts: heels.musicxml: {LOST}\n"
    assert main(["cut", "heels.musicxml", "2-3", "-o", f"out.{suffix}", "--force", "--json"]) == 0
    (facts,) = json.loads(capsys.readouterr().out)["excerpts"]
    assert facts["missing"] == [{"bar": "3", "what": "heel sign", "count": 2, "of": 2}]
    assert main(["cut", "heels.musicxml", "1", "--context", "0", "-o", f"one.{suffix}"]) == 0
    assert capsys.readouterr().err == ""
    assert main(["annotate", "heels.musicxml", "1", "-o", f"part.{suffix}"]) == 0
    assert LOST in capsys.readouterr().err


@pytest.mark.slow
def test_what_could_not_be_drawn_of_a_variant_is_told(
    folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (folder / "heels.musicxml").write_bytes(bars_of(RUN, RUN, f"{HEELS} {HEELS} C5:2", RUN))
    assert main(["variants", "heels.musicxml", "2-3", "-o", "all.pdf"]) == 0
    assert f"heels.musicxml, as-written: {LOST}" in capsys.readouterr().err
