"""`excerpts studio`: what is built, what is not built again, what fails and what does not. Tier: default."""

from __future__ import annotations

import json
import subprocess
import sys
from collections.abc import Callable
from datetime import date
from pathlib import Path

import pikepdf
import pytest

from excerpts.cli import main
from excerpts.studio import Summary, build_studio
from excerpts.studio.print_days import joined
from excerpts.system.studio_files import read_facts
from tests.music import bars_of
from tests.pdf_text import text_of
from tests.studio.small import studio, week


@pytest.fixture(scope="module")
def cache(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """One cache for all tests here, so that each draws little."""
    return tmp_path_factory.mktemp("cache")


def _states(summary: Summary) -> dict[str, str]:
    return {one.week.name: one.state for one in summary.outcomes}


@pytest.mark.slow
def test_only_what_changed_is_built_again(tmp_path: Path) -> None:
    cache = tmp_path / "cache"
    folder = studio(tmp_path / "s", "Mila Fenn", "Tom Reed")
    first = build_studio(folder, cache=cache, jobs=1)
    assert _states(first) == {"mila-11-30.toml": "made", "tom-11-30.toml": "made"}
    assert not first.failed
    assert not first.trouble
    mila = folder / "mila-fenn-2026-11-30.pdf"
    before = mila.read_bytes()
    assert before.startswith(b"%PDF-")
    assert [(day.path.name, day.unchanged) for day in first.days] == [("print-2026-11-30-monday.pdf", False)]

    second = build_studio(folder, cache=cache)
    assert _states(second) == {"mila-11-30.toml": "unchanged", "tom-11-30.toml": "unchanged"}
    assert [(one.pages, one.target) for one in second.outcomes] == [
        (one.pages, one.target) for one in first.outcomes
    ]
    assert second.days[0].unchanged
    assert second.days[0].pages == first.days[0].pages

    week(folder, "Tom Reed", bars="3-4")
    third = build_studio(folder, cache=cache)
    assert _states(third) == {"mila-11-30.toml": "unchanged", "tom-11-30.toml": "made"}
    assert not third.days[0].unchanged
    assert mila.read_bytes() == before


@pytest.mark.slow
def test_only_new_music_is_printed(tmp_path: Path, cache: Path) -> None:
    """With --new the second week names the first."""
    folder = studio(tmp_path / "s", "Mila Fenn")
    assert build_studio(folder, cache=cache, new=True).outcomes[0].state == "made"
    week(folder, "Mila Fenn", date(2026, 12, 7))
    for state in ("made", "unchanged"):
        assert build_studio(folder, cache=cache, new=True).outcomes[0].state == state
    assert "workbook of 30 November" in text_of(folder / "mila-fenn-2026-12-07.pdf")


@pytest.mark.long
@pytest.mark.slow
def test_only_new_music_is_printed_where_the_player_has_the_other(tmp_path: Path, cache: Path) -> None:
    """With --new; a player's first week has all of its music, and another earlier workbook makes the week anew."""
    folder = studio(tmp_path / "s", "Mila Fenn")
    assert build_studio(folder, cache=cache, new=True).outcomes[0].state == "made"
    week(folder, "Mila Fenn", date(2026, 12, 7))
    made = folder / "mila-fenn-2026-12-07.pdf"
    assert build_studio(folder, cache=cache).outcomes[0].state == "made"
    whole = made.read_bytes()
    assert build_studio(folder, cache=cache, new=True).outcomes[0].state == "made"
    assert "workbook of 30 November" in text_of(made)
    assert build_studio(folder, cache=cache, new=True).outcomes[0].state == "unchanged"
    (folder / "mila-fenn-2026-11-30.pdf").unlink()
    assert build_studio(folder, cache=cache, new=True).outcomes[0].state == "made"
    assert made.read_bytes() == whole
    assert build_studio(folder, cache=cache, new=True).outcomes[0].state == "unchanged"
    assert main(["workbook", str(folder / "mila-11-30.toml")]) == 0  # it is printed after all
    assert build_studio(folder, cache=cache, new=True).outcomes[0].state == "made"
    assert made.read_bytes() != whole
    assert build_studio(folder, cache=cache, new=True).outcomes[0].state == "unchanged"


@pytest.mark.long
@pytest.mark.slow
def test_minutes_that_rise_too_fast_are_told_and_make_no_workbook_anew(
    tmp_path: Path, cache: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """Of the week before, wherever it stands below the folder; of an unchanged workbook again."""
    folder = studio(tmp_path / "s")
    (folder / "old").mkdir()
    file = week(folder, "Mila Fenn", date(2026, 12, 7))
    file.write_text(file.read_text().replace("minutes = 20", "minutes = {mon = 30, tue = 180}"))
    assert [one.count("jump") for one in build_studio(folder, cache=cache).outcomes[0].warnings] == [1]
    before = week(folder, "Mila Fenn", file="old/mila-11-30.toml")
    before.write_text(before.read_text().replace("minutes = 20", "minutes = 5"))
    week(folder, "Mila Fenn", date(2026, 11, 23), file="older.toml")
    (outcome,) = build_studio(folder, cache=cache).outcomes
    assert outcome.state == "unchanged"
    assert "the week of 2026-11-30 had 5" in outcome.warnings[1]
    monkeypatch.chdir(folder)
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "cache"))
    assert main(["studio", ".", "--jobs", "1"]) == 0
    said = capsys.readouterr()
    assert "excerpts: mila-12-07.toml: 2026-12-08 has 180 minutes" in said.err
    assert f"({outcome.pages} page" in said.out


@pytest.mark.slow
def test_what_is_left_out_is_told_of_each_player_and_counted(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """As `check` tells it, and again when the workbook has not changed."""
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "cache"))
    folder = studio(tmp_path / "s", "Mila Fenn", "Tom Reed")
    file = folder / "tom-11-30.toml"
    file.write_text(file.read_text().replace("variants = []", 'variants = ["lower-line"]'))
    for state in ("made", "unchanged"):
        assert main(["studio", str(folder), "--jobs", "1"]) == 0
        said = capsys.readouterr()
        (told,) = [line for line in said.err.splitlines() if "It is left out" in line]
        assert told.startswith(f'excerpts: {folder}/tom-11-30.toml, line 18, box "a", variants: air.musicxml')
        assert f"2 {state}" in said.out
        assert "1 with something left out or worth another look" in said.out


@pytest.mark.long
@pytest.mark.slow
def test_a_workbook_from_the_cache_is_the_same_to_the_byte(tmp_path: Path, cache: Path) -> None:
    folder = studio(tmp_path / "s", "Mila Fenn")
    pdf = folder / "mila-fenn-2026-11-30.pdf"
    build_studio(folder, cache=None)
    plain = pdf.read_bytes()
    assert main(["workbook", str(folder / "mila-11-30.toml")]) == 0
    assert pdf.read_bytes() == plain
    for _ in range(2):
        pdf.unlink()
        assert _states(build_studio(folder, cache=cache)) == {"mila-11-30.toml": "made"}
        assert pdf.read_bytes() == plain


@pytest.mark.slow
def test_everything_that_a_workbook_depends_on_makes_it_anew(tmp_path: Path, cache: Path) -> None:
    """One change after another; between them nothing is built again."""
    folder = studio(tmp_path / "s", "Mila")
    pdf = folder / "mila-2026-11-30.pdf"
    other = bars_of(*["A4:2 B4:2"] * 8)
    changes: dict[str, Callable[[], object]] = {
        "week": lambda: None,
        "score": lambda: (folder / "scores" / "air.musicxml").write_bytes(other),
        "settings": lambda: (folder / "studio.toml").write_text(
            'format = 1\nwords = "us"\n', encoding="utf-8"
        ),
        # the week's own folder goes before the scores folder
        "shadow": lambda: (folder / "air.musicxml").write_bytes(bars_of(*["B4:2 A4:2"] * 8)),
        "pdf": lambda: pdf.write_bytes(pdf.read_bytes() + b"\n"),
        "gone": pdf.unlink,
    }
    for change, make in changes.items():
        make()
        for state in ("made", "unchanged"):
            assert _states(build_studio(folder, cache=cache)) == {"mila-11-30.toml": state}, change


@pytest.mark.slow
def test_one_bad_file_stops_no_other(
    tmp_path: Path, cache: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setenv("XDG_CACHE_HOME", str(cache))
    folder = studio(tmp_path / "s", "Mila", "Tom", "Una")
    week(folder, "Tom", bars="900")
    (folder / "torn.toml").write_text("format = 1\n[player\n", encoding="utf-8")
    (folder / "una-2026-11-30.pdf").write_bytes(b"%PDF-1.4 of the user")
    (folder / "scores" / "bad.musicxml").write_bytes(b"<score-partwise><part-list/>")
    path = week(folder, "Vera")
    path.write_text(path.read_text("utf-8").replace("air.musicxml", "bad.musicxml"), encoding="utf-8")
    assert main(["studio", str(folder)]) == 2
    told = capsys.readouterr()
    assert "made       " in told.out
    assert told.out.splitlines()[-1] == "1 made, 0 unchanged, 4 failed"
    assert "900" in told.err
    assert "torn.toml, line 2" in told.err
    assert "did not make" in told.err
    assert "bad.musicxml" in told.err
    assert (folder / "una-2026-11-30.pdf").read_bytes() == b"%PDF-1.4 of the user"
    assert sorted(path.name for path in folder.glob("*.pdf")) == [
        "mila-2026-11-30.pdf",
        "print-2026-11-30-monday.pdf",
        "una-2026-11-30.pdf",
    ]
    assert not list(folder.rglob(".*"))


@pytest.mark.long
@pytest.mark.slow
@pytest.mark.parametrize(
    ("one", "other"), [("Mila Fenn", "Mila-Fenn"), ("Mila 王", "Mila 李"), ("Zoë", "Zoe")]
)
def test_two_players_whose_files_would_have_one_name(
    tmp_path: Path, cache: Path, one: str, other: str
) -> None:
    folder = studio(tmp_path / "s")
    week(folder, one, file="one.toml")
    week(folder, other, file="two.toml")
    first = build_studio(folder, cache=cache)
    assert sorted(_states(first).values()) == ["made", "made"]
    targets = {path.target for path in first.outcomes if path.target}
    assert {facts.player for path in targets if (facts := read_facts(path))} == {one, other}
    again = build_studio(folder, cache=cache)
    assert sorted(_states(again).values()) == ["unchanged", "unchanged"]
    assert {path.target for path in again.outcomes} == targets
    afresh = build_studio(folder, cache=None)
    assert {path.target for path in afresh.outcomes} == targets


@pytest.mark.slow
def test_a_workbook_of_another_player_is_never_written_over(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    folder = studio(tmp_path / "s")
    files = [week(folder, name, file=f"{number}.toml") for number, name in enumerate(("Zoe", "Zoë"))]
    assert [main(["workbook", str(file)]) for file in files] == [0, 0]
    books = {path.name: path.read_bytes() for path in folder.glob("*.pdf")}
    assert len(books) == 2
    assert [main(["workbook", str(file)]) for file in reversed(files)] == [0, 0]
    assert {path.name: path.read_bytes() for path in folder.glob("*.pdf")} == books
    taken = folder / "zoe-2026-11-30.pdf"
    assert main(["workbook", str(files[1]), "-o", str(taken)]) == 2
    assert "this is the workbook of Zoe, not of Zoë" in capsys.readouterr().err
    assert main(["workbook", str(files[1]), "-o", str(taken), "--force"]) == 0


@pytest.mark.slow
def test_days_and_their_order(tmp_path: Path, cache: Path) -> None:
    folder = studio(tmp_path / "s", "Ada")
    week(folder, "Mila", lesson="tue 17:00")
    week(folder, "Tom", lesson="Tuesday 9.30")
    week(folder, "Una", lesson="tue")
    week(folder, "Vera", lesson="16:30")
    summary = build_studio(folder, cache=cache)
    assert {day.path.name: day.players for day in summary.days} == {
        "print-2026-11-30-monday.pdf": ("Vera", "Ada"),
        "print-2026-12-01-tuesday.pdf": ("Tom", "Mila", "Una"),
    }
    for day in summary.days:
        with pikepdf.open(day.path) as pdf:
            assert len(pdf.pages) == day.pages


def test_each_workbook_begins_on_a_new_sheet(tmp_path: Path) -> None:
    paths = []
    for place, (count, size) in enumerate([(3, (595, 842)), (2, (612, 792)), (1, (595, 842))]):
        pdf = pikepdf.new()
        for _ in range(count):
            pdf.add_blank_page(page_size=size)
        paths.append(tmp_path / f"{place}.pdf")
        pdf.save(paths[-1])
    data, pages = joined(paths, ["Ada", "Bo", "Cy"])
    assert joined(paths, ["Ada", "Bo", "Cy"])[0] == data
    (tmp_path / "all.pdf").write_bytes(data)
    with pikepdf.open(tmp_path / "all.pdf") as whole:
        assert [float(page.mediabox[2]) for page in whole.pages] == [595] * 4 + [612] * 2 + [595] * 2
        assert pages == 8
        with whole.open_outline() as outline:
            assert [item.title for item in outline.root] == ["Ada", "Bo", "Cy"]


@pytest.mark.slow
def test_a_print_file_has_what_the_workbooks_have_and_nothing_that_leads_nowhere(
    tmp_path: Path, cache: Path
) -> None:
    folder = studio(tmp_path / "s", "Ada", "Mila")
    (day,) = build_studio(folder, cache=cache).days
    with pikepdf.open(folder / "ada-2026-11-30.pdf") as single, pikepdf.open(day.path) as whole:
        for alone, printed in zip(single.pages, whole.pages, strict=False):
            assert printed.Contents.read_bytes() == alone.Contents.read_bytes()
        assert "/StructTreeRoot" not in whole.Root
        assert not any(name in page for page in whole.pages for name in ("/Annots", "/StructParents"))
        assert len(whole.pages) == 2 * (len(single.pages) + len(single.pages) % 2)


@pytest.mark.parametrize("text", ["someday", "25:00", "tue wed", "16:30 17:30", "12:60", "tue 4 pm"])
def test_a_lesson_that_is_no_time(tmp_path: Path, text: str, capsys: pytest.CaptureFixture[str]) -> None:
    folder = studio(tmp_path / "s")
    path = week(folder, "Mila", lesson=text)
    assert main(["check", str(path)]) == 2
    assert 'Write day and time as "tue 16:30"' in capsys.readouterr().err


@pytest.mark.parametrize(
    ("lesson", "start", "day", "time"),
    [
        ("tue 16:30", date(2026, 11, 30), date(2026, 12, 1), "16:30"),
        ("tue", date(2026, 12, 1), date(2026, 12, 1), ""),
        ("tue", date(2026, 12, 2), date(2026, 12, 8), ""),
        ("09:05", date(2026, 12, 2), date(2026, 12, 2), "09:05"),
        (None, date(2026, 12, 2), date(2026, 12, 2), ""),
    ],
)
def test_day_and_time_of_a_lesson(lesson: str | None, start: date, day: date, time: str) -> None:
    """30 November 2026 is a Monday (ISO 8601 calendar: `date.weekday`)."""
    from excerpts.weekfile.days import lesson_at

    assert lesson_at(lesson, start) == (day, time)


WATCH = """
import json, os, sys
from pathlib import Path
root = sys.argv[1]
opened = set()
def hook(event, arguments):
    if event == "open" and isinstance(arguments[0], str) and "r" in str(arguments[1] or "r"):
        opened.add(arguments[0])
sys.addaudithook(hook)
from excerpts.studio.worker import build
made = build(Path(root, "week.toml"), Path(root, "out.pdf"), None, "", False)
inside = {str(Path(name).resolve()) for name in opened if Path(name).resolve().is_relative_to(root)}
print(json.dumps({"opened": sorted(inside), "read": made["read"]}), flush=True)
os._exit(0)  # a hook cannot be taken away, and Python 3.11 may crash when it ends with one
"""


@pytest.mark.slow
def test_every_file_that_is_opened_is_among_those_that_count(tmp_path: Path) -> None:
    """Against what Python really opens: an audit hook sees every file."""
    root = studio(tmp_path / "s").resolve()
    (root / "set.toml").write_text(
        '[[piece]]\nid = "b"\ntitle = "B"\nscore = "b.musicxml"\n[[box]]\nid = "bb"\npiece = "b"\nbars = "1"\n',
        encoding="utf-8",
    )
    (root / "b.musicxml").write_bytes(bars_of(*["A4:2 B4:2"] * 4))
    (root / "scales.csv").write_text("key,pattern\nG,scale\n", encoding="utf-8")
    path = week(root, "Mila", file="week.toml")
    said = path.read_text("utf-8").replace(
        "format = 1\n", 'format = 1\ninclude = "set.toml"\nscales = "scales.csv"\n'
    )
    path.write_text(said, encoding="utf-8")
    done = subprocess.run(
        [sys.executable, "-c", WATCH, str(root)], check=True, capture_output=True, text=True
    )
    told = json.loads(done.stdout)
    names = {"week.toml", "set.toml", "scales.csv", "studio.toml", "b.musicxml", "scores/air.musicxml"}
    opened = {Path(name).relative_to(root).as_posix() for name in told["opened"] if Path(name).exists()}
    opened.discard("out.pdf")
    assert opened == names
    assert {name for name, digest in told["read"].items() if digest} == {str(root / name) for name in names}
    assert told["read"][str(root / "air.musicxml")] == ""


@pytest.mark.slow
def test_nothing_heavy_is_loaded_when_nothing_has_changed(tmp_path: Path, cache: Path) -> None:
    folder = studio(tmp_path / "s", "Mila")
    build_studio(folder, cache=cache)
    code = f"""
import sys
from pathlib import Path
from excerpts.studio import build_studio
summary = build_studio(Path({str(folder)!r}), cache=Path({str(cache)!r}))
print([one.state for one in summary.outcomes])
heavy = ("verovio", "weasyprint", "music21", "pydantic", "pikepdf", "rich")
print([name for name in heavy if name in sys.modules])
"""
    done = subprocess.run([sys.executable, "-c", code], check=True, capture_output=True, text=True)
    assert done.stdout.splitlines() == ["['unchanged']", "[]"]


@pytest.mark.long
@pytest.mark.slow
def test_what_could_not_be_drawn_is_told_from_the_cache_too(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    folder = studio(tmp_path / "s", "Mila Fenn")
    heel = "E5:1[<notations><technical><heel/></technical></notations>]"
    (folder / "scores" / "air.musicxml").write_bytes(bars_of("C5:4", f"{heel} {heel} C5:2", *["C5:4"] * 6))
    told = ("Mila Fenn: air.musicxml: bar 2: 2 of 2 heel signs could not be drawn",)
    cache = tmp_path / "cache"
    made = build_studio(folder, cache=cache, jobs=1).outcomes[0]
    unchanged = build_studio(folder, cache=cache, jobs=1).outcomes[0]
    (folder / "mila-fenn-2026-11-30.pdf").unlink()
    again = build_studio(folder, cache=cache, jobs=1).outcomes[0]  # the pages are made anew, the music is not
    assert [one.state for one in (made, unchanged, again)] == ["made", "unchanged", "made"]
    assert made.warnings == unchanged.warnings == again.warnings == told
    assert main(["workbook", str(folder / "mila-11-30.toml"), "--force"]) == 0
    assert f"excerpts: {told[0]}" in capsys.readouterr().err
