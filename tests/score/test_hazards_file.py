"""Hazards of the file itself: encodings, document types, containers, bombs, and roots that are rare."""

from __future__ import annotations

import zipfile
from io import BytesIO

import pytest

from excerpts.errors import ScoreError
from excerpts.score import limits, score_from_bytes
from tests.music import FIRST, bars_of, note, part, score
from tests.score.cutting import cut, direction

TEXT = bars_of("C5:4", "D5:4").decode().replace("Violin", "Bratsché")


def name_of(data: bytes) -> str:
    return score_from_bytes(data, "test").parts[0].name


def zipped(members: dict[str, bytes], method: int = zipfile.ZIP_DEFLATED) -> bytes:
    memory = BytesIO()
    with zipfile.ZipFile(memory, "w", method) as box:
        for name, data in members.items():
            box.writestr(name, data)
    return memory.getvalue()


# F39 encodings


@pytest.mark.parametrize("encoding", ["utf-16", "utf-16-le", "utf-16-be", "iso-8859-1", "utf-8-sig", "utf-8"])
@pytest.mark.parametrize("packed", [False, True])
def test_f39_every_encoding_plain_and_compressed(encoding: str, packed: bool) -> None:
    label = {"utf-8-sig": "utf-8", "utf-16-le": "utf-16", "utf-16-be": "utf-16"}.get(encoding, encoding)
    data = f'<?xml version="1.0" encoding="{label}"?>{TEXT}'.encode(encoding)
    if encoding == "utf-16-le":
        data = b"\xff\xfe" + data
    if encoding == "utf-16-be":
        data = b"\xfe\xff" + data
    assert name_of(zipped({"score.xml": data}) if packed else data) == "Bratsché"


def test_f39_no_declaration_means_utf_8_and_utf_8_is_written() -> None:
    assert name_of(TEXT.encode()) == "Bratsché"
    assert "Bratsché".encode() in cut(TEXT.encode(), "1").xml


@pytest.mark.parametrize(
    ("declared", "written", "message"),
    [
        (
            "UTF-16",
            "utf-8",
            "declares that it is written in UTF-16, but its text is 8-bit: the declared encoding is wrong",
        ),
        ("UTF-16LE", "utf-8", "in UTF-16LE, but its text is 8-bit: the declared encoding is wrong"),
        ("UTF-32", "iso-8859-1", "in UTF-32, but its text is 8-bit: the declared encoding is wrong"),
        (
            "UTF-8",
            "iso-8859-1",
            "in UTF-8, but a byte in line 1 does not belong to it: the declared encoding is wrong",
        ),
        ("US-ASCII", "utf-8", 'the declared encoding is wrong. Write encoding="UTF-8" in its first line'),
        ("", "iso-8859-1", "no encoding, which means UTF-8, but a byte in line 1 does not belong to it"),
        ("X-NONE", "utf-8", "in X-NONE, which is not a known encoding"),
    ],
)
def test_f39_a_declared_encoding_that_is_wrong_is_named(declared: str, written: str, message: str) -> None:
    head = f'<?xml version="1.0" encoding="{declared}"?>' if declared else ""
    with pytest.raises(ScoreError) as caught:
        score_from_bytes((head + TEXT).encode(written), "test")
    assert message in str(caught.value)


def test_f39_a_file_that_was_cut_off_inside_a_letter_was_cut_off() -> None:
    data = TEXT.encode()
    with pytest.raises(ScoreError, match="cut off"):
        score_from_bytes(data[: data.index("é".encode()) + 1], "test")


# F40 document types, entities, processing instructions


def test_f40_an_entity_bomb_in_an_attribute_is_refused() -> None:
    many = "".join(f'<!ENTITY e{n} "{f"&e{n - 1};" * 10}">' for n in range(1, 12))
    bomb = f'<!DOCTYPE score-partwise [<!ENTITY e0 "ha">{many}]><score-partwise version="&e11;"/>'
    with pytest.raises(ScoreError):
        score_from_bytes(bomb.encode(), "test")


def test_f40_comments_and_instructions_anywhere_are_no_music() -> None:
    data = bars_of("C5:2 C5:2", "C5:4").replace(b"<note>", b"<!--x--><?page 2?><note><!-- y -->")
    data = data.replace(b"<duration>", b"<!-- d --><duration>").replace(
        b"</duration>", b"<!-- e --></duration>"
    )
    excerpt = cut(data, "1-2")
    assert b"<!--" not in excerpt.xml
    assert [bar.length for bar in excerpt.bars] == [4, 4]


@pytest.mark.parametrize("encoding", ["UTF-8", "UTF-16", "ISO-8859-1", "UTF-7"])
def test_f40_an_entity_that_is_not_defined_is_refused_in_any_encoding(encoding: str) -> None:
    text = TEXT.replace("Bratsché", "Bratsch&eacute;")
    head = f"<?xml version='1.0' encoding='{encoding}'?><!DOCTYPE score-partwise SYSTEM 'none.dtd'>"
    with pytest.raises(ScoreError, match="the entity &eacute; is not defined"):
        score_from_bytes((head + text).encode(encoding), "test")


# F41 compressed scores


def container(*paths: str) -> bytes:
    files_in = "".join(f'<rootfile full-path="{path}"/>' for path in paths)
    return f"<container><rootfiles>{files_in}</rootfiles></container>".encode()


def test_f41_the_first_rootfile_without_a_media_type() -> None:
    other = bars_of("C5:4").replace(b"Violin", b"Cello")
    members = {
        "parts/cello.musicxml": other,
        "full.musicxml": TEXT.encode(),
        "META-INF/container.xml": container("full.musicxml", "parts/cello.musicxml"),
    }
    assert name_of(zipped(members)) == "Bratsché"


def test_f41_no_container_and_junk_of_another_system() -> None:
    assert name_of(zipped({"__MACOSX/._a.xml": b"\x00\x05", "a.musicxml": TEXT.encode()})) == "Bratsché"


def test_f41_a_container_that_names_a_file_outside_opens_nothing_outside() -> None:
    members = {"META-INF/container.xml": container("../../etc/hostname"), "a.xml": TEXT.encode()}
    assert name_of(zipped(members)) == "Bratsché"


@pytest.mark.parametrize("method", [zipfile.ZIP_DEFLATED, zipfile.ZIP_BZIP2, zipfile.ZIP_LZMA])
def test_f41_a_compressed_bomb_is_not_unpacked(method: int) -> None:
    bomb = zipped({"a.xml": TEXT.encode() + b" " * (limits.SIZE_CAP + 1)}, method)
    assert len(bomb) < 100_000
    with pytest.raises(ScoreError, match=r"larger than 25 MB when opened\. Export the movement"):
        score_from_bytes(bomb, "test")


def test_f41_a_container_that_is_a_bomb() -> None:
    with pytest.raises(ScoreError, match="larger than 25 MB"):
        score_from_bytes(zipped({"META-INF/container.xml": b" " * (limits.SIZE_CAP + 1)}), "test")


@pytest.mark.slow
def test_f41_a_score_just_below_the_cap_is_opened() -> None:
    """Written as notation programs do: each element on a line of its own."""
    bar = f'<measure number="{{}}">{note("C5:1/2") * 8}</measure>'.replace("><", ">\n\t\t\t\t\t<")
    bars = "".join(bar.format(n) for n in range(1, 40)) * (limits.SIZE_CAP // (40 * len(bar)))
    data = score(f'<part id="P1">{bars}</part>')
    assert 0.9 * limits.SIZE_CAP < len(data) < limits.SIZE_CAP
    opened = score_from_bytes(data, "test")
    assert len(opened.part().bars) == bars.count("<measure")


def test_f41_an_encrypted_or_broken_member() -> None:
    data = bytearray(zipped({"a.xml": TEXT.encode()}))
    data[40:60] = b"\x00" * 20
    with pytest.raises(ScoreError, match="damaged"):
        score_from_bytes(bytes(data), "test")


# F42 rare forms


def test_f42_a_default_namespace() -> None:
    assert (
        name_of(TEXT.replace("<score-partwise", '<score-partwise xmlns="urn:music"').encode()) == "Bratsché"
    )


def test_f42_timewise() -> None:
    note = "<note><rest/><duration>1</duration></note>"
    data = (
        "<score-timewise version='4.0'><part-list><score-part id='P1'><part-name>Bratsché</part-name></score-part>"
        f"</part-list><measure number='1'><part id='P1'>{note}</part></measure></score-timewise>"
    )
    assert name_of(data.encode()) == "Bratsché"


def test_f42_an_opus_is_refused() -> None:
    with pytest.raises(ScoreError, match="list of other scores"):
        score_from_bytes(b"<opus><title>Sonatas</title></opus>", "test")


def test_f42_pictures_links_and_for_part() -> None:
    picture = direction("<image source='file:///etc/hostname' type='image/png'/>")
    for_part = (
        "<attributes><for-part><part-clef><sign>G</sign><line>2</line></part-clef><part-transpose><chromatic>-2"
        "</chromatic></part-transpose></for-part></attributes>"
    )
    data = bars_of(f"{for_part} {picture} C5:4", "C5:4")
    assert cut(data, "1").tree().find(".//image") is None
    assert cut(data, "2").tree().findtext("part/measure/attributes/for-part/part-transpose/chromatic") == "-2"


def test_f42_a_staff_that_divides() -> None:
    divide = direction("<staff-divide type='down'/>")
    data = score(part([f"{FIRST} {divide} C5:4"]))
    assert cut(data, "1").tree().find(".//staff-divide") is not None
