"""How command lines are read: values, faults, help, and how little is loaded for each. Tier: default."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path
from typing import Annotated

import pytest
from hypothesis import given
from hypothesis import strategies as st

from excerpts.cli import main
from excerpts.cli.command import Arg, call
from excerpts.cli.commands import COMMANDS
from excerpts.errors import InputError
from tests.music import bars_of


def _sample(
    score: Annotated[Path, Arg(help="A score.")],
    address: Annotated[list[str], Arg(help="Bars.")],
    output: Annotated[Path, Arg("-o", "--output", help="File to write.")],
    context: Annotated[int, Arg("--context", high=16, help="Bars.")] = 1,
    paper: Annotated[str | None, Arg("--paper", choices=("a4", "letter"), help="Paper.")] = None,
    variant: Annotated[list[str] | None, Arg("--variant", help="Variant.")] = None,
    force: Annotated[bool, Arg("--force", help="Write over.")] = False,
) -> dict[str, object]:
    """Do something."""
    return dict(locals())


def _read(words: list[str]) -> dict[str, object]:
    values = call("excerpts sample", _sample, words)
    assert isinstance(values, dict)
    return values


BARE = {
    "score": Path("a"), "address": ["1"], "output": Path("b"),
    "context": 1, "paper": None, "variant": None, "force": False,
}  # fmt: skip


@pytest.mark.parametrize(
    ("line", "changed"),
    [
        ("a 1 -o b", {}),
        ("-ob a 1", {}),
        ("a --output=b 1 2", {"address": ["1", "2"]}),
        ("a 1 -o b 2 --context 3 3", {"address": ["1", "2", "3"], "context": 3}),
        ("a 1 -o b --paper letter --force", {"paper": "letter", "force": True}),
        ("a 1 -o b --variant x --variant=y", {"variant": ["x", "y"]}),
        ("-o b -- a -1 --force", {"address": ["-1", "--force"]}),
        ("-o b -- a --help", {"address": ["--help"]}),
        ("- 1 -o -", {"score": Path("-"), "output": Path("-")}),
    ],
)
def test_what_a_line_means(line: str, changed: dict[str, object]) -> None:
    assert _read(line.split()) == BARE | changed


@pytest.mark.parametrize(
    ("line", "said"),
    [
        ("a 1", "--output must be given. excerpts sample --help"),
        ("-o b", "SCORE and ADDRESS must be given."),
        ("a 1 -o", "-o needs a value."),
        ("a 1 -o b --context 17", "--context takes a whole number from 0 to 16, not '17'."),
        ("a 1 -o b --context=-1", "not '-1'."),
        ("a 1 -o b --context ٣", "not '٣'."),
        ("a 1 -o b --paper a3", "--paper: 'a3' is none of a4, letter."),
        ("a 1 -o b --force=1", "--force takes no value."),
        ("a 1 -o b --forse", 'there is no option --forse. Did you mean "--force"?'),
        ("a 1 -o b -x", "there is no option -x."),
    ],
)
def test_what_is_wrong_in_a_line_is_told(line: str, said: str) -> None:
    with pytest.raises(InputError) as error:
        _read(line.split())
    assert said in str(error.value)


PLACES = st.lists(st.sampled_from(["a", "12", "C-D", "@1", "-"]), min_size=2, max_size=4)
OPTIONS = st.permutations([["-o", "b"], ["--context", "2"], ["--variant=x"], ["--force"]])


@given(places=PLACES, options=OPTIONS, where=st.lists(st.integers(0, 4), min_size=4, max_size=4))
def test_options_may_stand_anywhere(places: list[str], options: list[list[str]], where: list[int]) -> None:
    line: list[list[str]] = [[word] for word in places]
    for option, place in zip(options, where, strict=True):
        line.insert(place, option)
    score, *address = places
    wanted = {"score": Path(score), "address": address, "context": 2, "variant": ["x"], "force": True}
    assert _read([word for words in line for word in words]) == BARE | wanted


@pytest.mark.parametrize("name", sorted(COMMANDS))
@pytest.mark.parametrize("flag", ["-h", "--help"])
def test_every_command_has_help(name: str, flag: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert main([name, "whatever", flag]) == 0
    usage, _, summary, *_ = capsys.readouterr().out.splitlines()
    assert usage.startswith(f"usage: excerpts {name} ")
    assert summary.endswith(".")


def test_the_commands_are_listed(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["--help"]) == 0
    listed = capsys.readouterr().out
    assert all(f"\n  {name} " in listed for name in COMMANDS)
    assert main([]) == 2
    assert capsys.readouterr().out == listed


def test_a_command_that_is_not_there_is_told(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["workbok", "a.toml"]) == 2
    assert capsys.readouterr().err == "excerpts: there is no command 'workbok'. Did you mean \"workbook\"?\n"


HEAVY = "verovio", "weasyprint", "music21", "rich", "pydantic", "fontTools", "jinja2", "logging", "tomllib"


def _loaded(folder: Path, line: list[str], status: int) -> list[str]:
    """The heavy libraries that a command loads."""
    code = f"""
import sys
from excerpts.cli import main
assert main({line!r}) == {status}
print("\\n", *(name for name in {HEAVY!r} if name in sys.modules))
"""
    done = subprocess.run(
        [sys.executable, "-c", code], check=True, capture_output=True, text=True, cwd=folder
    )
    return done.stdout.splitlines()[-1].split()


@pytest.mark.parametrize(
    ("line", "status", "loaded"),
    [
        ("cut a.musicxml 1-2 -o b.musicxml", 0, []),
        ("show a.musicxml", 0, ["tomllib"]),  # it speaks in the words of a file
        ("--help", 0, []),
        ("nonsense", 2, []),
        ("cut --nonsense", 2, []),
        ("cut nowhere.musicxml 1 -o b.musicxml", 2, []),
        ("workbook nowhere.toml", 2, ["logging"]),
        ("next nowhere.toml", 2, ["logging"]),
    ],
)
def test_little_is_loaded_for_a_quick_answer(
    tmp_path: Path, line: str, status: int, loaded: list[str]
) -> None:
    (tmp_path / "a.musicxml").write_bytes(bars_of(*["C5:1 D5:1 E5:1 F5:1"] * 3))
    assert _loaded(tmp_path, line.split(), status) == loaded


@pytest.mark.slow
def test_a_workbook_is_built_without_what_converts_scores_or_joins_pages(tmp_path: Path) -> None:
    week = Path(__file__).parents[2] / "scores" / "weeks" / "mila-week-49.toml"
    code = f"""
import sys
from excerpts.cli import main
assert main(["workbook", {str(week)!r}, "-o", "a.pdf"]) == 0
print([name for name in ("rich", "music21", "verovio", "pikepdf") if name in sys.modules])
"""
    done = subprocess.run(
        [sys.executable, "-c", code], check=True, capture_output=True, text=True, cwd=tmp_path
    )
    assert done.stdout == "a.pdf  (3 pages)\n[]\n"


def test_what_is_missing_is_named_as_it_was_typed(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (tmp_path / "mila.toml").touch()
    assert main(["plan", str(tmp_path / "milo.toml")]) == 2
    said = capsys.readouterr().err
    assert said == f'excerpts: {tmp_path}/milo.toml: There is no such file. Did you mean "mila.toml"?\n'
