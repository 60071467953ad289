"""Small files of other formats that claim much: music21 is stopped in its child, and the teacher is told."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Final

import pytest

from tests.hostile.running import MEGABYTES, SECONDS, run
from tests.log.weeks import HEAD

_NOTE_ON, _NOTE_OFF = b"\x90\x40\x40", b"\x80\x40\x00"
_FAR: Final = b"\xff\xff\xff\x7f"
"""The longest time between two events (Standard MIDI Files 1.0): 268 million ticks."""


def _midi(events: bytes, ticks: int = 480) -> bytes:
    track = events + b"\0\xff\x2f\0"
    head = b"MThd\0\0\0\6\0\0\0\1" + ticks.to_bytes(2, "big")
    return head + b"MTrk" + len(track).to_bytes(4, "big") + track


_LIMIT = "needed more than 500 MB of memory, or broke down|took more than"

FILES: Final[dict[str, tuple[bytes, str]]] = {
    "far.mid": (_midi(b"\0" + _NOTE_ON + _FAR + _NOTE_OFF), f"reading the MIDI ({_LIMIT})"),
    "none.mid": (_midi(b"\0" + _NOTE_ON + b"\1" + _NOTE_OFF, ticks=0), "the MIDI cannot be read"),
    "metre.mid": (
        _midi(b"\0\xff\x58\x04\xff\xff\x18\x08\0" + _NOTE_ON + b"\x20" + _NOTE_OFF),
        "the MIDI cannot be read",
    ),
    "deep.mei": (b"<mei>" + b"<beam>" * 100_000 + b"</beam>" * 100_000 + b"</mei>", "nested deeper"),
    "bomb.mei": (
        b"<!DOCTYPE mei [<!ENTITY a 'a'><!ENTITY b '&a;&a;'>]><mei>&b;</mei>",
        "defines XML entities",
    ),
    "long.abc": (b"X:1\nM:4/4\nL:1/8\nK:C\n" + b"C9999999999 |" * 5, f"reading the ABC ({_LIMIT})"),
    "metre.abc": (b"X:1\nM:99999999/1\nL:1/8\nK:C\nC |\n", f"reading the ABC ({_LIMIT})"),
    "long.krn": (b"**kern\n*M4/4\n" + b"9999999999c\n" * 3 + b"*-\n", "no notes in the Humdrum kern"),
}


@pytest.mark.slow
@pytest.mark.parametrize(
    "name",
    [
        pytest.param(name, marks=pytest.mark.long if name in ("far.mid", "metre.abc") else ())
        for name in FILES
    ],
)
def test_a_file_that_claims_much(name: str, tmp_path: Path) -> None:
    data, said = FILES[name]
    (tmp_path / name).write_bytes(data)
    ran = run(tmp_path, "show", tmp_path / name)
    assert ran.status == 2, ran.err[-500:]
    assert re.search(said, ran.err)
    assert ran.seconds < SECONDS
    assert ran.megabytes < MEGABYTES


@pytest.mark.slow
def test_bars_typed_in_a_week_file(tmp_path: Path) -> None:
    week = tmp_path / "ada.toml"
    week.write_text(HEAD + '[[box]]\nid = "run"\nabc = "M:99999999/1\\nL:1/8\\nC |"\n', encoding="utf-8")
    for command in (("check", week), ("workbook", week, "-o", tmp_path / "a.pdf")):
        ran = run(tmp_path, *command)
        assert ran.status == 2
        assert '"M:99999999/1" is not a metre' in ran.out + ran.err
        assert ran.seconds < SECONDS
    assert not (tmp_path / "a.pdf").exists()
