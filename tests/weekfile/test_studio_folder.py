import re
from pathlib import Path

import pytest

from excerpts.errors import WeekError
from excerpts.week import load_week
from excerpts.weekfile.studio_folder import Settings, find_root, find_score
from tests.week.weeks import HEAD

_PIECE = '[[piece]]\nid = "a"\ntitle = "A"\nscore = "{score}"\n'


@pytest.fixture
def studio(tmp_path: Path) -> Path:
    """A studio with one player's folder, a score beside the week file and one in the scores folder."""
    root = tmp_path / "studio"
    (root / "players" / "ada").mkdir(parents=True)
    (root / "music").mkdir()
    (root / "studio.toml").write_text(
        'format = 1\nscores = "music"\nwords = "us"\npaper = "letter"\nstaff_mm = 8\ncopying = "Do not copy."\n'
    )
    (root / "players" / "ada" / "own.musicxml").write_text("<a/>")
    (root / "music" / "own.musicxml").write_text("<b/>")
    (root / "music" / "shared.musicxml").write_text("<c/>")
    (tmp_path / "secret.musicxml").write_text("<d/>")
    return root


def _week(studio: Path, score: str) -> Path:
    path = studio / "players" / "ada" / "week.toml"
    path.write_text(HEAD + _PIECE.format(score=score))
    return path


def test_the_nearest_studio_file_upward_is_the_root(studio: Path) -> None:
    found = find_root(_week(studio, "own.musicxml"))
    assert found.root == studio
    assert found.settings.paper == "letter"
    assert found.settings.copying == "Do not copy."
    assert find_root(studio / "players") == found


def test_without_a_studio_the_own_folder_is_the_root(tmp_path: Path) -> None:
    assert find_root(tmp_path / "week.toml").root == tmp_path
    assert find_root(tmp_path / "week.toml").settings == Settings()


def test_the_studio_gives_what_the_week_file_leaves_out(studio: Path) -> None:
    week = load_week(_week(studio, "own.musicxml"))
    assert (week.player.words, week.paper, week.staff_mm) == ("us", "letter", 8)
    path = _week(studio, "own.musicxml")
    text = path.read_text().replace("[week]", 'words = "uk"\n[week]\npaper = "a4"\nstaff_mm = 9.2')
    path.write_text(text)
    week = load_week(path)
    assert (week.player.words, week.paper, week.staff_mm) == ("uk", "a4", 9.2)


@pytest.mark.parametrize(
    ("score", "found"),
    [
        ("own.musicxml", "players/ada/own.musicxml"),
        ("shared.musicxml", "music/shared.musicxml"),
        ("../../music/own.musicxml", "music/own.musicxml"),
    ],
)
def test_a_score_is_looked_for_beside_the_week_file_then_in_the_scores_folder(
    studio: Path, score: str, found: str
) -> None:
    assert load_week(_week(studio, score)).score_paths["a"] == studio / found


def test_an_absolute_path_is_taken_inside_the_studio_only(studio: Path) -> None:
    inside = studio / "music" / "shared.musicxml"
    assert load_week(_week(studio, str(inside))).score_paths["a"] == inside
    with pytest.raises(WeekError, match="lies outside the folder"):
        load_week(_week(studio, str(studio.parent / "secret.musicxml")))


@pytest.mark.parametrize("score", ["../../../secret.musicxml", "link.musicxml", "door/secret.musicxml"])
def test_no_path_leaves_the_studio(studio: Path, score: str) -> None:
    (studio / "players" / "ada" / "link.musicxml").symlink_to(studio.parent / "secret.musicxml")
    (studio / "players" / "ada" / "door").symlink_to(studio.parent)
    with pytest.raises(WeekError, match=r'week.toml, line 12, piece "a", score: .* lies outside the folder'):
        load_week(_week(studio, score))


@pytest.mark.parametrize(
    ("score", "message"),
    [
        ("shard.musicxml", 'Did you mean "shared.musicxml"?'),
        ("music\\\\own.musicxml", 'Write "/" between folder and file, not "\\".'),
        ("loop.musicxml", "loop.musicxml"),
        ("x" * 290, "cannot be reached|There is no score"),
        ("../ada", "There is no score"),
    ],
)
def test_a_score_that_is_not_there_is_told(studio: Path, score: str, message: str) -> None:
    (studio / "players" / "ada" / "loop.musicxml").symlink_to("loop.musicxml")
    pattern = message if "|" in message else re.escape(message)
    with pytest.raises(WeekError, match=pattern):
        load_week(_week(studio, score))


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("papr = 'a4'", 'studio.toml, line 1, papr: There is no key "papr" here. Did you mean "paper"?'),
        ("paper = 'A5'", 'studio.toml, line 1, paper: "A5" is not known here.'),
        ("\nscores = '../..'", "studio.toml, line 2, scores: The scores folder"),
        ("paper = ", "studio.toml, line 1: This line is not written as TOML asks"),
    ],
)
def test_a_fault_of_the_studio_file_is_told(studio: Path, text: str, message: str) -> None:
    path = _week(studio, "own.musicxml")
    (studio / "studio.toml").write_text(text)
    with pytest.raises(WeekError, match=re.escape(message)):
        load_week(path)


def test_where_scores_go_is_told_where_there_are_none(tmp_path: Path) -> None:
    with pytest.raises(WeekError, match=r"a studio\.toml in a folder above"):
        find_score("air.mxl", tmp_path, find_root(tmp_path))
    (tmp_path / "other.mxl").touch()
    with pytest.raises(WeekError) as caught:
        find_score("air.mxl", tmp_path, find_root(tmp_path))
    assert "studio.toml" not in str(caught.value)
