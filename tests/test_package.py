"""The package as a whole: what it exports, that its README is true, and that a wheel of it stands alone."""

from __future__ import annotations

import _thread
import os
import re
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

import excerpts
from excerpts.cli import main

ROOT = Path(__file__).resolve().parent.parent
README = (ROOT / "README.md").read_text(encoding="utf-8")


@pytest.mark.parametrize("name", excerpts.__all__)
def test_everything_exported_is_there(name: str) -> None:
    assert getattr(excerpts, name) is not None


def test_nothing_else_is_exported() -> None:
    with pytest.raises(AttributeError, match="no attribute 'nonsense'"):
        excerpts.nonsense  # noqa: B018


def commands() -> list[str]:
    """The commands in the README's examples, each on a line of its own."""
    blocks = re.findall(r"```sh\n(.*?)```", README, flags=re.DOTALL)
    return [line for block in blocks for line in block.splitlines() if line.startswith("excerpts ")]


@pytest.fixture(scope="module")
def desk(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder as a reader of the README has it: the scores, and the files that it shows typed off.

    One of the demo's players is left out: `studio` builds all that are there.
    """
    folder = tmp_path_factory.mktemp("desk")
    shutil.copytree(ROOT / "scores", folder / "scores", ignore=shutil.ignore_patterns("jonas-*.toml"))
    shown = re.findall(r"<!-- (?:week )?file: (\S+) -->\n```\w+\n(.*?)```", README, flags=re.DOTALL)
    assert {"week.toml", "boxes.csv"} <= {name for name, _ in shown}
    for name, text in shown:
        (folder / name).write_text(text, encoding="utf-8")
    return folder


@pytest.mark.slow
def test_every_example_of_the_readme_runs(desk: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """In their order, as a reader types them: some need what those before have written."""
    import shlex

    monkeypatch.chdir(desk)
    monkeypatch.setenv("XDG_CACHE_HOME", str(desk.parent / "cache"))
    monkeypatch.setenv("XDG_DATA_HOME", str(desk.parent / "data"))
    # Whoever opens a desk ends it by Control-C: here as soon as the browser would open.
    monkeypatch.setattr("webbrowser.open", lambda _address: _thread.interrupt_main())
    for command in commands():
        arguments = shlex.split(command)[1:]
        assert main(arguments) == 0, command
        if "-o" in arguments:
            assert (desk / arguments[arguments.index("-o") + 1]).stat().st_size > 0, command


def test_from_nothing_to_a_printed_week_with_three_boxes_in_under_forty_typed_lines() -> None:
    begin = README[: README.index("## The next week")]
    (week,) = re.findall(r"<!-- file: first.toml -->\n```toml\n(.*?)```", begin, flags=re.DOTALL)
    setting_up = re.findall(r"^sh .ci/setup && .*$", begin, flags=re.MULTILINE)
    typed = [
        *setting_up,
        *(line for line in week.splitlines() if line),
        *re.findall(r"^excerpts .*$", begin, re.M),
    ]
    assert week.count("[[box]]") == 3
    assert len(typed) < 40


def test_what_a_new_teacher_needs_is_on_the_first_two_pages() -> None:
    """At most 120 lines before the reference begins, and every example of them is a command that is run above."""
    begin = README[: README.index("\n## The week file")]
    assert len(begin.splitlines()) <= 120
    for needed in ("sh .ci/setup", "excerpts new", "excerpts workbook", "excerpts log", "excerpts next"):
        assert needed in begin


def test_the_readme_names_every_command() -> None:
    from excerpts.cli.commands import COMMANDS

    named = {command.split()[1] for command in commands()} | {"demo"}
    assert set(COMMANDS) == named


def test_the_python_example_of_the_readme_runs(desk: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    match = re.search(r"```python\n(.*?)```", README, flags=re.DOTALL)
    assert match is not None
    monkeypatch.chdir(desk)
    done = subprocess.run([sys.executable, "-W", "ignore", "-c", match[1]], capture_output=True, text=True)
    assert done.stderr == ""
    assert (desk / "slow.musicxml").stat().st_size > 0


def test_the_top_level_is_as_agreed() -> None:
    # A machine without git has the same folder: what .gitignore names is no part of it.
    ignored = {line.strip("/") for line in (ROOT / ".gitignore").read_text().splitlines()}
    tops = {path.name for path in ROOT.iterdir() if not path.name.startswith(".")} - ignored
    wanted = {"README.md", "DEVELOPERS.md", "pyproject.toml", "excerpts", "templates", "tests", "scores"}
    assert {top for top in tops if not top.endswith(".egg-info")} == wanted


@pytest.mark.slow
def test_a_wheel_installed_elsewhere_runs_the_demo(tmp_path: Path) -> None:
    """Templates, words, faces and demo scores travel with the wheel: built, unpacked elsewhere, run there."""
    pip = [sys.executable, "-m", "pip", "--disable-pip-version-check", "-q"]
    wheel = [*pip, "wheel", "--no-deps", "--no-build-isolation", "-w", str(tmp_path), str(ROOT)]
    subprocess.run(wheel, check=True, capture_output=True)
    (built,) = tmp_path.glob("*.whl")
    home = tmp_path / "elsewhere"
    subprocess.run(
        [*pip, "install", "--no-deps", "--target", str(home), str(built)], check=True, capture_output=True
    )
    work = tmp_path / "work"
    work.mkdir()
    code = "import excerpts, sys; from excerpts.cli import main; print(excerpts.__file__); sys.exit(main(['demo']))"
    environment = {**os.environ, "PYTHONPATH": str(home)}
    done = subprocess.run(
        [sys.executable, "-c", code], cwd=work, env=environment, capture_output=True, text=True, check=True
    )
    assert done.stdout.splitlines()[0] == str(home / "excerpts" / "__init__.py")
    assert len(list((work / "demo").glob("*.pdf"))) == 3
