"""Devices, pipes and links in the place of files, and names that climb: nothing outside is read or written."""

from __future__ import annotations

import os
import re
from pathlib import Path

import pytest

from tests.hostile.running import SECONDS, run
from tests.log.weeks import HEAD, RUN

SECRET = "nobody may read this"


@pytest.fixture
def studio(tmp_path: Path) -> Path:
    """A studio with a week file, and a secret beside the studio."""
    root = tmp_path / "studio"
    root.mkdir()
    (root / "studio.toml").write_text("format = 1\n", encoding="utf-8")
    (root / "ada.toml").write_text(HEAD + RUN, encoding="utf-8")
    (tmp_path / "secret").write_text(SECRET, encoding="utf-8")
    return root


def refused(folder: Path, said: str, *arguments: str | Path) -> None:
    """The command refuses, at once, in a sentence, and shows nothing of what is outside."""
    ran = run(folder, *arguments)
    assert ran.status == 2, ran.err[-500:]
    assert re.search(said, ran.err), ran.err
    assert ran.seconds < SECONDS
    assert ran.megabytes < 100
    assert SECRET not in ran.out + ran.err


def pipe(path: Path) -> Path:
    os.mkfifo(path)
    return path


def link(path: Path, target: str | Path) -> Path:
    path.symlink_to(target)
    return path


def _trap(name: str, folder: Path) -> Path:
    """Something that is no file: a device by its path, or made in a folder."""
    path = folder / name.replace(" ", "-")
    match name:
        case "pipe":
            return pipe(path)
        case "link to a device":
            return link(path, "/dev/zero")
        case "folder":
            path.mkdir()
            return path
    return Path(name)


@pytest.mark.parametrize("name", ["/dev/zero", "/dev/stdin", "pipe", "link to a device", "folder"])
def test_no_device_or_pipe_is_read(name: str, studio: Path, tmp_path: Path) -> None:
    path = _trap(name, tmp_path)
    not_a_file = "not a file|no such file|a folder|cannot be read|no log"
    refused(tmp_path, not_a_file, "show", path)
    refused(tmp_path, not_a_file, "cut", path, "1", "-o", tmp_path / "o.musicxml")
    refused(tmp_path, not_a_file, "check", path)
    refused(tmp_path, not_a_file, "log", studio / "ada.toml", "--log", path)
    refused(tmp_path, not_a_file, "log", studio / "ada.toml", "--log", path, "--box", "run", "--tempo", "60")
    refused(tmp_path, not_a_file, "next", studio / "ada.toml", "--log", path)
    refused(tmp_path, not_a_file, "new", tmp_path / "new", "--from", path)


@pytest.mark.parametrize("name", ["/dev/null", "pipe", "link to a device"])
def test_no_device_or_pipe_is_written(name: str, tmp_path: Path) -> None:
    path = _trap(name, tmp_path)
    score = Path(__file__).parents[2] / "scores/paper-boats.musicxml"
    refused(tmp_path, "does not write|not a file", "cut", score, "1", "-o", path)
    if path.parent == tmp_path:
        named = path.rename(path.with_suffix(".svg"))
        refused(tmp_path, "not a file that can be written", "cut", score, "1", "-o", named, "--force")


@pytest.mark.parametrize(
    ("score", "said"),
    [
        ("../secret", "lies outside the folder"),
        ("/etc/passwd", "lies outside the folder"),
        ("/dev/zero", "lies outside the folder"),
        ("link", "lies outside the folder"),
        ("door/secret", "lies outside the folder"),
        ("link-to-zero", "lies outside the folder"),
        ("pipe", "There is no score"),
        ("~/secret", "There is no score"),
        ("file:///etc/passwd", "There is no score"),
        ("http://127.0.0.1/a.musicxml", "There is no score"),
        ("a\\u0000b", "cannot be printed"),
    ],
)
def test_a_week_file_names_nothing_outside_its_studio(
    score: str, said: str, studio: Path, tmp_path: Path
) -> None:
    link(studio / "link", tmp_path / "secret")
    link(studio / "door", tmp_path)
    link(studio / "link-to-zero", "/dev/zero")
    pipe(studio / "pipe")
    week = studio / "ada.toml"
    week.write_text(
        HEAD.replace('title = "Song"', f'title = "Song"\nscore = "{score}"') + RUN, encoding="utf-8"
    )
    refused(tmp_path, said, "check", week)
    if "u0000" not in score:
        week.write_text(
            HEAD.replace("format = 1", f'format = 1\ninclude = "{score}"') + RUN, encoding="utf-8"
        )
        refused(tmp_path, "outside the folder|no file", "check", week)


def test_a_log_that_is_a_link_out_of_the_studio_is_not_followed(studio: Path, tmp_path: Path) -> None:
    link(studio / "ada-lind-log.csv", tmp_path / "elsewhere.csv")
    said = "this link leads out of the studio's folder"
    refused(tmp_path, said, "log", studio / "ada.toml", "--box", "run", "--tempo", "60")
    refused(tmp_path, said, "next", studio / "ada.toml")
    assert not (tmp_path / "elsewhere.csv").exists()


def test_an_output_that_is_a_link_is_replaced_and_not_followed(studio: Path, tmp_path: Path) -> None:
    output = link(studio / "ada.svg", tmp_path / "secret")
    score = Path(__file__).parents[2] / "scores/paper-boats.musicxml"
    refused(tmp_path, "that this program did not make", "cut", score, "1", "-o", output)
    assert run(tmp_path, "cut", score, "1", "-o", output, "--force").status == 0
    assert (tmp_path / "secret").read_text() == SECRET
    assert not output.is_symlink()


def test_a_player_s_name_is_no_path(studio: Path, tmp_path: Path) -> None:
    name = "../../../tmp/evil/../x"
    week = studio / "ada.toml"
    week.write_text((HEAD + RUN).replace("Ada Lind", name), encoding="utf-8")
    before = set(tmp_path.rglob("*"))
    assert run(tmp_path, "log", week, "--box", "run", "--tempo", "60", "--clean", "3").status == 0
    assert run(tmp_path, "next", week).status == 0
    made = {path for path in set(tmp_path.rglob("*")) - before if not path.name.startswith("printed.")}
    assert {path.parent for path in made} == {studio}
    table = tmp_path / "table.csv"
    table.write_text(
        f"player,instrument,level,start,minutes,piece,box,place\n{name},violin,middle,2026-11-30,20,Air,a,b\n"
    )
    assert run(tmp_path, "new", tmp_path / "new", "--from", table).status == 0
    assert [path.parent for path in (tmp_path / "new").rglob("*.toml")] == [tmp_path / "new"]


@pytest.mark.slow
def test_a_studio_full_of_traps(studio: Path, tmp_path: Path) -> None:
    """Links, pipes and devices called like week files: the rest is built, nothing hangs."""
    link(studio / "outside.toml", tmp_path / "secret")
    link(studio / "zero.toml", "/dev/zero")
    link(studio / "round", studio)
    link(studio / "everything", "/")
    pipe(studio / "pipe.toml")
    ran = run(tmp_path, "studio", studio)
    assert ran.status in (0, 2)
    assert SECRET not in ran.out + ran.err
    assert any(path.suffix == ".pdf" for path in studio.rglob("*.pdf"))
