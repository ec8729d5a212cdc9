"""Names of elements, timewise scores, parts out of step with their list."""

from __future__ import annotations

import re

import pytest
from lxml import etree

from analysis.errors import ReadingError
from analysis.reading import documents
from analysis.reading.documents import element_ids, parse_document, scratch_copy
from analysis.reading.scores import read_score
from analysis.reading.sources import source_of
from tests.analysis.snippets import attributes, document, harmony, note

NCNAME = re.compile(r"[A-Za-z_][\w.\-]*")
WHOLE = note("C4", 16)
MARK = "<direction><direction-type><rehearsal>A</rehearsal></direction-type></direction>"
PLAIN = "<direction><direction-type><words>slow</words></direction-type></direction>"


def names(data: bytes) -> list[str]:
    return list(element_ids(parse_document(data)))


def scratch(data: bytes) -> etree._Element:
    return etree.fromstring(scratch_copy(parse_document(data)))


def timewise(data: bytes) -> bytes:
    """The same document measure by measure."""
    root = etree.fromstring(data)
    parts = root.findall("part")
    for _ in range(len(parts[0])):
        measure = etree.SubElement(root, "measure", dict(parts[0][0].items()))  # type: ignore[arg-type]
        for part in parts:
            held = etree.SubElement(measure, "part", {"id": part.get("id", "")})
            held.extend(list(part[0]))
            part.remove(part[0])
    for part in parts:
        root.remove(part)
    root.tag = "score-timewise"
    return etree.tostring(root)


def test_names_by_place() -> None:
    music = [attributes() + PLAIN + MARK + harmony("C") + WHOLE, note("rest", 8) + note("D4", 8)]
    assert names(document(music, [WHOLE])) == [
        *("p1m1", "p1m1d1", "p1m1h1", "p1m1n1", "p1m2", "p1m2n1", "p1m2n2", "p2m1", "p2m1n1"),
    ]


def test_own_ids_are_kept_where_valid_and_unique() -> None:
    def own(name: str) -> str:
        return note("C4", 4, attributes=f'id="{name}"')

    music = own("a.1") + own("twice") + own("twice") + own("1st") + own("") + own("ümlaut")
    found = names(document([f'@id="m"@{music}']))
    assert found == ["m", "a.1", "p1m1n2", "p1m1n3", "p1m1n4", "p1m1n5", "ümlaut"]


def test_made_names_keep_clear_of_ids_in_use() -> None:
    lyric = '<lyric id="p1m1n1"><text>la</text></lyric>'
    taken = note("C4", 8, lyric) + note("C4", 8, attributes='id="p1m1n1_"')
    assert names(document([taken])) == ["p1m1", "p1m1n1__", "p1m1n1_"]


def test_the_scratch_copy_carries_the_names_of_the_original() -> None:
    data = document(
        [attributes() + MARK + harmony("C") + note("C4", 16, attributes='id="x" color="#FF0000"')],
        [f'@id="x"@{WHOLE}', WHOLE],
    )
    original = element_ids(parse_document(data))
    copy = scratch(data)
    carried = [element.get("id") for element in copy.iter("measure", "note", "harmony")]
    carried += [element.get("id") for element in copy.iter("direction")]
    assert sorted(map(str, carried)) == sorted(original)
    assert [element.tag for element in original.values()][:2] == ["measure", "direction"]
    assert list(element_ids(copy)) == list(original)
    assert not copy.xpath("//@color")


def test_comments_and_instructions_are_left_out_of_the_copy_alone() -> None:
    data = document([attributes() + "<!-- hm --><?editor x?>" + WHOLE])
    assert b"hm" not in scratch_copy(parse_document(data))
    assert b"hm" in source_of(data, "a").original


def test_timewise_and_partwise_are_one_score() -> None:
    music = [attributes() + MARK + harmony("C") + note("C4", 16, attributes='id="own"'), WHOLE]
    partwise = document(music, [attributes(fifths=2) + note("E4", 16), WHOLE])
    turned = timewise(partwise)
    assert parse_document(turned).getroot().tag == "score-timewise"
    assert read_score(source_of(turned, "a")) == read_score(source_of(partwise, "a"))
    assert list(element_ids(parse_document(turned))) == names(partwise)


def test_an_id_of_a_timewise_measure_belongs_to_none_of_its_parts() -> None:
    data = timewise(document([f'@number="1" id="both"@{WHOLE}'], [WHOLE]))
    assert names(data) == ["p1m1", "p1m1n1", "p2m1", "p2m1n1"]
    assert source_of(data, "a").musicxml.count(b"both") == 0


def test_a_timewise_measure_may_leave_a_part_out() -> None:
    music = [attributes() + WHOLE, attributes() + WHOLE]
    root = etree.fromstring(timewise(document(music, music)))
    first = root.findall("measure")[0]
    first.remove(first[1])
    score = read_score(source_of(etree.tostring(root), "a"))
    assert [[float(note.onset) for note in part.notes] for part in score.parts] == [[0, 4], [4]]
    assert score.parts[1].notes[0].id == "p2m2n1"
    assert [measure.ids for measure in score.measures] == [("p1m1", "p2m1"), ("p1m2", "p2m2")]


def part_ids(data: bytes) -> tuple[list[str | None], list[str | None]]:
    copy = scratch(data)
    return (
        [entry.get("id") for entry in copy.iterfind("part-list/score-part")],
        [part.get("id") for part in copy.iterfind("part")],
    )


def test_every_part_is_in_the_part_list() -> None:
    data = document([WHOLE], [WHOLE], [WHOLE])
    assert part_ids(data) == (["P1", "P2", "P3"], ["P1", "P2", "P3"])
    nameless = data.replace(b'<part id="P2"', b"<part")
    assert part_ids(nameless) == (["P1", "P2", "P3"], ["P1", "P2", "P3"])
    twice = data.replace(b'<part id="P3"', b'<part id="P1"')
    assert part_ids(twice) == (["P1", "P2", "P3"], ["P1", "P2", "P3"])
    unknown = data.replace(b'<score-part id="P2"', b'<score-part id="P1"')
    assert part_ids(unknown) == (["P1", "P1", "P3", "P2"], ["P1", "P2", "P3"])
    none = re.sub(rb"<part-list>.*</part-list>", b"", data).replace(b'id="P2"', b'id="2 nd"')
    assert part_ids(none) == (["P1", "part-2", "P3"], ["P1", "part-2", "P3"])
    assert [part.id for part in read_score(source_of(none, "a")).parts] == ["P1", "part-2", "P3"]


def test_more_tags_than_a_score_has_are_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(documents, "_MOST_TAGS", 10)
    with pytest.raises(ReadingError, match="a file is too large to open"):
        parse_document(document([WHOLE]), "a file")


def test_all_names_are_valid() -> None:
    music = [attributes() + MARK + harmony("C") + WHOLE] * 3
    assert all(NCNAME.fullmatch(name) for name in names(document(music, music)))
