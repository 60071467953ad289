"""Hazards of state set before the cut: each bar-slicing trap of attributes, tempo and playing, by hand."""

from __future__ import annotations

from fractions import Fraction

import pytest

from excerpts.excerpt import Tempo
from tests.music import DIVISIONS, FIRST, bars_of, note, part, score
from tests.score.cutting import (
    attributes,
    bar_at,
    clef,
    cut,
    direction,
    dynamic,
    first_attributes,
    key,
    said,
    texts,
    words,
)

WAY_BACK = f"<backup><duration>{4 * DIVISIONS}</duration></backup>"


def with_first(inside: str, *bars: str, others: str = "") -> bytes:
    """A score whose first bar has its own attributes beside the divisions."""
    return score(part([f"{attributes(f'<divisions>{DIVISIONS}</divisions>{inside}')} C5:4 {others}", *bars]))


SECOND = " number='2'"
GROWING = direction("<wedge type='crescendo'/>")
GROWN = direction("<wedge type='stop'/>")

MUTED = direction("<string-mute type='on'/>")

# A1 divisions


def test_a01_divisions_set_once() -> None:
    assert first_attributes(cut(bars_of("C5:4", "C5:4", "C5:4"), "3")).findtext("divisions") == str(DIVISIONS)


def test_a01_divisions_changed_in_mid_bar_after_the_first_note() -> None:
    change = attributes("<divisions>48</divisions>")
    data = bars_of("C5:4", f"C5:2 {change} C5:2 C5:2", "C5:8", "C5:8")
    assert cut(data, "2").bars[0].length == 4
    assert [b.length for b in cut(data, "3-4").bars] == [4, 4]
    assert first_attributes(cut(data, "3")).findtext("divisions") == "48"
    assert first_attributes(cut(data, "2")).findtext("divisions") == str(DIVISIONS)


def test_a01_divisions_set_by_the_first_bar_itself_are_not_said_twice() -> None:
    data = bars_of("C5:4", f"{attributes('<divisions>48</divisions>')} C5:8")
    assert texts(cut(data, "2"), "divisions") == ["48"]


# A2 clefs


def test_a02_the_last_clef_of_each_staff_wins() -> None:
    two = f"<staves>2</staves>{clef('G', 2, 1)}{clef('F', 4, 2)}"
    data = with_first(two, f"{attributes(clef('C', 4, 2))} C5:4", "C5:4")
    restated = first_attributes(cut(data, "3"))
    assert [(c.get("number"), c.findtext("sign")) for c in restated.iter("clef")] == [("1", "G"), ("2", "C")]


def test_a02_a_clef_changed_in_mid_bar_and_back_at_the_bars_end() -> None:
    data = bars_of(f"C5:2 {attributes(clef('C', 3))} C5:2 {attributes(clef('F', 4))}", "C3:4")
    assert [c.findtext("sign") for c in first_attributes(cut(data, "2")).iter("clef")] == ["F"]


def test_a02_a_courtesy_clef_before_the_barline_counts_for_the_bar_after() -> None:
    later = attributes(clef("F", 4, more=" after-barline='yes'"))
    restated = first_attributes(cut(bars_of(f"C5:4 {later}", "C3:4"), "2")).find("clef")
    assert restated is not None
    assert (restated.findtext("sign"), restated.get("after-barline")) == ("F", None)


def test_a02_an_additional_clef_replaces_nothing() -> None:
    extra = attributes(clef("F", 4, more=" additional='yes'"))
    assert first_attributes(cut(bars_of(f"{extra} C5:4", "C5:4"), "2")).findtext("clef/sign") == "G"
    at_start = first_attributes(cut(bars_of("C5:4", f"{extra} C5:4"), "2"))
    assert [c.findtext("sign") for c in at_start.iter("clef")] == ["G", "F"]


@pytest.mark.parametrize(
    "inside",
    [
        "<clef><sign>G</sign><line>2</line><clef-octave-change>-1</clef-octave-change></clef>",
        "<clef><sign>percussion</sign></clef>",
        "<clef><sign>TAB</sign><line>5</line></clef>",
        "<clef><sign>none</sign></clef>",
        "<clef print-object='no'><sign>C</sign><line>3</line></clef>",
    ],
    ids=["octave", "percussion", "tab", "none", "hidden"],
)
def test_a02_every_kind_of_clef_is_restated_as_it_was(inside: str) -> None:
    data = with_first(inside, "C5:4")
    (before,) = cut(data, "1").tree().iter("clef")
    (after,) = cut(data, "2").tree().iter("clef")
    assert [(c.tag, c.text) for c in after] == [(c.tag, c.text) for c in before]
    assert dict(after.attrib) == dict(before.attrib)


def test_a02_a_clef_of_the_first_bar_itself_is_not_preceded_by_the_old_one() -> None:
    data = bars_of("C5:4", f"{attributes(clef('C', 3))} C5:4")
    assert [c.findtext("sign") for c in cut(data, "2").tree().iter("clef")] == ["C"]


def test_a02_a_clef_behind_a_grace_note_at_the_start_is_a_change() -> None:
    grace = "<note><grace/><pitch><step>C</step><octave>5</octave></pitch><voice>1</voice></note>"
    data = bars_of("C5:4", f"{grace} {attributes(clef('C', 3))} C5:4")
    bar = bar_at(cut(data, "2"), 0)
    assert [child.tag for child in bar] == ["attributes", "note", "attributes", "note"]
    assert [c.findtext("sign") for c in bar.iter("clef")] == ["G", "C"]


# A3 keys


def test_a03_a_key_per_staff_and_one_for_all() -> None:
    two = f"{key(1)}<staves>2</staves>"
    data = with_first(
        two,
        f"{attributes(key(-3, more=SECOND))} C5:4",
        "C5:4",
        f"{attributes(key(4))} C5:4",
        "C5:4",
    )
    both = [(k.get("number"), k.findtext("fifths")) for k in first_attributes(cut(data, "3")).iter("key")]
    assert both == [(None, "1"), ("2", "-3")]
    one = [(k.get("number"), k.findtext("fifths")) for k in first_attributes(cut(data, "5")).iter("key")]
    assert one == [(None, "4")]


def test_a03_a_key_of_one_staff_in_the_first_bar_stands_behind_that_of_all() -> None:
    own = attributes("<key number='2'><fifths>-3</fifths></key>")
    data = with_first(f"{key(1)}<staves>2</staves>", f"{own} C5:4")
    keys = [(k.get("number"), k.findtext("fifths")) for k in first_attributes(cut(data, "2")).iter("key")]
    assert keys == [(None, "1"), ("2", "-3")]


def test_a03_a_key_of_its_own_letters_a_hidden_key_and_a_cancel() -> None:
    letters = "<key-step>F</key-step><key-alter>1</key-alter><key-step>B</key-step><key-alter>-1</key-alter>"
    odd = f"<key print-object='no'>{letters}</key>"
    restated = first_attributes(cut(with_first(odd, "C5:4"), "2")).find("key")
    assert restated is not None
    assert [k.text for k in restated] == ["F", "1", "B", "-1"]
    assert restated.get("print-object") == "no"
    cancelled = attributes("<key><cancel>2</cancel><fifths>0</fifths></key>")
    data = bars_of("C5:4", f"{cancelled} C5:4", "C5:4")
    assert cut(data, "2").tree().findtext(".//cancel") == "2"
    assert cut(data, "3").tree().find(".//cancel") is None


def test_a03_a_key_changed_in_mid_bar() -> None:
    data = bars_of("C5:4", f"C5:2 {attributes(key(-4))} C5:2", "C5:4")
    assert first_attributes(cut(data, "3")).findtext("key/fifths") == "-4"
    assert texts(cut(data, "2"), "fifths") == ["2", "-4"]


# A4 times


@pytest.mark.parametrize(
    "time",
    [
        "<time symbol='common'><beats>4</beats><beat-type>4</beat-type></time>",
        "<time symbol='cut'><beats>2</beats><beat-type>2</beat-type></time>",
        "<time symbol='single-number'><beats>3</beats><beat-type>4</beat-type></time>",
        "<time symbol='note'><beats>3</beats><beat-type>4</beat-type></time>",
        "<time><beats>3+2</beats><beat-type>8</beat-type></time>",
        "<time><beats>3</beats><beat-type>8</beat-type><beats>1</beats><beat-type>4</beat-type></time>",
        "<time><senza-misura/></time>",
        "<time><beats>3</beats><beat-type>4</beat-type><interchangeable><beats>6</beats><beat-type>8</beat-type>"
        "</interchangeable></time>",
        "<time print-object='no'><beats>4</beats><beat-type>4</beat-type></time>",
    ],
)
def test_a04_every_kind_of_time_signature_is_restated_as_it_was(time: str) -> None:
    data = with_first(time, "C5:4")
    (before,) = cut(data, "1").tree().iter("time")
    (after,) = cut(data, "2").tree().iter("time")
    assert [(c.tag, c.text) for c in after.iter()] == [(c.tag, c.text) for c in before.iter()]
    assert dict(after.attrib) == dict(before.attrib)


def test_a04_no_time_signature_is_invented() -> None:
    assert cut(with_first(key(1), "C5:4"), "2").tree().find(".//time") is None


# A5 transposition


def test_a05_transposition_in_force_and_changed() -> None:
    def transpose(semitones: int) -> str:
        return f"<transpose><diatonic>0</diatonic><chromatic>{semitones}</chromatic></transpose>"

    octave = "<transpose><diatonic>0</diatonic><chromatic>0</chromatic><octave-change>-1</octave-change></transpose>"
    data = with_first(octave, "C5:4", f"{attributes(transpose(-2))} C5:4", "C5:4")
    assert first_attributes(cut(data, "2")).findtext("transpose/octave-change") == "-1"
    assert first_attributes(cut(data, "4")).findtext("transpose/chromatic") == "-2"
    assert cut(data, "4").tree().findtext(".//pitch/octave") == "5"


# A6 staves


def test_a06_two_staves_and_a_voice_that_crosses_them() -> None:
    inside = (
        f"<note><pitch><step>C</step><octave>5</octave></pitch><duration>{2 * DIVISIONS}</duration><voice>1</voice>"
        f"<staff>1</staff></note><note><pitch><step>C</step><octave>4</octave></pitch><duration>{2 * DIVISIONS}"
        "</duration><voice>1</voice><staff>2</staff></note>"
    )
    two = f"<staves>2</staves><part-symbol>brace</part-symbol>{clef('G', 2, 1)}{clef('F', 4, 2)}"
    data = with_first(two, inside, inside)
    excerpt = cut(data, "3")
    restated = first_attributes(excerpt)
    assert restated.findtext("staves") == "2"
    assert restated.findtext("part-symbol") == "brace"
    assert len(restated.findall("clef")) == 2
    assert texts(excerpt, "staff") == ["1", "2"]


# A7 staff details


def test_a07_staff_details_add_up() -> None:
    lines = "<staff-details><staff-lines>4</staff-lines></staff-details>"
    tuning = (
        "<staff-details><staff-tuning line='1'><tuning-step>G</tuning-step><tuning-octave>3</tuning-octave>"
        "</staff-tuning></staff-details>"
    )
    hidden = "<staff-details print-object='no'/>"
    data = with_first(lines, f"{attributes(tuning)} C5:4", f"{attributes(hidden)} C5:4", "C5:4")
    (merged,) = cut(data, "4").tree().iter("staff-details")
    assert merged.findtext("staff-lines") == "4"
    assert merged.findtext("staff-tuning/tuning-step") == "G"
    assert merged.get("print-object") == "no"


def test_a07_staff_details_that_the_first_bar_sets_in_part_are_merged() -> None:
    lines = "<staff-details><staff-lines>4</staff-lines><capo>2</capo></staff-details>"
    data = with_first(lines, f"{attributes('<staff-details><capo>5</capo></staff-details>')} C5:4")
    (merged,) = cut(data, "2").tree().iter("staff-details")
    assert (merged.findtext("staff-lines"), merged.findtext("capo")) == ("4", "5")


# A8 late and missing attributes


def test_a08_key_time_and_clef_first_given_after_bar_1() -> None:
    late = attributes(
        f"{key(3)}<time><beats>4</beats><beat-type>4</beat-type></time><clef><sign>C</sign><line>3</line></clef>"
    )
    data = score(part([f"{attributes(f'<divisions>{DIVISIONS}</divisions>')} C5:4", f"{late} C5:4", "C5:4"]))
    assert cut(data, "1").tree().find(".//key") is None
    assert [c.tag for c in first_attributes(cut(data, "3"))] == ["divisions", "key", "time", "clef"]


def test_a08_several_attributes_in_a_bar_only_those_at_time_0_are_its_start() -> None:
    data = bars_of(
        "C5:4",
        f"{attributes(key(-1))} {attributes(clef('C', 3))} C5:2 {attributes(key(5))} C5:2",
    )
    bar = bar_at(cut(data, "2"), 0)
    inside = [[c.tag for c in a] for a in bar.iterfind("attributes")]
    assert inside == [["divisions", "key", "time"], ["clef"], ["key"]]
    assert texts(cut(data, "2"), "fifths") == ["-1", "5"]


# A9 measure styles


def style(inner: str) -> str:
    return attributes(f"<measure-style>{inner}</measure-style>")


def test_a09_running_slashes_are_restated_and_ended_ones_are_not() -> None:
    on, off = style("<slash type='start' use-stems='yes'/>"), style("<slash type='stop'/>")
    data = bars_of("C5:4", f"{on} C5:4", "C5:4", f"{off} C5:4", "C5:4")
    assert first_attributes(cut(data, "3")).find("measure-style/slash[@use-stems='yes']") is not None
    assert [s.get("type") for s in cut(data, "4").tree().iter("slash")] == ["stop"]
    assert cut(data, "5").tree().find(".//slash") is None


def test_a09_a_rest_of_several_bars_ends_with_the_cut() -> None:
    many = style("<multiple-rest>4</multiple-rest>")
    data = bars_of("C5:4", f"{many} r:4", "r:4", "r:4", "r:4", "C5:4")
    assert texts(cut(data, "1-3"), "multiple-rest") == ["2"]
    assert texts(cut(data, "1-6"), "multiple-rest") == ["4"]
    assert cut(data, "2").tree().find(".//multiple-rest") is None
    inside = cut(data, "3-4")
    assert inside.tree().find(".//multiple-rest") is None
    assert [bar.length for bar in inside.bars] == [4, 4]


def test_a09_an_empty_bar_under_a_bar_repeat_is_written_out() -> None:
    start = style("<measure-repeat type='start'>1</measure-repeat>")
    stop = style("<measure-repeat type='stop'/>")
    data = bars_of("C5:1 D5:1 E5:2", f"{start}", "r:4", f"{stop} F5:4")
    excerpt = cut(data, "2-4")
    assert texts(excerpt, "step") == ["C", "D", "E", "C", "D", "E", "F"]
    assert [bar.length for bar in excerpt.bars] == [4, 4, 4]
    assert excerpt.tree().find(".//measure-repeat") is None
    assert "repaired bar repeat in bar 2: written out as notes" in said(excerpt)


def test_a09_two_bars_repeated_together_keep_their_order() -> None:
    start = style("<measure-repeat type='start'>2</measure-repeat>")
    stop = style("<measure-repeat type='stop'/>")
    data = bars_of(
        "C5:4",
        "D5:2 E5:2",
        f"{start}",
        "",
        f"{stop} F5:4",
    )
    assert texts(cut(data, "3-4"), "step") == ["C", "D", "E"]


def test_a09_notes_that_stand_under_the_sign_are_kept() -> None:
    start = style("<measure-repeat type='start'>1</measure-repeat>")
    data = bars_of("C5:4", f"{start} A5:4")
    assert texts(cut(data, "2"), "step") == ["A"]


def test_a09_a_slur_out_of_the_repeated_bar_is_not_repeated() -> None:
    start = style("<measure-repeat type='start'>1</measure-repeat>")
    slur = "[<notations><slur type='start' number='1'/></notations>]"
    data = bars_of(f"C5:2 D5:2{slur}", f"{start}")
    assert cut(data, "2").tree().find(".//slur") is None


def test_a09_repeated_beats_are_written_out() -> None:
    start = style("<beat-repeat type='start' slashes='1'/>")
    stop = style("<beat-repeat type='stop' slashes='1'/>")
    data = bars_of(f"C5:1/2 D5:1/2 {start} r:3", f"{stop} E5:4")
    excerpt = cut(data, "1")
    assert texts(excerpt, "step") == ["C", "D"] * 4
    assert excerpt.bars[0].length == 4
    assert "repaired beat repeat in bar 1: written out as notes" in said(excerpt)


# A10 tempo


def metronome(number: str, unit: str = "quarter", dot: str = "", sound: str = "") -> str:
    mark = f"<metronome><beat-unit>{unit}</beat-unit>{dot}<per-minute>{number}</per-minute></metronome>"
    return direction(mark, after=sound)


def test_a10_a_tempo_set_only_in_another_part() -> None:
    top = part([f"{FIRST} {metronome('54')} C5:4", "C5:4", "C5:4"])
    low = part([f"{FIRST} C3:4", "C3:4", "C3:4"], part_id="P2")
    excerpt = cut(score(top, low, names=("Violin", "Cello")), "3", of="Cello")
    assert excerpt.tempo == Tempo(Fraction(54))
    assert texts(excerpt, "per-minute") == ["54"]


def test_a10_a_sound_that_is_a_child_of_the_bar() -> None:
    data = bars_of("<sound tempo='96'/> C5:4", "C5:4")
    excerpt = cut(data, "2")
    assert excerpt.tempo == Tempo(Fraction(96))
    assert excerpt.tree().find("part/measure/sound[@tempo='96']") is not None


def test_a10_a_change_of_beat_without_a_number() -> None:
    change = direction("<metronome><beat-unit>quarter</beat-unit><beat-unit>half</beat-unit></metronome>")
    data = bars_of(f"{metronome('72')} C5:4", f"{change} C5:4", "C5:4")
    excerpt = cut(data, "3")
    assert excerpt.tempo == Tempo(Fraction(72), Fraction(2))
    assert (texts(excerpt, "beat-unit"), texts(excerpt, "per-minute")) == (["half"], ["72"])
    assert "restated tempo in bar 3: its number is worked out" in said(excerpt)
    assert cut(bars_of(f"{change} C5:4", "C5:4"), "2").tempo is None


def test_a10_a_later_heading_without_a_number_ends_the_number() -> None:
    data = bars_of(
        f"{metronome('120')} C5:4", f"{words('Adagio')} C5:4", "C5:4", f"{words('Tempo I')} C5:4", "C5:4"
    )
    slow = cut(data, "3")
    assert (slow.tempo, texts(slow, "words"), texts(slow, "per-minute")) == (None, ["Adagio"], [])
    assert cut(data, "5").tempo == Tempo(Fraction(120))


def test_a10_words_that_are_no_heading_change_nothing() -> None:
    data = bars_of(f"{metronome('120')} C5:4", f"{words('dolce')} C5:4", "C5:4")
    assert cut(data, "3").tempo == Tempo(Fraction(120))


def test_a10_a_dotted_beat_and_a_range() -> None:
    data = bars_of(f"{metronome('c. 60-66', dot='<beat-unit-dot/>')} C5:4", "C5:4")
    excerpt = cut(data, "2")
    assert excerpt.tempo == Tempo(Fraction(60), Fraction(3, 2))
    assert texts(excerpt, "per-minute") == ["c. 60-66"]


# A11 playing state


@pytest.mark.parametrize(
    ("said_before", "shown"),
    [
        ("pizz.", "(pizz.)"),
        ("con sord.", "(con sord.)"),
        ("mit Dämpfer", "(mit Dämpfer)"),
        ("sul G", "(sul G)"),
        ("sul pont.", "(sul pont.)"),
        ("col legno battuto", "(col legno battuto)"),
        ("III. Lage", "(III. Lage)"),
        ("dolce, con sordino", "(con sordino)"),
    ],
)
def test_a11_a_state_in_words_comes_back_in_brackets(said_before: str, shown: str) -> None:
    data = bars_of("C5:4", f"{words(said_before)} C5:4", "C5:4", "C5:4")
    excerpt = cut(data, "3", 1)
    assert texts(excerpt, "words") == [said_before]
    later = cut(data, "4")
    assert texts(later, "words") == [shown]
    assert any(
        line.startswith("restated") and line.endswith(f"{shown[1:-1]}, from bar 2") for line in said(later)
    )


@pytest.mark.parametrize(
    ("on", "off"),
    [
        ("pizz.", "arco"),
        ("con sord.", "senza sord."),
        ("sul ponticello", "ord."),
        ("sul G", "nat."),
        ("col legno", "arco"),
        ("avec sourdine", "sans sourdine"),
    ],
)
def test_a11_a_state_that_was_ended_does_not_come_back(on: str, off: str) -> None:
    data = bars_of(f"{words(on)} C5:4", f"{words(off)} C5:4", "C5:4")
    assert texts(cut(data, "3"), "words") == []


def test_a11_what_the_first_note_sets_itself_is_not_said_twice() -> None:
    data = bars_of(f"{words('pizz.')} {dynamic('p')} C5:4", f"{words('arco')} {dynamic('f')} C5:4")
    excerpt = cut(data, "2")
    assert texts(excerpt, "words") == ["arco"]
    assert [d[0].tag for d in excerpt.tree().iter("dynamics")] == ["f"]


def test_a11_mute_and_pizzicato_told_by_signs() -> None:
    data = bars_of(
        f"{MUTED} <sound pizzicato='yes'/> C5:4",
        "C5:4",
    )
    excerpt = cut(data, "2")
    assert texts(excerpt, "words") == ["(pizz.)", "(con sord.)"]
    assert excerpt.tree().find(".//sound[@pizzicato='yes']") is not None


def test_a11_the_dynamic_in_force_stands_in_brackets_at_the_first_note() -> None:
    data = bars_of(f"{dynamic('mf')} C5:4", "C5:4", "r:1 C5:3")
    excerpt = cut(data, "3")
    bar = bar_at(excerpt, 0)
    assert [child.tag for child in bar] == ["attributes", "note", "direction", "note"]
    types = [child[0].tag for child in bar.iterfind("direction/direction-type")]
    assert types == ["words", "dynamics", "words"]
    assert texts(excerpt, "words") == ["(", ")"]
    assert "restated dynamic in bar 3: mf, from bar 1" in said(excerpt)


@pytest.mark.parametrize(("written", "in_force"), [("fp", "p"), ("sfp", "p"), ("sfz", "ff"), ("ppp", "ppp")])
def test_a11_a_dynamic_for_one_note_only(written: str, in_force: str) -> None:
    data = bars_of(f"{dynamic('ff')} C5:4", f"{dynamic(written)} C5:4", "C5:4")
    assert [d[0].tag for d in cut(data, "3").tree().iter("dynamics")] == [in_force]


@pytest.mark.parametrize(
    "since",
    [
        words("cresc."),
        GROWING,
        words("più f"),
    ],
    ids=["words", "hairpin", "more"],
)
def test_a11_a_dynamic_that_has_changed_since_is_not_claimed(since: str) -> None:
    end = GROWN if since is GROWING else ""
    data = bars_of(f"{dynamic('p')} C5:4", f"{since} C5:4 {end}", "C5:4")
    assert list(cut(data, "3").tree().iter("dynamics")) == []


@pytest.mark.parametrize(
    "first",
    [
        f"{dynamic('fz')} C5:4",
        "C5:4[<notations><dynamics><fz/></dynamics></notations>]",
        f"r:1 {dynamic('sfz')} C5:3",
    ],
)
def test_a11_no_bracket_beside_a_dynamic_of_the_first_note_itself(first: str) -> None:
    excerpt = cut(bars_of(f"{dynamic('p')} C5:4", "C5:4", first), "3")
    assert len(list(excerpt.tree().iter("dynamics"))) == 1
    assert "(" not in texts(excerpt, "words")


def test_a11_no_bracket_beside_a_dynamic_that_is_drawn_back_to_the_first_note() -> None:
    """It hangs on the second note, and its offset brings it under the first."""
    back = dynamic("p").replace("</direction>", f"<offset>-{DIVISIONS // 2}</offset></direction>")
    excerpt = cut(bars_of(f"{dynamic('f')} C5:4", "C5:4", f"C5:2 {back} C5:2"), "3")
    assert [d[0].tag for d in excerpt.tree().iter("dynamics")] == ["p"]
    later = cut(bars_of(f"{dynamic('f')} C5:4", "C5:4", f"C5:2 {dynamic('p')} C5:2"), "3")
    assert [d[0].tag for d in later.tree().iter("dynamics")] == ["f", "p"]


def test_a11_a_dynamic_at_the_end_of_a_hairpin_is_known_again() -> None:
    data = bars_of(
        f"{dynamic('p')} {GROWING} C5:4",
        f"{dynamic('f')} {GROWN} C5:4",
        "C5:4",
    )
    assert [d[0].tag for d in cut(data, "3").tree().iter("dynamics")] == ["f"]


def test_a11_a_string_is_forgotten_after_its_line_and_after_many_bars() -> None:
    line = "<direction-type><dashes type='{}' number='1'/></direction-type>"
    begin = (
        f"<direction><direction-type><words>sul G</words></direction-type>{line.format('start')}</direction>"
    )
    end = f"<direction>{line.format('stop')}</direction>"
    ended = bars_of(f"{begin} C5:4", f"C5:4 {end}", "C5:4")
    assert texts(cut(ended, "3"), "words") == []
    runs = bars_of(f"{begin} C5:4", "C5:4", f"C5:4 {end}")
    assert texts(cut(runs, "2"), "words") == ["(sul G)"]
    far = bars_of(f"{words('sul G')} C5:4", *["C5:4"] * 12)
    assert texts(cut(far, "12"), "words") == []


@pytest.mark.parametrize("order", ["words first", "line first"])
def test_a11_a_string_is_forgotten_after_a_line_in_a_direction_of_its_own(order: str) -> None:
    line = "<bracket type='{}' number='1' line-end='none'/>"
    begin = [words("sul G"), direction(line.format("start"))]
    begin = begin if order == "words first" else begin[::-1]
    end = direction(line.format("stop"))
    ended = bars_of(f"{''.join(begin)} C5:4", f"C5:4 {end}", "C5:4")
    assert texts(cut(ended, "3"), "words") == []
    runs = bars_of(f"{''.join(begin)} C5:4", "C5:4", f"C5:4 {end}")
    assert texts(cut(runs, "2"), "words") == ["(sul G)"]
    other = bars_of(f"{words('sul G')} C5:2 {begin[1 if order == 'words first' else 0]} C5:2 {end}", "C5:4")
    assert texts(cut(other, "2"), "words") == ["(sul G)"]


def test_a11_a_new_movement_begins_afresh() -> None:
    final = "<barline location='right'><bar-style>light-heavy</bar-style></barline>"
    data = bars_of(f"{words('pizz.')} {dynamic('pp')} C5:4 {final}", "C5:4", "C5:4", numbers=["1", "1a", "2"])
    excerpt = cut(data, "2")
    assert (texts(excerpt, "words"), list(excerpt.tree().iter("dynamics"))) == ([], [])


FINGER = "[<notations>{}<technical><fingering placement='above'>3</fingering></technical></notations>]"


def test_a11_a_finger_that_stays_down_over_the_cut() -> None:
    same = bars_of(f"C5:2 D5:2{FINGER.format('')}", "D5:2 E5:2")
    excerpt = cut(same, "2")
    assert texts(excerpt, "fingering") == ["3"]
    assert "restated finger in bar 2: 3, held from bar 1" in said(excerpt)
    other = bars_of(f"C5:2 D5:2{FINGER.format('')}", "E5:2 D5:2")
    assert texts(cut(other, "2"), "fingering") == []
    lifted = bars_of(f"C5:2 D5:1{FINGER.format('')} r:1", "D5:2 E5:2")
    assert texts(cut(lifted, "2"), "fingering") == []


def test_a11_a_cut_with_brackets_cut_again_is_the_same() -> None:
    data = bars_of(f"{words('pizz.')} {dynamic('mf')} C5:4", "C5:4", "C5:4", "C5:4")
    once = cut(data, "3-4")
    assert cut(once.xml, "3-4").xml == once.xml
    assert texts(cut(once.xml, "4"), "words") == ["(pizz.)", "(", ")"]


def test_a_staff_that_rests_before_the_cut_is_left_alone() -> None:
    lower = note("A3:4", voice="2")
    data = bars_of(f"D5:4 {WAY_BACK} {lower}", f"D5:4 {WAY_BACK} {lower}")
    assert said(cut(data, "2")) == [
        "restated key in bar 2",
        "restated time signature in bar 2",
        "restated clef in bar 2",
    ]
