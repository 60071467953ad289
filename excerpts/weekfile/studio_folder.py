"""The studio: the folder of a teacher's players and scores, which no path leaves, and the settings that hold in it."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated, Final, Literal

from pydantic import AfterValidator, BaseModel, ConfigDict, Field, ValidationError

from excerpts.editions import Paper
from excerpts.errors import WeekError
from excerpts.system.studio_files import STUDIO_FILE
from excerpts.weekfile.faults import WeekFaultsError, message_of, nearest
from excerpts.weekfile.reading import read_document
from excerpts.weekfile.text_kinds import Line
from excerpts.words import choices


def _there(name: str) -> str:
    if name not in choices():
        raise ValueError(f'There is no set of words "{name}". There are {", ".join(choices())}.')
    return name


PlayerWords = Annotated[str, AfterValidator(_there)]
"""The words of what is printed: "uk", "us", or the name of another file in the words folder ("de")."""


class Settings(BaseModel):
    """What a studio file says, for all of a teacher's players.

    Attributes:
        format: Format of the file.
        scores: Folder of the scores, from the studio's folder.
        words: The players' words, where a week file says nothing.
        paper: The paper that is printed on.
        staff_mm: Height of the staff in millimetres.
        copying: Line about copying for the foot of the page.
    """

    model_config = ConfigDict(frozen=True, extra="forbid")

    format: Literal[1] = 1
    scores: Line = "scores"
    words: PlayerWords = "uk"
    paper: Paper = "a4"
    staff_mm: Annotated[float, Field(ge=4, le=20, allow_inf_nan=False)] | None = None
    copying: Line | None = None


class Studio(BaseModel):
    """The folder that no path leaves, and the settings that hold in it."""

    model_config = ConfigDict(frozen=True)

    root: Path
    settings: Settings = Settings()


_WHERE: Final = (
    f"Scores stand beside the week file or in a folder scores there; a {STUDIO_FILE} in a folder above lets that "
    "folder's scores serve all players below it."
)


def find_root(path: str | Path) -> Studio:
    """The studio of a week file or folder: the nearest folder upward with a studio file, else its own folder.

    Raises:
        WeekError: The studio file has faults, or its scores folder lies outside the studio.
    """
    here = Path(path)
    folder = (here if here.is_dir() else here.parent).resolve()
    for candidate in (folder, *folder.parents):
        if (candidate / STUDIO_FILE).is_file():
            return Studio(root=candidate, settings=_settings(candidate))
    return Studio(root=folder)


def _settings(folder: Path) -> Settings:
    document = read_document(folder / STUDIO_FILE)
    try:
        settings = Settings.model_validate(document.raw)
    except ValidationError as error:
        faults = [document.fault(detail["loc"], message_of(detail, Settings)) for detail in error.errors()]
        raise WeekFaultsError(faults) from error
    if not (folder / settings.scores).resolve().is_relative_to(folder):
        message = f'The scores folder "{settings.scores}" is not inside the studio\'s folder.'
        raise WeekFaultsError([document.fault(("scores",), message)])
    return settings


PAGES: Final = "file or folder"
"""What printed pages are called in messages: a PDF, a picture, or a folder of pictures."""


def find_score(name: str, folder: Path, studio: Studio, what: str = "score") -> Path:
    """The score file, or other file, that a week file in `folder` calls `name`.

    It is looked for in the week file's folder first, then in the studio's scores folder; what is no score, in the
    studio's own folder.

    Args:
        name: Its name, from one of those folders.
        folder: Folder of the week file.
        studio: The studio.
        what: What it is, for messages.

    Raises:
        WeekError: There is no such file, or it lies outside the studio's folder.
    """
    scores = studio.root / studio.settings.scores if what in {"score", PAGES} else studio.root
    given = Path(name)
    outside = False
    for candidate in dict.fromkeys((folder / given, scores / given)):
        try:
            real = candidate.resolve()
            if not real.is_relative_to(studio.root):
                outside = True
            elif real.is_file() or (what == PAGES and real.is_dir()):
                return real
        except (OSError, RuntimeError) as error:
            raise WeekError(f'The file "{name}" cannot be reached ({error}).') from error
    if outside:
        raise WeekError(
            f'The {what} "{name}" lies outside the folder {studio.root}.',
            hint="Put a copy of it inside, so that a week file never reaches other files of this computer.",
        )
    raise WeekError(
        f'There is no {what} "{name}" in {_places(folder, scores)}.', hint=_near_score(given, folder, scores)
    )


def _places(folder: Path, scores: Path) -> str:
    places = dict.fromkeys(str(place) for place in (folder, scores) if place.is_dir())
    return " or ".join(places)


def _near_score(given: Path, folder: Path, scores: Path) -> str:
    names: list[str] = []
    for place in (folder, scores):
        inside = place / given.parent
        if inside.is_dir():
            names += sorted(entry.name for entry in inside.iterdir() if entry.is_file())
    if "\\" in str(given):
        return 'Write "/" between folder and file, not "\\".'
    music = any(name.lower().endswith((".musicxml", ".mxl", ".xml")) for name in names)
    return nearest(given.name, names, "" if music else _WHERE)
