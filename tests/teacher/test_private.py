"""What a teacher writes for nobody else is on the lesson sheet, and on nothing that a player gets."""

from __future__ import annotations

from pathlib import Path

import pikepdf
import pytest

from excerpts.cli import main
from excerpts.week import load_week
from tests.log.weeks import row
from tests.pdf_text import text_of
from tests.teacher.players import FULL, player, write

SECRET = "Quarrelsome"
TEXT = FULL.replace('notes = ["Bring', f'private = ["{SECRET}: speak to his mother."]\nnotes = ["Bring')


def _holds(path: Path) -> bool:
    """Whether the text of a file has the secret: of a PDF on its pages, in its data and in all of its objects."""
    data = path.read_bytes()
    if path.suffix != ".pdf":
        return SECRET.encode() in data
    if SECRET in text_of(data).replace(" ", ""):
        return True
    with pikepdf.open(path) as pdf:
        return any(SECRET in repr(item) or _stream_holds(item) for item in pdf.objects)


def _stream_holds(item: object) -> bool:
    return isinstance(item, pikepdf.Stream) and SECRET.encode() in item.read_bytes()


@pytest.mark.slow
def test_the_lesson_sheet_has_them_and_nothing_of_the_players(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    week = player(tmp_path, text=TEXT)
    assert week.week.private == (f"{SECRET}: speak to his mother.",)
    write(week, row(tempo=54, clean=5, day=0))
    own = str(week.path)
    for arguments in (
        ["check", own],
        ["plan", own],
        ["plan", own, "--json"],
        ["workbook", own],
        ["workbook", own, "--paper", "phone", "-o", str(tmp_path / "phone.pdf")],
        ["workbook", own, "--paper", "booklet", "-o", str(tmp_path / "booklet.pdf")],
        ["log", own, "--day", "tue"],
        ["log", own],
        ["progress", own],
        ["studio", str(tmp_path)],
        ["next", own, "-o", str(tmp_path / "next.toml")],
        ["board", str(tmp_path), "-o", str(tmp_path / "board.pdf")],
    ):
        assert main(arguments) == 0, arguments
    told = capsys.readouterr()
    assert SECRET not in told.out + told.err
    assert "Private notes left out: 1" in told.out
    made = [path for path in tmp_path.rglob("*") if path.is_file() and path != week.path]
    assert len(made) >= 7
    assert [path.name for path in made if _holds(path)] == []
    assert load_week(tmp_path / "next.toml").week.private == ()
    sheet = tmp_path / "sheet.pdf"
    assert main(["lesson", own, "-o", str(sheet)]) == 0
    assert _holds(sheet)


def test_a_fault_in_them_does_not_repeat_them(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = tmp_path / "week.toml"
    path.write_text(TEXT.replace('speak to his mother."]', 'a", 3]'), encoding="utf-8")
    assert main(["check", str(path)]) == 2
    told = capsys.readouterr()
    assert "private" in told.err
    assert SECRET not in told.out + told.err
