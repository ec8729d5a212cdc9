"""The signs around the notes: barlines, chord symbols, tempo, rehearsal marks, dynamics, jumps."""

from __future__ import annotations

from lxml import etree

from sample_scores.shorthand import Chord, Part, Piece

KINDS = {
    "": ("major", "", ()),
    "m": ("minor", "m", ()),
    "7": ("dominant", "7", ()),
    "maj7": ("major-seventh", "maj7", ()),
    "m7": ("minor-seventh", "m7", ()),
    "m6": ("minor-sixth", "m6", ()),
    "dim7": ("diminished-seventh", "dim7", ()),
    "sus4": ("suspended-fourth", "sus4", ()),
    "7sus4": ("suspended-fourth", "7sus4", ((7, 0, False),)),
    "7b9": ("dominant", "7", ((9, -1, True),)),
}
"""Kind, its text, and added degrees (value, alter, shown beside the text) of a chord symbol."""

BARLINES = {
    "start repeat": ("left", "heavy-light", ("forward",)),
    "end repeat": ("right", "light-heavy", ("backward",)),
    "double": ("right", "light-light", ()),
    "final": ("right", "light-heavy", ()),
}


def add(
    parent: etree._Element, name: str, text: object = None, /, **attributes: str
) -> etree._Element:
    """A new child element, underscores in attribute names standing for hyphens."""
    child = etree.SubElement(parent, name, {k.replace("_", "-"): v for k, v in attributes.items()})
    if text is not None:
        child.text = str(text)
    return child


def write_barlines(measure: etree._Element, lines: tuple[str, ...], side: str) -> None:
    """The barline of one side of a measure, with its endings and repeats, where it is not plain."""
    styles = [BARLINES[line] for line in lines if line in BARLINES and BARLINES[line][0] == side]
    endings = [line.split() for line in lines if line.startswith("ending")]
    if not styles and not endings:
        return
    barline = add(measure, "barline", location=side)
    for _, style, _ in styles:
        add(barline, "bar-style", style)
    for _, which, closing in endings:
        if side == "left":
            add(barline, "ending", f"{which}.", number=which, type="start")
        else:
            add(barline, "ending", number=which, type=closing)
    for _, _, repeats in styles:
        for direction in repeats:
            add(barline, "repeat", direction=direction)


def write_heading(measure: etree._Element, piece: Piece, number: int, first: bool) -> None:
    """The tempo before the first measure, and the rehearsal mark of a section."""
    if first:
        words, speed = piece.tempo
        direction = add(measure, "direction", placement="above")
        add(add(direction, "direction-type"), "words", words, font_weight="bold")
        metronome = add(add(direction, "direction-type"), "metronome", parentheses="no")
        add(metronome, "beat-unit", "quarter")
        add(metronome, "per-minute", speed)
        sound = add(direction, "sound", tempo=str(speed))
        if piece.swing:
            swing = add(sound, "swing")
            add(swing, "first", 2)
            add(swing, "second", 1)
            add(swing, "swing-type", "eighth")
    if number in piece.sections:
        direction = add(measure, "direction", placement="above")
        add(add(direction, "direction-type"), "rehearsal", piece.sections[number])


def write_jump(measure: etree._Element, words: str, **sound: str) -> None:
    """Words at the end of a measure that send the player elsewhere or end the piece."""
    direction = add(measure, "direction", placement="above")
    add(add(direction, "direction-type"), "words", words, font_style="italic")
    add(direction, "sound", **sound)


def _write_name(harmony: etree._Element, role: str, name: str) -> None:
    named = add(harmony, role)
    add(named, f"{role}-step", name[0])
    if name[1:]:
        add(named, f"{role}-alter", {"#": 1, "b": -1}[name[1:]])


def write_harmony(measure: etree._Element, chord: Chord, offset: int) -> None:
    """A chord symbol ``offset`` divisions after the note that follows it."""
    harmony = add(measure, "harmony", placement="above", print_frame="no")
    kind, text, degrees = KINDS[chord.kind]
    _write_name(harmony, "root", chord.root)
    add(harmony, "kind", kind, **({"text": text} if text else {}))
    if chord.bass:
        _write_name(harmony, "bass", chord.bass)
    for value, alter, shown in degrees:
        degree = add(harmony, "degree", **({} if shown else {"print-object": "no"}))
        add(degree, "degree-value", value)
        add(degree, "degree-alter", alter)
        add(degree, "degree-type", "add")
    if offset:
        add(harmony, "offset", offset)


def write_direction(measure: etree._Element, part: Part, words: str, staff: int) -> None:
    """A dynamic, an end of a wedge, or words, at the place reached in the measure."""
    # Dynamics of a sung part stand above it, out of the way of the words.
    side = "above" if part.lyrics or words.startswith('"') else "below"
    direction = add(measure, "direction", placement=side)
    kind = add(direction, "direction-type")
    wedges = {"<": "crescendo", ">": "diminuendo", ".": "stop"}
    if words in wedges:
        add(kind, "wedge", type=wedges[words], number="1")
    elif words.startswith('"'):
        text = words.strip('"').replace("_", " ")
        add(kind, "words", text, font_style="italic")
    else:
        add(add(kind, "dynamics"), words)
    if len(part.clefs) > 1:
        add(direction, "staff", staff)
