"""The copy that verovio gets: timed, mended, marked, and cut to an excerpt."""

from __future__ import annotations

import pytest
from lxml import etree

from analysis.reading.sources import source_of
from app.engraving.copies import Copy, copy_for
from app.engraving.excerpts import kept_parts_of
from app.engraving.layouts import Layout
from app.engraving.reserved_widths import stand_in, width
from tests.analysis.snippets import attributes, document, harmony, note
from tests.app.reviews import SAMPLES, read_sample


def copied(*parts: list[str], layout: Layout | None = None, head: str = "") -> Copy:
    source = source_of(document(*parts, head=head), "snippet.musicxml")
    return copy_for(source.musicxml, layout or Layout())


def tree(copy: Copy) -> etree._Element:
    return etree.fromstring(copy.musicxml.encode())


def beamed(name: str, beam: str) -> str:
    return note(name, 2, f'<type>eighth</type><beam number="1">{beam}</beam>')


def beams(copy: Copy) -> list[str | None]:
    return [beam.text for beam in tree(copy).iter("beam")]


def test_times_follow_voices_chords_and_grace_notes() -> None:
    first = (
        attributes()
        + note("C5", 4)
        + note("E5", 4, chord=True)
        + note("D5", None, first="<grace/>")
        + note("F5", 12)
        + "<backup><duration>16</duration></backup>"
        + note("C4", 6)
        + "<forward><duration>6</duration></forward>"
        + note("G4", 4)
    )
    copy = copied([first])
    names = {name.removeprefix("p1m1"): offset for name, offset in copy.offsets.items()}
    assert names == {"n1": 0, "n2": 0, "n4": 1, "n5": 0, "n6": 3}
    assert copy.lengths == {0: 4}


def test_divisions_may_differ_between_parts_and_change() -> None:
    upper = [attributes(divisions=2) + note("C5", 2) + note("D5", 6), note("E5", 8)]
    lower = [attributes(divisions=3) + note("C3", 3) + note("D3", 9)]
    lower += ["<attributes><divisions>1</divisions></attributes>" + note("E3", 1) + note("F3", 3)]
    copy = copied(upper, lower)
    assert [copy.offsets[f"p{part}m1n2"] for part in (1, 2)] == [1, 1]
    assert copy.offsets["p2m2n2"] == 1
    assert copy.lengths == {0: 4, 1: 4}


def test_a_beam_that_never_ends_is_ended() -> None:
    measure = beamed("C5", "begin") + beamed("D5", "continue") + beamed("E5", "continue")
    assert beams(copied([attributes() + measure])) == ["begin", "continue", "end"]


def test_a_beam_that_begins_twice_becomes_two() -> None:
    measure = "".join(beamed("C5", text) for text in ("begin", "continue", "begin", "continue"))
    assert beams(copied([attributes() + measure])) == ["begin", "end", "begin", "end"]


def test_a_beam_across_a_barline_becomes_two_and_a_single_one_none() -> None:
    first = attributes() + note("C5", 12) + beamed("D5", "begin") + beamed("E5", "continue")
    assert beams(copied([first, beamed("F5", "continue") + beamed("G5", "end")])) == [
        "begin",
        "end",
        "begin",
        "end",
    ]
    assert beams(copied([first, beamed("F5", "end")])) == ["begin", "end"]


def test_a_beam_over_a_rest_stays() -> None:
    measure = beamed("C5", "begin") + note("rest", 2) + beamed("E5", "end")
    assert beams(copied([attributes() + measure])) == ["begin", "end"]


def test_rests_of_several_measures_are_shown_one_by_one() -> None:
    style = "<measure-style><multiple-rest>2</multiple-rest></measure-style>"
    copy = copied([attributes(style) + note("rest", 16), note("rest", 16), note("C5", 16)])
    assert tree(copy).find(".//multiple-rest") is None


def test_chord_symbols_are_marked_and_replaced_by_stand_ins() -> None:
    copy = copied([attributes() + harmony("Bb", "minor-seventh", text="-7") + note("C5", 16)])
    (element,) = tree(copy).iter("harmony")
    assert copy.sources.harmonies == {element.get("type"): "p1m1h1"}
    assert copy.sources.symbols == {"p1m1h1": "B♭m7"}
    assert element.find("root") is None
    assert element.find("kind").get("text").strip("0j") == ""  # type: ignore[union-attr]


def test_a_symbol_that_is_not_printed_prints_nothing_and_keeps_its_name() -> None:
    hidden = harmony("C").replace("<harmony>", '<harmony print-object="no">')
    copy = copied([attributes() + hidden + note("C5", 16)])
    assert copy.sources.symbols == {"p1m1h1": ""}


def test_stand_ins_are_as_wide_as_asked_and_hardly_wider() -> None:
    for ems in (0.1, 0.5, 1.0, 1.7, 3.14, 12.0):
        assert ems <= width(stand_in(ems)) < ems + 0.56


def test_lyrics_and_chord_symbols_can_be_left_out() -> None:
    lyric = "<lyric><text>la</text></lyric>"
    measure = attributes() + harmony("C") + note("C5", 16, lyric)
    copy = copied([measure], layout=Layout(lyrics=False, chord_symbols=False))
    assert tree(copy).find(".//lyric") is None
    assert tree(copy).find(".//harmony") is None
    assert copy.sources.harmonies == {}


def test_chosen_parts_stay_in_score_order_with_their_list() -> None:
    parts = [[attributes() + note("C5", 16)] for _ in range(3)]
    copy = copied(*parts, layout=Layout(parts=("P3", "P2")))
    root = tree(copy)
    assert [part.get("id") for part in root.iter("part")] == ["P2", "P3"]
    assert [entry.get("id") for entry in root.iter("score-part")] == ["P2", "P3"]
    # Measures of the part that is not shown are still known.
    assert copy.measures["p1m1"] == 0
    assert copy.staff_measures == (("p2m1",), ("p3m1",))


def test_an_excerpt_begins_with_what_holds_there() -> None:
    clef = "<clef><sign>F</sign><line>4</line></clef>"
    transpose = "<transpose><diatonic>-1</diatonic><chromatic>-2</chromatic></transpose>"
    copy = copied(
        [
            attributes(clef + transpose, divisions=4, fifths=2, time="3/4") + note("C3", 12),
            "<attributes><key><fifths>-3</fifths></key></attributes>" + note("C3", 12),
            note("D3", 12) + "<attributes><clef><sign>G</sign><line>2</line></clef></attributes>",
            note("E3", 12),
            note("F3", 12),
        ],
        layout=Layout(first=3, last=3),
    )
    (measure,) = tree(copy).iter("measure")
    assert measure.get("id") == "p1m4"
    whole = measure[0]
    assert [child.tag for child in whole] == ["divisions", "key", "time", "clef", "transpose"]
    assert whole.findtext("key/fifths") == "-3"
    assert whole.findtext("time/beats") == "3"
    assert whole.findtext("clef/sign") == "G"
    assert whole.findtext("transpose/chromatic") == "-2"
    assert copy.lengths == {3: 3}


def test_changes_at_the_first_measure_count_and_are_not_said_twice() -> None:
    change = "<attributes><time><beats>2</beats><beat-type>4</beat-type></time></attributes>"
    copy = copied([attributes() + note("C5", 16), change + note("C5", 8)], layout=Layout(first=1))
    assert [beats.text for beats in tree(copy).iter("beats")] == ["2"]


def test_lines_that_cross_the_ends_are_taken_out_and_whole_ones_kept() -> None:
    def slur(kind: str, number: int = 1) -> str:
        return f'<notations><slur type="{kind}" number="{number}"/></notations>'

    def wedge(kind: str) -> str:
        return f'<direction><direction-type><wedge type="{kind}"/></direction-type></direction>'

    measures = [
        attributes() + wedge("crescendo") + note("C5", 16, slur("start")),
        wedge("stop") + note("C5", 8, slur("stop")) + note("D5", 8, slur("start", 2)),
        note("C5", 8, slur("stop", 2)) + note("D5", 8, slur("start", 3)),
        note("C5", 16, slur("stop", 3)),
    ]
    root = tree(copied(measures, layout=Layout(first=1, last=2)))
    assert [(node.get("type"), node.get("number")) for node in root.iter("slur")] == [
        ("start", "2"),
        ("stop", "2"),
    ]
    assert root.find(".//wedge") is None
    assert root.find(".//direction") is None


def test_ties_that_cross_the_ends_are_named() -> None:
    start, stop = '<tie type="start"/>', '<tie type="stop"/>'
    measures = [
        attributes() + note("C5", 16, start),
        note("C5", 8, stop + start) + note("C5", 8, stop),
        note("D5", 16, start),
        note("D5", 16, stop),
    ]
    assert copied(measures).cut_ties == ()
    assert copied(measures, layout=Layout(first=1, last=2)).cut_ties == (
        ("p1m2n1", "before"),
        ("p1m3n1", "after"),
    )


@pytest.mark.parametrize(
    "layout",
    [Layout(parts=("P9",)), Layout(first=2), Layout(last=7), Layout(first=1, last=0)],
)
def test_what_the_score_has_not_is_refused(layout: Layout) -> None:
    with pytest.raises(ValueError, match="it has no"):
        copied([attributes() + note("C5", 16), note("C5", 16)], layout=layout)


@pytest.mark.parametrize("time", ["/4", "4/", "4/0", "4/-4", "x/4", "0/4", "4/3"])
def test_meters_that_cannot_be_divided_by_are_taken_out(time: str) -> None:
    assert tree(copied([attributes(time=time) + note("C5", 16)])).find(".//time") is None


@pytest.mark.parametrize("time", ["4/4", "12/8", "3+2/8", "7/16"])
def test_sound_meters_stay(time: str) -> None:
    assert tree(copied([attributes(time=time) + note("C5", 16)])).find(".//time") is not None


def test_a_part_that_is_longer_than_the_first_names_its_own_measures() -> None:
    copy = copied([attributes() + note("C5", 16)], [attributes() + note("C4", 16), note("D4", 16)])
    assert copy.firsts == ("p1m1", "p2m2")


def test_a_grace_note_without_a_value_gets_one() -> None:
    grace = note("D5", None, "<voice>1</voice>", first="<grace/>")
    root = tree(copied([attributes() + grace + note("C5", 16)]))
    assert [value.text for value in root.iter("type")] == ["eighth"]
    assert [child.tag for child in root.find(".//grace/..")] == ["grace", "pitch", "voice", "type"]  # type: ignore[union-attr]


@pytest.mark.parametrize("staves", ["100000", "0", "-1", "x", ""])
def test_an_impossible_count_of_staves_is_left_out(staves: str) -> None:
    copy = copied([attributes(f"<staves>{staves}</staves>") + note("C5", 16)])
    assert tree(copy).find(".//staves") is None
    copy = copied([attributes("<staves>3</staves>") + note("C5", 16)])
    assert tree(copy).findtext(".//staves") == "3"


def test_what_stands_on_a_staff_too_many_comes_to_the_last() -> None:
    notes = [note("C5", 4, f"<staff>{staff}</staff>") for staff in ("1", "2", "9", "x")]
    copy = copied([attributes("<staves>2</staves>") + "".join(notes)])
    assert [staff.text for staff in tree(copy).iter("staff")] == ["1", "2", "2", "2"]


def test_brackets_of_parts_without_both_ends_are_left_out() -> None:
    copy = copied([attributes() + note("C5", 16)])
    groups = '<part-group/><part-group type="start"/><part-group type="start" number="2"/>'
    groups += '<part-group type="stop" number="3"/><part-group type="stop" number="2"/>'
    text = copy.musicxml.replace("<part-list>", f"<part-list>{groups}")
    root = etree.fromstring(copy_for(text.encode(), Layout()).musicxml.encode())
    left = [(one.get("type"), one.get("number")) for one in root.iter("part-group")]
    assert left == [("start", "2"), ("stop", "2")]


@pytest.mark.parametrize(("times", "kept"), [("3", "3"), ("1000000000", None), ("-2", None)])
def test_a_repeat_without_end_is_one_repeat(times: str, kept: str | None) -> None:
    barline = f'<barline location="right"><repeat direction="backward" times="{times}"/></barline>'
    copy = copied([attributes() + note("C5", 16) + barline])
    assert [one.get("times") for one in tree(copy).iter("repeat")] == [kept]


def test_notes_that_no_beam_can_join_have_none() -> None:
    long = note("C5", 8, '<type>maxima</type><beam number="1">end</beam>')
    copy = copied([attributes() + beamed("C5", "begin") + beamed("D5", "continue") + long])
    assert beams(copy) == ["begin", "end"]


def test_no_more_dots_than_a_note_can_have() -> None:
    copy = copied([attributes() + note("C5", 16, "<type>whole</type>" + "<dot/>" * 30)])
    assert len(list(tree(copy).iter("dot"))) == 4


@pytest.mark.parametrize("numbers", ["", "<beats>7</beats>", "<beat-type>4</beat-type>"])
def test_a_time_without_measure_has_no_numbers(numbers: str) -> None:
    time = f"<time>{numbers}<senza-misura/></time>"
    copy = copied([f"<attributes><divisions>4</divisions>{time}</attributes>" + note("C5", 16)])
    assert (tree(copy).find(".//senza-misura") is None) == bool(numbers)


def test_the_longest_note_is_drawn_as_the_next() -> None:
    copy = copied([attributes() + note("C5", 16, "<type>maxima</type>")])
    assert tree(copy).findtext(".//type") == "long"


def test_excerpts_of_one_document_do_not_change_each_other() -> None:
    source, _ = read_sample(SAMPLES[0])
    layouts = [Layout(first=first, last=first + 3) for first in (0, 5, 3, 5, 0)]
    copies = [copy_for(source.musicxml, layout) for layout in layouts]
    alone = []
    for layout in layouts:
        kept_parts_of.cache_clear()
        alone.append(copy_for(source.musicxml, layout))
    assert copies == alone
    assert copies[1] == copies[3] != copies[2]


def test_many_excerpts_of_one_document_parse_it_once_for_each_choice_of_parts() -> None:
    source, _ = read_sample(SAMPLES[0])
    kept_parts_of.cache_clear()
    for first in range(8):
        copy_for(source.musicxml, Layout(first=first, last=first + 1))
    assert kept_parts_of.cache_info().misses == 1


def test_divisions_that_verovio_takes_for_nothing_are_left_out() -> None:
    said = [
        f"<attributes><divisions>{text}</divisions></attributes>" + note("C5", 16)
        for text in ("nan", "-4", "0", "4000000000", "480.0")
    ]
    copy = copied([attributes() + note("C5", 16), *said])
    assert [node.text for node in tree(copy).iter("divisions")] == ["4", "480.0"]


def test_a_clef_of_a_staff_that_there_is_not_is_left_out() -> None:
    clefs = "".join(
        f'<clef number="{number}"><sign>G</sign><line>2</line></clef>' for number in (1, 2)
    )
    copy = copied([attributes() + f"<attributes>{clefs}</attributes>" + note("C5", 16)])
    assert "2" not in [clef.get("number") for clef in tree(copy).iter("clef")]
    assert len(list(tree(copy).iter("clef"))) > 0


def test_a_rest_in_a_chord_is_left_out() -> None:
    rest = "<note><chord/><rest/><duration>4</duration></note>"
    copy = copied([attributes() + note("C5", 4) + rest + note("D5", 12)])
    assert not list(tree(copy).iter("rest"))
    assert copy.offsets["p1m1n3"] == 1


def test_a_chord_symbol_set_otherwise_is_printed_so() -> None:
    measure = attributes() + harmony("Bb", "dominant") + note("C5", 16)
    ((symbol, text),) = copied([measure]).sources.symbols.items()
    assert text == "B♭7"
    other = copied([measure], layout=Layout(symbols=((symbol, "D♭7"),)))
    assert other.sources.symbols == {symbol: "D♭7"}


def _sung(name: str, syllabic: str, text: str) -> str:
    lyric = f"<lyric><syllabic>{syllabic}</syllabic><text>{text}</text></lyric>"
    return note(name, 16, lyric)


def test_words_that_an_excerpt_cuts_get_hyphens() -> None:
    part = [
        attributes() + _sung("C5", "begin", "win"),
        _sung("D5", "end", "dow"),
        _sung("E5", "single", "sill"),
    ]
    for first, last, words in ((0, 0, ["win-"]), (1, 2, ["-dow", "sill"]), (0, 2, None)):
        copy = copied(part, layout=Layout(first=first, last=last))
        found = [node.text for node in tree(copy).iter("text")]
        assert found == (words or ["win", "dow", "sill"])


def test_boxes_of_sections_begin_at_their_measure() -> None:
    box = "<direction><direction-type><rehearsal>Verse</rehearsal></direction-type></direction>"
    copy = copied([attributes() + box + note("C5", 16)])
    assert [node.get("halign") for node in tree(copy).iter("rehearsal")] == ["left"]
