"""Stand-ins in the private copy for what the engraver drops or misreads, most of it without a word.

Measured on verovio 6.4.1. What a player reads over a note becomes a sign or a text set like a fingering,
what stands over the bar becomes words; an accidental, a barline or an ornament that is not known becomes
the one that looks most like it. Signs are those of SMuFL 1.4; what is said in words is common practice.

It draws a small circle for every kind of harmonic, on every note of a chord; here a diamond head stands where the
finger touches (`touching-pitch` of MusicXML 4.0). It takes the time of a tuplet from `<tuplet>` alone, so that notes
with only a time modification would be set at their plain values; here they get a `<tuplet>` that prints nothing.
"""

from __future__ import annotations

from copy import deepcopy

from lxml import etree

from excerpts.engrave.drawable import chord_of
from excerpts.engrave.svg.letters import THUMB, sign_named
from excerpts.engrave.svg.shapes import colour_sign
from excerpts.musicxml.format import child_of_note, drop
from excerpts.musicxml.tablature import notes_in_tablature
from excerpts.musicxml.tuplets import tuplet_notes, unmarked_groups

_ROMAN = ("", "I", "II", "III", "IV", "V", "VI", "VII", "VIII", "IX")
_OVER_NOTE = {
    "thumb-position": THUMB,
    "half-muted": "\ue5e6",
    "stress": "\ue4b6",
    "unstress": "\ue4b7",
    "tap": "T",
    "hammer-on": "H",
    "pull-off": "P",
    "pluck": "",
    "other-technical": "",
    "other-articulation": "",
}
"""Marks of `<technical>` and `<articulations>`, and what is printed for them where they have no text."""
_DIRECTIONS = {"damp": "\ue638", "damp-all": "\ue639", "other-direction": "", "symbol": "", "string-mute": ""}
_MUTE = {"on": "con sord.", "off": "senza sord."}
"""Italian, as it is printed in every country."""
_ALTERS = {"-2": "♭♭", "-1": "♭", "1": "♯", "2": "♯♯"}
_RENAMED = {
    ("technical", "open"): "open-string",
    # W3C MusicXML 4.0: "The shake element has a similar appearance to an inverted-mordent element."
    ("ornaments", "shake"): "inverted-mordent",
}
_WITH_SEVERAL = etree.XPath("//note[notations[2]]")
_GROUPS = frozenset({"ornaments", "technical", "articulations"})
_ACCIDENTALS = {"double-flat": "flat-flat"}
_BARLINES = {"heavy-light": "heavy"}
_HEADS = {"cluster": "square"}
"""A chord with one head of a cluster is not drawn at all."""


def stand_in(root: etree._Element) -> None:
    """Put stand-ins for what would be lost; changes the tree."""
    for note in _WITH_SEVERAL(root):
        _gather(note)
    _rename(root)
    draw_harmonics(root)
    for note in dict.fromkeys(note for mark in root.iter(*_OVER_NOTE) for note in mark.iterancestors("note")):
        _over_note(note)
    in_tablature = set(notes_in_tablature(root))
    for technical in list(root.iter("technical")):
        if next(technical.iterancestors("note"), None) not in in_tablature:
            _strings(technical)
    for line in [*root.iter("glissando"), *root.iter("slide")]:
        _say_glissando(line)
    for bracket in root.iter("bracket"):
        bracket.set("line-type", bracket.get("line-type") or "solid")
    for finger in root.iter("fingering"):
        finger.text = (finger.text or "").strip() + colour_sign(finger.get("color", ""))
    _end_pedals(root)
    for direction in list(root.iter("direction")):
        _give_staff(direction)
        _say(direction)
        _split_brackets(direction)
        _bracket_metronome(direction)
        _space_before_metronome(direction)
        _join_dynamic(direction)


def _end_pedals(root: etree._Element) -> None:
    """Let the end of a pedal say whether it is a line, as its beginning does: else the line is lost."""
    lines: dict[str, str] = {}
    for pedal in root.iter("pedal"):
        number = pedal.get("number", "1")
        if pedal.get("type") in ("start", "sostenuto"):
            lines[number] = pedal.get("line", "")
        elif lines.get(number) and "line" not in pedal.attrib:
            pedal.set("line", lines[number])


def _give_staff(direction: etree._Element) -> None:
    """Tell the staff of a direction that no note follows in its bar: without it the direction is lost.

    It is the staff of the note before, as the engraver takes that of the note after.
    """
    if direction.find("staff") is not None or next(direction.itersiblings("note"), None) is not None:
        return
    before = next(direction.itersiblings("note", preceding=True), None)
    named = None if before is None else before.find("staff")
    staff = etree.Element("staff")
    staff.text = "1" if named is None else named.text
    place = max((i for i, child in enumerate(direction, 1) if child.tag in _BEFORE_STAFF), default=0)
    direction.insert(place, staff)


_BEFORE_STAFF = frozenset({"direction-type", "offset", "footnote", "level", "voice"})


def _gather(note: etree._Element) -> None:
    """Put all marks of a note into one `<notations>`: a trill loses its line if that stands in another."""
    notations = note.findall("notations")
    for other in notations[1:]:
        for group in list(other):
            same = notations[0].find(group.tag) if group.tag in _GROUPS else None
            if same is None:
                notations[0].append(group)
            else:
                same.extend(list(group))
        drop(other)


def _rename(root: etree._Element) -> None:
    for (parent, name), known in _RENAMED.items():
        for element in list(root.iter(name)):
            group = element.getparent()
            if group is not None and group.tag == parent:
                element.tag = known
    for name, table in (("accidental", _ACCIDENTALS), ("bar-style", _BARLINES), ("notehead", _HEADS)):
        for element in root.iter(name):
            text = (element.text or "").strip()
            repeats = element.find("../repeat") is not None  # a repeat brings its own barline
            element.text = text if repeats else table.get(text, text)
    for accidental in list(root.iter("accidental")):
        if not accidental.text:
            drop(accidental)


def _over_note(note: etree._Element) -> None:
    """Print the marks of a note that would be lost as if they were fingers."""
    for kind in ("technical", "articulations"):
        for group in note.findall(f"notations/{kind}"):
            for mark in [mark for mark in group if mark.tag in _OVER_NOTE]:
                text = _sign(mark) or (mark.text or "").strip() or _OVER_NOTE[str(mark.tag)]
                if text and mark.get("type") != "stop":
                    _set_as_finger(group, mark, text)


def _strings(technical: etree._Element) -> None:
    """String numbers become Roman numerals."""
    for string in [mark for mark in technical.findall("string") if _is_string(mark)]:
        _set_as_finger(technical, string, _ROMAN[int((string.text or "0").strip())])


def _is_string(mark: etree._Element) -> bool:
    text = (mark.text or "").strip()
    return text.isdecimal() and 0 < int(text) < len(_ROMAN)


def _sign(mark: etree._Element) -> str:
    """The music character that an element names, "" where it names none that the font has."""
    name = mark.get("smufl") or (mark.text if mark.tag == "symbol" else "") or ""
    return sign_named(name.strip()) if name else ""


def _set_as_finger(group: etree._Element, mark: etree._Element, text: str) -> None:
    """Put a fingering in the place of a mark, behind the others of its note: it then stacks outside them."""
    fingering = etree.Element("fingering")
    fingering.text = text
    for look in ("placement", "color"):
        if mark.get(look):
            fingering.set(look, str(mark.get(look)))
    group.remove(mark)
    _technical(group).append(fingering)


def _technical(group: etree._Element) -> etree._Element:
    """The `<technical>` beside another group of marks, made if the note has none."""
    notations = group.getparent()
    if group.tag == "technical" or notations is None:
        return group
    technical = notations.find("technical")
    return etree.SubElement(notations, "technical") if technical is None else technical


def _say_glissando(line: etree._Element) -> None:
    """Print the word of a glissando, which is drawn without it, over the note that it starts on."""
    text = (line.text or "").strip()
    note = next(line.iterancestors("note"), None)
    if line.get("type") != "start" or not text or note is None:
        return
    direction = etree.Element("direction", placement="above")
    etree.SubElement(etree.SubElement(direction, "direction-type"), "words").text = text
    for name in ("voice", "staff"):
        named = note.find(name)
        if named is not None:
            direction.append(deepcopy(named))
    while note.find("chord") is not None and (before := note.getprevious()) is not None:
        note = before
    note.addprevious(direction)


def _say(direction: etree._Element) -> None:
    """Put words for kinds of directions that would be lost."""
    words_there = " ".join(words.text or "" for words in direction.iter("words")).casefold()
    for kind in direction.findall("direction-type"):
        for mark in list(kind):
            text = _text_of(mark)
            if not text:
                continue
            if mark.tag == "string-mute" and "sord" in words_there:
                kind.remove(mark)
                continue
            words = etree.Element("words")
            words.text = text
            if mark.tag != "string-mute":
                words.set("font-style", "normal")
            kind.replace(mark, words)
        if not len(kind) and len(direction.findall("direction-type")) > 1:
            direction.remove(kind)


def _text_of(mark: etree._Element) -> str:
    if mark.tag == "scordatura":
        return ", ".join(_tuning(accord) for accord in mark.findall("accord"))
    if mark.tag == "metronome" and mark.get("print-object") != "no":
        return _relation(mark)
    if mark.tag not in _DIRECTIONS or mark.get("print-object") == "no":
        return ""
    if mark.tag == "string-mute":
        return _MUTE.get(mark.get("type", ""), "")
    text = "" if mark.tag == "symbol" else (mark.text or "").strip()
    return _sign(mark) or text or _DIRECTIONS[str(mark.tag)]


def _relation(metronome: etree._Element) -> str:
    """Notes that equal others, as for swing: "♪♪ = ♩♪ (3)", the figure of a tuplet behind it; they would be lost."""
    said: list[str] = []
    for child in metronome:
        if child.tag == "metronome-note":
            dots = len(child.findall("metronome-dot"))
            note = sign_named(_METRONOME_NOTES.get((child.findtext("metronome-type") or "").strip(), ""))
            said.append(note + dots * sign_named("metAugmentationDot"))
            tuplet = child.find("metronome-tuplet[@type='stop']")
            if tuplet is not None:
                said.append(f"\u00a0({(tuplet.findtext('actual-notes') or '').strip()})")
        elif child.tag == "metronome-relation":
            said.append("\u00a0=\u00a0")
    return "".join(said)


_METRONOME_NOTES = {
    "whole": "metNoteWhole",
    "half": "metNoteHalfUp",
    "quarter": "metNoteQuarterUp",
    "eighth": "metNote8thUp",
    "16th": "metNote16thUp",
    "32nd": "metNote32ndUp",
}
"""SMuFL names of the notes of metronome marks."""


def _tuning(accord: etree._Element) -> str:
    """One string of a scordatura: "IV = F♯"."""
    number = accord.get("string", "")
    string = _ROMAN[int(number)] if number.isdecimal() and 0 < int(number) < len(_ROMAN) else number
    alter = _ALTERS.get((accord.findtext("tuning-alter") or "").strip(), "")
    return f"{string} = {(accord.findtext('tuning-step') or '').strip()}{alter}"


def _split_brackets(direction: etree._Element) -> None:
    """Give each bracket line that shares its direction with words a direction of its own, to keep its hook."""
    types = direction.findall("direction-type")
    brackets = [kind for kind in types if kind.find("bracket") is not None]
    if not brackets or len(brackets) == len(types):
        return
    for kind in brackets:
        copy = deepcopy(direction)
        for other in copy.findall("direction-type"):
            copy.remove(other)
        copy.insert(0, deepcopy(kind))
        for sound in copy.findall("sound"):
            copy.remove(sound)
        direction.remove(kind)
        direction.addnext(copy)


def _space_before_metronome(direction: etree._Element) -> None:
    marks = [mark for kind in direction.findall("direction-type") for mark in kind]
    for mark, after in zip(marks, marks[1:], strict=False):
        if mark.tag == "words" and after.tag == "metronome" and mark.text:
            mark.text = mark.text.rstrip() + ("" if after.get("parentheses") == "yes" else "\u00a0")


def _bracket_metronome(direction: etree._Element) -> None:
    """Let a metronome mark have the brackets that stand around it as words: the engraver sets these before it."""
    marks = [mark for kind in direction.findall("direction-type") for mark in kind]
    for before, mark, after in zip(marks, marks[1:], marks[2:], strict=False):
        opens, closes = (before.text or "").rstrip(), (after.text or "").lstrip()
        if mark.tag == "metronome" and before.tag == after.tag == "words" and opens[-1:] + closes[:1] == "()":
            mark.set("parentheses", "yes")
            before.text, after.text = opens[:-1].rstrip(), closes[1:]
            for words in (before, after):
                if not words.text:
                    _drop_kind(words)


def _drop_kind(mark: etree._Element) -> None:
    """Take a mark out of its direction, with the `<direction-type>` that it stands in by itself."""
    kind = mark.getparent()
    drop(kind if kind is not None and len(kind) == 1 else mark)


def _join_dynamic(direction: etree._Element) -> None:
    """Put a dynamic and the words that stand before it at the same place into one direction: "più f", not "f più"."""
    before = direction.getprevious()
    if before is None or before.tag != "direction" or not _alike(before, direction):
        return
    words, dynamics = (
        [mark for kind in one.findall("direction-type") for mark in kind] for one in (before, direction)
    )
    if {mark.tag for mark in words} == {"words"} and dynamics[0].tag == "dynamics":
        if all((mark.text or "")[:1].islower() and mark.get("font-weight") != "bold" for mark in words):
            last = before.findall("direction-type")[-1]
            for kind in reversed(direction.findall("direction-type")):
                last.addnext(kind)
            drop(direction)


def _alike(one: etree._Element, other: etree._Element) -> bool:
    """Whether two directions say the same of where they stand."""
    return one.get("placement") == other.get("placement") and all(
        one.findtext(name) == other.findtext(name) for name in ("staff", "offset")
    )


def draw_harmonics(root: etree._Element) -> None:
    """Give touched notes a hollow diamond head, and other harmonics one circle a chord; changes the tree."""
    if next(root.iter("harmonic"), None) is None:
        return
    for chord in [
        chord_of(note) for note in root.iterfind("part/measure/note") if note.find("chord") is None
    ]:
        marks = [(note, mark) for note in chord for mark in note.iterfind("notations/technical/harmonic")]
        touched = [(note, mark) for note, mark in marks if mark.find("touching-pitch") is not None]
        for note, mark in touched:
            _diamond(note)
            drop(mark)
        # With a diamond no circle is needed; without one the chord has the circle once.
        for _, mark in [pair for pair in marks if pair not in touched][0 if touched else 1 :]:
            drop(mark)


def _diamond(note: etree._Element) -> None:
    """Set the head of a note, unless the source gives it one."""
    if note.find("notehead") is not None:
        return
    head = etree.Element("notehead", filled="no")
    head.text = "diamond"
    before = [child for child in note if child.tag in _BEFORE_HEAD]
    before[-1].addnext(head)


_BEFORE_HEAD = frozenset({
    "grace", "chord", "pitch", "duration", "tie", "voice", "type", "dot", "accidental", "time-modification", "stem",
})  # fmt: skip


def mark_tuplets(root: etree._Element) -> None:
    """Put a tuplet that prints nothing over each group that has none; changes the tree."""
    if next(root.iter("time-modification"), None) is None:
        return
    for part in root.iterfind("part"):
        for group in unmarked_groups(list(tuplet_notes(part.findall("measure")))):
            _put(group[0].element, {"type": "start", "bracket": "no", "show-number": "none"})
            _put(group[-1].element, {"type": "stop"})


def _put(note: etree._Element, attributes: dict[str, str]) -> None:
    etree.SubElement(child_of_note(note, "notations"), "tuplet", attributes)
