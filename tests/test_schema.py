"""The schema check itself can fail: it refuses what MusicXML forbids."""

from tests.schema import schema_errors

GOOD = b"""<score-partwise version="4.0"><part-list><score-part id="P1"><part-name/></score-part></part-list>
<part id="P1"><measure number="1">
<note><rest/><duration>4</duration></note></measure></part></score-partwise>"""


def test_a_small_score_is_valid() -> None:
    assert schema_errors(GOOD) == []


def test_a_note_without_its_duration_is_not() -> None:
    assert schema_errors(GOOD.replace(b"<duration>4</duration>", b"<voice>1</voice>")) != []
