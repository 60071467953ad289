"""The options for how music is played: what clicks, what is repeated, what it is tuned to, which parts sound."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated, Final, Literal, NamedTuple

from excerpts.cli.command import Arg
from excerpts.errors import InputError

if TYPE_CHECKING:
    from collections.abc import Iterable

    from excerpts.excerpt import Excerpt
    from excerpts.musicxml.pitch import Pitch
    from excerpts.score import Score
    from excerpts.sound.playback import Playback

SOUNDS: Final = (".mp3", ".flac", ".wav")
"""Endings of sound files."""

TONIC: Final = "tonic"


class Playing(NamedTuple):
    """How music is played: what the options say."""

    click: Annotated[
        Literal["every", "first", "alternate-bars"] | None,
        Arg("--click", choices=("every", "first", "alternate-bars"), bare="every",
            help="What clicks: every beat, the first of each bar, or the beats of alternate-bars."),
    ] = None  # fmt: skip
    count_in: Annotated[
        int | None,
        Arg("--count-in", high=2, help="Bars of clicks before the music, up to the beat where it begins."),
    ] = None
    times: Annotated[
        int | None, Arg("--times", low=1, high=20, help="How many times to play it (sound files).")
    ] = None
    repeats: Annotated[
        Literal["written", "played"],
        Arg("--repeats", choices=("written", "played"), help="Play repeats and endings (sound files)."),
    ] = "written"
    gap: Annotated[
        int,
        Arg(
            "--gap",
            high=16,
            help="Bars to listen to before the same number of bars to play yourself (sound files).",
        ),
    ] = 0
    drone: Annotated[
        str | None,
        Arg("--drone", bare=TONIC, help="A note to hold throughout: tonic, D, or D3 (sound files)."),
    ] = None
    intonation: Annotated[
        Literal["equal", "pure"],
        Arg("--intonation", choices=("equal", "pure"), help="Equal, or pure over the drone (sound files)."),
    ] = "equal"
    a: Annotated[int, Arg("--a", low=390, high=470, help="Hertz of A4 (sound files).")] = 440
    without: Annotated[
        list[str] | None, Arg("--without", help="All parts but this one (sound files); may be repeated.")
    ] = None
    balance: Annotated[
        list[str] | None,
        Arg("--with", help="All parts, this one softer: Cello:-12, in decibels (sound files)."),
    ] = None

    @property
    def of_all_parts(self) -> bool:
        """Whether all parts of the score are played."""
        return bool(self.without or self.balance)

    def check(self, suffix: str, *, tonic: bool = False) -> None:
        """See that a kind of file can be played like this.

        Args:
            suffix: Its ending.
            tonic: It can hold the tonic as a drone, and pages leave it out.

        Raises:
            InputError: It cannot.
        """
        left = self._replace(click=None, count_in=None) if suffix == ".mid" else self
        if tonic and left.drone == TONIC:
            left = left._replace(drone=None)
        if suffix not in SOUNDS and left != AS_WRITTEN:
            clicks = "; a .mid file has --click and --count-in" if suffix == ".mid" else ""
            raise InputError(
                f"a {suffix} file cannot be played as these options say.",
                hint=f"Write a sound file ({', '.join(SOUNDS)}){clicks}.",
            )

    def playback(
        self, excerpt: Excerpt, count_in: int = 0, score: Score | None = None, drone: Pitch | None = None
    ) -> Playback:
        """What they mean for an excerpt.

        Args:
            excerpt: The music.
            count_in: Bars of clicks where no option says how many.
            score: Its score, where parts are named.
            drone: The tonic where it is known.
        """
        from excerpts.sound.playback import Playback, drone_note

        asked = None if self.drone is None else drone_note(excerpt, "" if self.drone == TONIC else self.drone)
        held = drone if drone is not None and self.drone in {None, TONIC} else asked
        if self.intonation == "pure" and held is None:
            raise InputError(
                "pure intervals need a note to be pure over.", hint="Name one: --drone tonic, or --drone D."
            )
        return Playback(
            click=self.click,
            count_in=count_in if self.count_in is None else self.count_in,
            times=self.times or 1,
            repeats=self.repeats == "played",
            gap=self.gap,
            drone=held,
            intonation=self.intonation,
            a=self.a,
            gains=tuple(self._gains(score)) if score is not None else (),
        )

    def _gains(self, score: Score) -> Iterable[tuple[int, float | None]]:
        for name in self.without or ():
            yield score.part(name).index, None
        for text in self.balance or ():
            name, _, number = text.rpartition(":")
            try:
                decibels = float(number)
            except ValueError:
                decibels = 99.0
            if not name or not -60 <= decibels <= 12:
                raise InputError(
                    f"--with {text} does not say how loud.",
                    hint="Name the part and its decibels, from -60 to 12: Cello:-12.",
                )
            yield score.part(name).index, decibels


AS_WRITTEN: Final = Playing()
"""Once, without clicks or drone."""
