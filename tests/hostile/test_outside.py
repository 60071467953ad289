"""XML that points outside: entities, document types, style sheets and inclusions fetch nothing from anywhere."""

from __future__ import annotations

import os
import socket
from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.hostile.bombs import plain
from tests.hostile.running import run
from tests.score.cutting import direction

SECRET = "nobody may read this"
_HEAD = b"<?xml version='1.0' encoding='UTF-8'?>"


@pytest.fixture
def outside(tmp_path: Path) -> Iterator[dict[str, str]]:
    """A file, a pipe that hangs whoever opens it, and a listening port."""
    (tmp_path / "secret").write_text(SECRET, encoding="utf-8")
    os.mkfifo(tmp_path / "pipe")
    with socket.socket() as listening:
        listening.bind(("127.0.0.1", 0))
        listening.listen()
        listening.setblocking(False)
        port = listening.getsockname()[1]
        yield {
            "file": (tmp_path / "secret").as_uri(),
            "pipe": (tmp_path / "pipe").as_uri(),
            "port": f"http://127.0.0.1:{port}/x",
        }
        with pytest.raises(BlockingIOError):
            listening.accept()  # nobody has called


WAYS = {
    "an external entity": (
        "<!DOCTYPE score-partwise [<!ENTITY a SYSTEM '{}'>]>",
        "&a;",
        "defines XML entities",
    ),
    "a parameter entity": (
        "<!DOCTYPE score-partwise [<!ENTITY % a SYSTEM '{}'> %a;]>",
        "",
        "defines XML entities|",
    ),
    "an external document type": ("<!DOCTYPE score-partwise SYSTEM '{}'>", "", ""),
    "a public document type": ("<!DOCTYPE score-partwise PUBLIC '-//Any//DTD//EN' '{}'>", "", ""),
    "a style sheet": ("<?xml-stylesheet type='text/xsl' href='{}'?>", "", ""),
    "an inclusion": (
        "",
        "<xi:include xmlns:xi='http://www.w3.org/2001/XInclude' href='{}' parse='text'/>",
        "",
    ),
    "a schema": (
        "",
        "<a xmlns:x='http://www.w3.org/2001/XMLSchema-instance' x:noNamespaceSchemaLocation='{}'/>",
        "",
    ),
    "an opus link": ("", "<opus xmlns:l='http://www.w3.org/1999/xlink' l:href='{}'/>", ""),
}


@pytest.mark.parametrize("target", ["file", "pipe", "port"])
@pytest.mark.parametrize("way", WAYS)
def test_nothing_is_fetched(way: str, target: str, outside: dict[str, str], tmp_path: Path) -> None:
    front, inside, refusal = (text.format(outside[target]) for text in WAYS[way])
    data = plain().removeprefix(_HEAD).replace(b">Violin<", f">Violin{inside}<".encode(), 1)
    assert inside.encode() in data
    score = tmp_path / "a.musicxml"
    score.write_bytes(_HEAD + front.encode() + data)
    made = tmp_path / "b.musicxml"
    for command in (("show", score), ("cut", score, "1", "-o", made)):
        ran = run(tmp_path, *command)
        assert ran.status in ((0, 2) if "|" in refusal else (2,) if refusal else (0,)), ran.err
        assert ran.seconds < 5
        assert SECRET not in ran.out + ran.err
        if refusal and ran.status:
            assert "defines XML entities" in ran.err
    assert not made.exists() or SECRET not in made.read_text(encoding="utf-8")


@pytest.mark.parametrize("target", ["file", "pipe", "port"])
def test_a_picture_in_a_score_is_not_opened(target: str, outside: dict[str, str], tmp_path: Path) -> None:
    picture = direction(f"<image source='{outside[target]}' type='image/png'/>")
    score = tmp_path / "a.musicxml"
    score.write_bytes(plain().replace(b'<measure number="2">', f'<measure number="2">{picture}'.encode()))
    ran = run(tmp_path, "cut", score, "1-3", "-o", tmp_path / "a.pdf")
    assert ran.status == 0, ran.err
    assert ran.seconds < 9
