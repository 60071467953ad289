"""The studio: the folder that a teacher's players and scores stand in, and the settings that hold in it."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated, Literal

from pydantic import AfterValidator, BaseModel, ConfigDict, Field

from excerpts.weekfile.text_kinds import Line
from excerpts.words import choices

Paper = Literal["a4", "letter"]


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
