"""The short way of `cut`, `show` and `workbook`: it means what the usual way means, and loads little. Tier: default."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path
from typing import Any, cast

import pytest
import typer.main
from hypothesis import given
from hypothesis import strategies as st

from excerpts.cli import cut, main, show, week
from excerpts.cli.app import app
from excerpts.cli.quick import FORMS, quick_call
from tests.music import bars_of

WORDS = [
    "a.mxl", "12", "C-D", "@1-@4", "12:3-16:1", "-o", "b.musicxml", "b.mxl", "b.pdf", "--output=b.mxl", "--output",
    "--part", "Cello", "--part=#2", "all", "--context", "0", "3", "16", "17", "-1", "--context=2", "--context=", "x",
    "--voice", "2", "--staff", "--json", "--json=1", "--force", "--boxes", "--variant", "--paper", "--", "-h", "--help",
    "--debug", "", "--new", "--new=1", "-ob.mxl", "--part=", "٣",
]  # fmt: skip


def _click(name: str) -> Any:
    return cast("Any", typer.main.get_command(app)).commands[name]


@pytest.mark.parametrize("name", sorted(FORMS))
def test_the_tables_are_those_of_the_command(name: str) -> None:
    form = FORMS[name]
    declared = {parameter.name: parameter for parameter in _click(name).params}
    for flag, option in form.options.items():
        parameter = declared[option.name]
        assert flag in parameter.opts
        assert parameter.is_flag == (option.read is None)
    for value, default in form.defaults.items():
        assert declared[value].default == default
    assert set(form.needed) == {parameter.name for parameter in declared.values() if parameter.required}
    arguments = [one.name for one in _click(name).params if one.param_type_name == "argument"]
    assert arguments == [one for one in (form.first, form.others) if one]
    assert (declared[form.others].nargs == -1) if form.others else True


def _called(monkeypatch: pytest.MonkeyPatch, words: list[str]) -> dict[str, Any] | None:
    """What the usual way would call the command's work with; None when it does not come to that."""
    calls: list[dict[str, Any]] = []
    monkeypatch.setattr(cut, "cut_music", lambda **values: calls.append(values))
    monkeypatch.setattr(show, "show_score", lambda **values: calls.append(values))
    monkeypatch.setattr(week, "build_week", lambda **values: calls.append(values))
    try:
        app(words, standalone_mode=False)
    except Exception:  # it refuses in its own way, which is tested elsewhere
        return None
    return calls[0] if calls else None


@given(words=st.lists(st.sampled_from(WORDS), max_size=8), name=st.sampled_from(sorted(FORMS)))
def test_what_goes_the_short_way_means_the_same(words: list[str], name: str) -> None:
    call = quick_call([name, *words])
    if call is None:
        return
    with pytest.MonkeyPatch.context() as patch:
        usual = _called(patch, [name, *words])
    assert usual is not None
    for extra, without in (("variant", ()), ("look", None), ("paper", None), ("only", []), ("today", None)):
        if extra in usual:
            told = usual.pop(extra)
            assert told == without or extra == "look"
    assert call.values == usual


@pytest.mark.parametrize(
    ("words", "short"),
    [
        ("cut a.xml 1 -o b.musicxml", True),
        ("cut a.xml 1 2 --context 0 --part=#2 --json --force --voice 1 --staff 2 -o b.mxl", True),
        ("show a.xml", True),
        ("workbook a.toml", True),
        ("workbook a.toml -o b.pdf --force --new", True),
        ("workbook a.toml --paper phone", False),
        ("workbook a.toml --only boxes", False),
        ("workbook", False),
        ("show a.xml --boxes --json", True),
        ("cut a.xml 1 -o b.pdf", False),
        ("cut a.xml 1 -o b.mxl --variant long-short", False),
        ("cut a.xml 1 -o b.mxl --context 17", False),
        ("cut a.xml -o b.mxl", False),
        ("cut a.xml 1 -o", False),
        ("show a.xml b.xml", False),
        ("show --help", False),
        ("--debug show a.xml", False),
        ("variants", False),
        ("", False),
    ],
)
def test_which_way_is_taken(words: str, short: bool) -> None:
    assert (quick_call(words.split()) is not None) == short


@pytest.mark.parametrize(
    ("wanted", "also"),
    [
        (["cut", "1-2", "-o", "b.musicxml"], []),
        (["show"], ["tomllib"]),
    ],  # `show` speaks in the words of a file
)
def test_little_is_loaded(tmp_path: Path, wanted: list[str], also: list[str]) -> None:
    (tmp_path / "a.musicxml").write_bytes(bars_of(*["C5:1 D5:1 E5:1 F5:1"] * 3))
    command, *rest = wanted
    code = f"""
import sys
from excerpts.cli import main
assert main({[command, "a.musicxml", *rest]!r}) == 0
heavy = ("verovio", "weasyprint", "music21", "typer", "rich", "pydantic", "fontTools", "jinja2", "tomllib", "logging")
print([name for name in heavy if name in sys.modules], file=sys.stderr)
"""
    done = subprocess.run(
        [sys.executable, "-c", code], check=True, capture_output=True, text=True, cwd=tmp_path
    )
    assert done.stderr == f"{also}\n"


def test_a_workbook_is_built_without_what_reads_all_commands(tmp_path: Path) -> None:
    week = Path(__file__).parents[2] / "scores" / "weeks" / "mila-week-49.toml"
    code = f"""
import sys
from excerpts.cli import main
assert main(["workbook", {str(week)!r}, "-o", "a.pdf"]) == 0
print([name for name in ("typer", "rich", "music21", "verovio", "pikepdf") if name in sys.modules])
"""
    done = subprocess.run(
        [sys.executable, "-c", code], check=True, capture_output=True, text=True, cwd=tmp_path
    )
    assert done.stdout == "a.pdf  (3 pages)\n[]\n"


@pytest.mark.parametrize("tail", [[], ["--paper", "a4"]])
def test_both_ways_write_and_refuse_alike(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], tail: list[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """`--paper` says nothing for music, and takes the usual way."""
    monkeypatch.chdir(tmp_path)
    Path("a.musicxml").write_bytes(bars_of(*["C5:1 D5:1 E5:1 F5:1"] * 3))
    line = ["cut", "a.musicxml", "2", "-o", "b.musicxml", *tail]
    assert (quick_call(line) is None) == bool(tail)
    assert main(line) == 0
    assert capsys.readouterr() == ("b.musicxml\n", "")
    assert b'number="2"' in Path("b.musicxml").read_bytes()
    line[2] = "99"
    assert main(line) == 2
    told = capsys.readouterr()
    assert told.out == ""
    assert told.err.startswith("excerpts: ")
    assert "99" in told.err
