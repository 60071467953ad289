"""A variant that fails stops no workbook: it is left out, counted, and told as our fault."""

from __future__ import annotations

from pathlib import Path

import pytest

from excerpts.cli import main
from excerpts.errors import EngravingError, FailedVariantError, ScoreError
from excerpts.excerpt import Excerpt
from excerpts.studio.disk_render_cache import DiskRenderCache
from excerpts.system.cache import Store
from excerpts.variants import vary
from excerpts.words import Words
from excerpts.workbook import build_workbook
from excerpts.workbook import render_cache as memory
from excerpts.workbook import workbook_music as music
from excerpts.workbook.render_cache import Printed
from tests.pdf_text import text_of
from tests.variants.music import passage
from tests.workbook.weeks import OLDER, week


def fail_with(monkeypatch: pytest.MonkeyPatch, failure: Exception) -> None:
    """Let every "long-short" fail, and no other variant."""

    def failing(excerpt: Excerpt, name: str, words: Words) -> Excerpt:
        if name == "long-short":
            raise failure
        return vary(excerpt, name, words=words)

    monkeypatch.setattr(memory, "vary", failing)


@pytest.mark.slow
@pytest.mark.parametrize(
    "failure",
    [
        ArithmeticError("no note is 255/512 long"),
        pytest.param(KeyError("x"), marks=pytest.mark.long),
        pytest.param(RecursionError("deep"), marks=pytest.mark.long),
    ],
)
def test_the_workbook_is_built_without_it(
    failure: Exception, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    fail_with(monkeypatch, failure)
    built = build_workbook(week(tmp_path, OLDER))
    text = text_of(built.pdf)
    assert "Long–short" not in text
    assert "not printed" not in text
    assert "Separate bows" in text
    (told,) = [line for line in built.warnings if "fault in this program" in line]
    assert told.startswith("2 variants are left out")
    assert "'long-short' of river.musicxml, bars 3-4" in told
    assert "'long-short' of river.musicxml, bars 9-10" in told
    assert type(failure).__name__ in told


@pytest.mark.slow
def test_what_the_score_is_to_blame_for_is_no_fault_of_ours(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    fail_with(monkeypatch, ScoreError("a number in the music cannot be read."))
    built = build_workbook(week(tmp_path, OLDER))
    assert "cannot be read" not in text_of(built.pdf)
    assert "number in the music cannot be read" in " ".join(fault.message for fault in built.told)
    assert not any("fault in this program" in line for line in built.warnings)


@pytest.mark.slow
def test_a_variant_that_cannot_be_engraved_is_left_out_too(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    engrave = music.Music.engrave

    def failing(self: music.Music, excerpt: Excerpt, *more: object) -> Printed:
        if excerpt.origin.variant == "separate":
            raise EngravingError("the engraver gave nothing to print.")
        return engrave(self, excerpt, *more)  # type: ignore[arg-type]

    monkeypatch.setattr(music.Music, "engrave", failing)
    built = build_workbook(week(tmp_path, OLDER))
    assert any(line.startswith("1 variant is left out") and "'separate'" in line for line in built.warnings)
    assert "Separate bows" not in text_of(built.pdf)


@pytest.mark.slow
def test_a_warm_up_that_fails_is_left_out_too(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    def failing(*_: object, **__: object) -> Excerpt:
        raise ZeroDivisionError("nothing")

    monkeypatch.setattr("excerpts.variants.vary", failing)
    text = OLDER.replace('key = "G"', 'key = "G"\nvariants = ["long-short"]')
    built = build_workbook(week(tmp_path, text), only=["warm-ups"])
    (told,) = [line for line in built.warnings if "fault in this program" in line]
    assert "'long-short' of G major" in told
    assert "ZeroDivisionError: nothing" in told


@pytest.mark.slow
def test_the_command_tells_it_and_debug_shows_where(
    monkeypatch: pytest.MonkeyPatch,
    tmp_path: Path,
    capfd: pytest.CaptureFixture[str],
    caplog: pytest.LogCaptureFixture,
) -> None:
    fail_with(monkeypatch, ArithmeticError("no note is 255/512 long"))
    week(tmp_path, OLDER)
    file, output = str(tmp_path / "week.toml"), tmp_path / "week.pdf"
    assert main(["workbook", file, "--only", "boxes", "-o", str(output)]) == 0
    assert "2 variants are left out because of a fault in this program" in capfd.readouterr().err
    assert output.exists()
    assert not caplog.records
    assert main(["--debug", "workbook", file, "--only", "boxes", "-o", str(output), "--force"]) == 0
    traces = [record for record in caplog.records if record.exc_info]
    assert [record.getMessage() for record in traces] == [
        f"The variant 'long-short' of river.musicxml, bars {bars} failed." for bars in ("3-4", "9-10")
    ]


def test_a_studio_does_not_remember_a_failure(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    """A refusal is remembered; what failed is tried again."""
    excerpt = passage("4/4", "C4/1/2 D4 E4 F4 G4 A4 B4 C5", "D5/4", box=(0, 0))
    store = Store(tmp_path)
    with monkeypatch.context() as patch:
        fail_with(patch, ArithmeticError("no note"))
        with pytest.raises(FailedVariantError):
            DiskRenderCache(store, "1").varied(excerpt, "long-short", Words())
    assert DiskRenderCache(store, "1").varied(excerpt, "long-short", Words()).origin.variant == "long-short"
