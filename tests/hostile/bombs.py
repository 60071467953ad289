"""Scores that are small to send and large to open, or that claim what no score has."""

from __future__ import annotations

import struct
import zipfile
import zlib
from collections.abc import Callable
from io import BytesIO
from typing import Final

from tests.music import DIVISIONS, bars_of

_HEAD: Final = "<?xml version='1.0' encoding='UTF-8'?>"
_FULL: Final = 24_900_000
"""As many bytes as a score may have, nearly."""


def plain() -> bytes:
    return bars_of("C5:1 D5:1 E5:2", "F5:4", "G5:2 A5:2", "C5:4")


def _with_first(text: str) -> bytes:
    """The plain score with some XML at the front of its second bar."""
    return plain().replace(b'<measure number="2">', b'<measure number="2">' + text.encode())


def _document_type(inside: str, title: str = "&a;") -> bytes:
    name = f"<part-name>{title}</part-name>".encode()
    data = plain().replace(b"<part-name>Violin</part-name>", name)
    assert name in data
    return f"{_HEAD}<!DOCTYPE score-partwise {inside}>".encode() + data.removeprefix(_HEAD.encode())


def _container(full_path: str) -> str:
    return f'<container><rootfiles><rootfile full-path="{full_path}"/></rootfiles></container>'


def zipped(members: dict[str, bytes | str], method: int = zipfile.ZIP_DEFLATED) -> bytes:
    memory = BytesIO()
    with zipfile.ZipFile(memory, "w", method) as box:
        for name, data in members.items():
            box.writestr(name, data)
    return memory.getvalue()


def _zip_of_gigabytes() -> bytes:
    """One member of four gigabytes, packed a second time so that it stays small to send."""
    packer = zlib.compressobj(9, zlib.DEFLATED, -15)
    million = b"<a/>" * 250_000
    data = b"".join([*(packer.compress(million) for _ in range(120)), packer.flush()])
    return _raw_zip("a.xml", data, size=120_000_000)


def _raw_zip(name: str, data: bytes, size: int, crc: int = 0) -> bytes:
    """A container whose header says whatever size is wanted."""
    path = name.encode()
    local = struct.pack("<4sHHHHHIIIHH", b"PK\3\4", 20, 0, 8, 0, 0, crc, len(data), size, len(path), 0) + path
    central = struct.pack(
        "<4sHHHHHHIIIHHHHHII",
        b"PK\1\2",
        20,
        20,
        0,
        8,
        0,
        0,
        crc,
        len(data),
        size,
        len(path),
        0,
        0,
        0,
        0,
        0,
        0,
    )
    central += path
    end = struct.pack("<4sHHHHIIH", b"PK\5\6", 0, 0, 1, 1, len(central), len(local) + len(data), 0)
    return local + data + central + end


def _lying_zip() -> bytes:
    """Says twenty bytes, and holds a hundred million."""
    packer = zlib.compressobj(9, zlib.DEFLATED, -15)
    data = packer.compress(b" " * 100_000_000) + packer.flush()
    return _raw_zip("a.xml", data, size=20)


def _many_members() -> bytes:
    """A hundred thousand members: the list alone would be long to read."""
    return zipped({f"{number}.txt": b"" for number in range(100_000)}, zipfile.ZIP_STORED)


def _nested_zip() -> bytes:
    inside = zipped({"a.xml": b" " * 30_000_000})
    for _ in range(20):
        inside = zipped({"a.xml": inside})
    return inside


def _timewise() -> bytes:
    """Five thousand parts in five thousand bars: 25 million bars turned around."""
    listed = "".join(f"<score-part id='P{n}'><part-name/></score-part>" for n in range(5000))
    bars = ("<measure number='1'>" + "<part id='P1'/>" * 20 + "</measure>") * 5000
    return f"<score-timewise><part-list>{listed}</part-list>{bars}</score-timewise>".encode()


def _primes(count: int) -> list[int]:
    """Primes of ten digits, by trial of a base-2 test: only that they have few factors in common matters."""
    return [number for number in range(10**9 + 1, 10**9 + 60 * count, 2) if pow(2, number - 1, number) == 1][
        :count
    ]


def _divisions() -> bytes:
    """Divisions with nothing in common, so that exact sums get longer with each."""
    inside = "".join(
        f"<attributes><divisions>{prime}</divisions></attributes><forward><duration>1</duration></forward>"
        for prime in _primes(5000)
    )
    return _with_first(inside)


def _changing_divisions(notes: int, bars: int) -> bytes:
    """Bars of notes that are each counted in other divisions than the one before; 22 MB at the most that is read."""
    pitch = "<pitch><step>D</step><octave>5</octave></pitch>"
    note = f"<note>\n        {pitch}\n        <duration>1</duration>\n      </note>"
    change = "<attributes>\n        <divisions>{}</divisions>\n      </attributes>"
    every = [f"\n      {change.format(divisions)}\n      {note}" for divisions in (2, 3, 4, 5, 6, 8, 9, 10)]
    inside = "".join(every[place % len(every)] for place in range(notes))
    return _parts(1, f"<measure number='1'>{inside}</measure>" * bars)


def _repeat_of_a_beat() -> bytes:
    start = "<attributes><measure-style><beat-repeat type='start' slashes='1'/></measure-style></attributes>"
    time = "<attributes><time><beats>50000000</beats><beat-type>4</beat-type></time></attributes>"
    far = "<forward><duration>50000000000</duration></forward>"
    return _with_first(time + start + far)


def _note(inside: str) -> str:
    return f"<note><pitch><step>D</step><octave>5</octave></pitch>{inside}</note>"


_CHORD: Final = f"<duration>{DIVISIONS}</duration>"


def _parts(count: int, bars: str) -> bytes:
    listed = "".join(f"<score-part id='P{n}'><part-name>V{n}</part-name></score-part>" for n in range(count))
    parts = "".join(f"<part id='P{n}'>{bars}</part>" for n in range(count))
    return f"<score-partwise><part-list>{listed}</part-list>{parts}</score-partwise>".encode()


def _most_bars() -> bytes:
    bar = "<measure><note><rest/><duration>4</duration></note></measure>"
    return _parts(6, bar * 20_000)


def _many_marks() -> bytes:
    mark = "<direction><direction-type><rehearsal>A</rehearsal></direction-type></direction>"
    return _parts(
        400, f"<measure number='1'>{mark}<note><rest/><duration>4</duration></note></measure>" * 200
    )


BOMBS: Final[dict[str, tuple[Callable[[], bytes], str | tuple[str, str]]]] = {
    "entities that multiply": (
        lambda: _document_type(
            "[<!ENTITY e0 'ha'>"
            + "".join(f"<!ENTITY e{n} '{f'&e{n - 1};' * 10}'>" for n in range(1, 20))
            + "<!ENTITY a '&e19;'>]"
        ),
        "defines XML entities",
    ),
    "one long entity, often": (
        lambda: _document_type(f"[<!ENTITY a '{'x' * 1_000_000}'>]", "&a;" * 100_000),
        "defines XML entities",
    ),
    "entities in attributes": (
        lambda: _document_type(
            "[<!ENTITY e0 'ha'>"
            + "".join(f"<!ENTITY e{n} '{f'&e{n - 1};' * 10}'>" for n in range(1, 20))
            + "]",
            "",
        ).replace(b'<measure number="2"', b'<measure number="&e19;"'),
        "well-formed|cut off|entities",
    ),
    "parameter entities": (
        lambda: _document_type(
            "[<!ENTITY % a 'x'>" + "".join(f"<!ENTITY % a{n} '&#37;a;&#37;a;'>" for n in range(1000)) + "]",
            "Violin",
        ),
        "defines XML entities",
    ),
    "elements without end": (
        lambda: b"<score-partwise>" + b"<a/>" * (_FULL // 4),
        "more than can be opened",
    ),
    "attributes without end": (
        lambda: b"<r><a " + b" ".join(b'a%d=""' % n for n in range(2_000_000)) + b"/></r>",
        "more than can be opened",
    ),
    "nested a hundred thousand deep": (
        lambda: _with_first("<direction>" * 100_000 + "</direction>" * 100_000),
        "well-formed|nested",
    ),
    "nested 250 deep": (lambda: _with_first("<direction>" * 240 + "</direction>" * 240), ""),
    "bars without end": (
        lambda: plain().replace(b"</part>", b"<measure/>" * 2_400_000 + b"</part>"),
        "more than can be opened",
    ),
    "more bars than are read": (
        lambda: plain().replace(b"</part>", b"<measure/>" * 20_001 + b"</part>"),
        "20,005 bars in one part; no more than 20,000 are read",
    ),
    "as many bars as are read, in six parts": (_most_bars, ""),
    "as much in a bar as is read, chords": (
        lambda: _with_first((_note(_CHORD) + _note(_CHORD).replace("<note>", "<note><chord/>")) * 8_000),
        "",
    ),
    "as much in a bar as is read, ways back": (
        lambda: _with_first(
            "<forward><duration>24</duration></forward><backup><duration>24</duration></backup>" * 24_000
        ),
        "",
    ),
    "as much in a bar as is read, changes of key": (
        lambda: _with_first("<attributes><key><fifths>1</fifths></key></attributes>" * 33_000),
        "",
    ),
    "as much in a bar as is read, divisions": (lambda: _changing_divisions(14_000, bars=9), ""),
    "divisions that change before every note": (lambda: _changing_divisions(500, bars=40), ""),
    "a rehearsal mark in every bar of many parts": (_many_marks, ""),
    "parts without end": (
        lambda: plain().replace(b"</score-partwise>", b"<part/>" * 500_000 + b"</score-partwise>"),
        "parts",
    ),
    "a part list without end": (
        lambda: plain().replace(b"</part-list>", b"<score-part id='x'/>" * 400_000 + b"</part-list>"),
        "",
    ),
    "timewise, 25 million bars": (_timewise, "parts|bars"),
    "divisions with nothing in common": (_divisions, "divisions"),
    "wrong divisions in every bar": (
        lambda: plain().replace(
            b"</part>",
            b"<measure><attributes><divisions>0</divisions></attributes></measure>" * 15_000 + b"</part>",
        ),
        "",
    ),
    "a rest of 50 million bars": (
        lambda: _with_first(
            "<attributes><measure-style><multiple-rest>50000000</multiple-rest></measure-style></attributes>"
        ),
        "",
    ),
    "a bar repeat of 50 million bars": (
        lambda: _with_first(
            "<attributes><measure-style><measure-repeat type='start'>50000000</measure-repeat></measure-style>"
            "</attributes>"
        ),
        "",
    ),
    "a beat repeat in a bar of 50 million beats": (_repeat_of_a_beat, ""),
    "a metre of a billion beats": (
        lambda: _with_first(
            "<attributes><time><beats>1000000000</beats><beat-type>4</beat-type></time></attributes>"
        ),
        "",
    ),
    "a metre added up a million times": (
        lambda: _with_first(
            f"<attributes><time><beats>{'1+' * 1_000_000}1</beats><beat-type>4</beat-type></time></attributes>"
        ),
        ("", "bar 2 has a text of 2,000,001 characters"),
    ),
    "a billion staves": (lambda: _with_first("<attributes><staves>1000000000</staves></attributes>"), ""),
    "a note on staff a billion": (
        lambda: _with_first(
            _note(
                f"<duration>{DIVISIONS}</duration><voice>1</voice><type>quarter</type><staff>1000000000</staff>"
            )
        ),
        "",
    ),
    "divisions of 18 digits": (
        lambda: plain().replace(f"<divisions>{DIVISIONS}<".encode(), b"<divisions>999999999999999999<"),
        "",
    ),
    "a note of 10^18 divisions": (
        lambda: _with_first(
            _note("<duration>999999999999999999</duration><voice>1</voice><type>whole</type>")
        ),
        "",
    ),
    "a number of a million digits": (
        lambda: plain().replace(b'<measure number="2">', b'<measure number="' + b"9" * 1_000_000 + b'">'),
        "",
    ),
    "bars numbered in billions": (lambda: plain().replace(b'number="3"', b'number="3000000000"'), ""),
    "a note with a hundred thousand dots": (
        lambda: _with_first(
            _note(f"<duration>{DIVISIONS}</duration><voice>1</voice><type>quarter</type>{'<dot/>' * 100_000}")
        ),
        "bar 2 has more than 100,000 elements",
    ),
    "a tuplet of 10^18 in 1": (
        lambda: _with_first(
            _note(
                f"<duration>{DIVISIONS}</duration><voice>1</voice><type>quarter</type><time-modification><actual-notes>"
                "999999999999999999</actual-notes><normal-notes>1</normal-notes></time-modification>"
            )
        ),
        "",
    ),
    "octave a billion": (lambda: plain().replace(b"<octave>5</octave>", b"<octave>1000000000</octave>"), ""),
    "a chord of fifty thousand notes": (
        lambda: _with_first(
            "<note><chord/><pitch><step>D</step><octave>5</octave></pitch><duration>24</duration><voice>1</voice></note>"
            * 50_000
        ),
        "bar 2 has more than 100,000 elements",
    ),
    "fifty thousand slurs open": (
        lambda: _with_first(
            _note(
                f"<duration>{DIVISIONS}</duration><voice>1</voice><type>quarter</type><notations>"
                + "".join(f"<slur type='start' number='{n}'/>" for n in range(50_000))
                + "</notations>"
            )
        ),
        "",
    ),
    "fifty thousand changes of key in a bar": (
        lambda: _with_first("<attributes><key><fifths>1</fifths></key></attributes>" * 50_000),
        "bar 2 has more than 100,000 elements",
    ),
    "ways back fifty thousand times": (
        lambda: _with_first(
            "<forward><duration>24</duration></forward><backup><duration>24</duration></backup>" * 50_000
        ),
        "bar 2 has more than 100,000 elements",
    ),
    "a full bar whose comments look like bars": (
        lambda: _with_first(
            ("<forward><duration>24</duration></forward>" * 1_000 + "<!-- <measure number='3'> -->") * 51
        ),
        "bar 2 has more than 100,000 elements",
    ),
    "a title of twenty million letters": (
        lambda: plain().replace(
            b"<part-list>", b"<movement-title>" + b"a b " * 2_400_000 + b"</movement-title><part-list>"
        ),
        "",
    ),
    "a word of five million letters": (
        lambda: _with_first(
            f"<direction><direction-type><words>{'a' * 5_000_000}</words></direction-type></direction>"
        ),
        ("", "bar 2 has a text of 5,000,000 characters"),
    ),
    "a container of four gigabytes": (_zip_of_gigabytes, "larger than 25 MB"),
    "a container that lies about its size": (_lying_zip, "larger than 25 MB|damaged|not XML|empty"),
    "a container of a hundred thousand members": (_many_members, "damaged|no score|too many"),
    "a container in a container in a container": (_nested_zip, "not XML|not MusicXML"),
    "a member that climbs out": (
        lambda: zipped(
            {"META-INF/container.xml": _container("../../etc/hostname"), "../../etc/hostname": plain()}
        ),
        "",
    ),
    "a container that names a device": (
        lambda: zipped({"META-INF/container.xml": _container("/dev/zero"), "a.xml": plain()}),
        "",
    ),
}
"""By name: how it is made, and what `show` and `cut` say of it; "" where it is read, since it does no harm."""
