"""Any input: opened, or refused with one sentence that says what to do."""

from __future__ import annotations

import io
import os
import pickle
import re
import zipfile
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

import analysis.reading.sources
from analysis.errors import ReadingError
from analysis.reading.documents import element_ids, parse_document
from analysis.reading.scores import read_score
from analysis.reading.sources import Source, read_source, source_of
from tests.analysis.snippets import DOCTYPE, attributes, document, harmony, note
from tests.strategies import damaged

PLAIN = document([attributes() + harmony("C") + note("C4", 8) + note("D4", 8), note("E4", 16)])
CONTAINER = (
    '<container><rootfiles><rootfile full-path="{}"'
    ' media-type="application/vnd.recordare.musicxml+xml"/></rootfiles></container>'
)


def packed(files: dict[str, bytes | str]) -> bytes:
    buffer = io.BytesIO()
    with zipfile.ZipFile(buffer, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, content in files.items():
            archive.writestr(name, content)
    return buffer.getvalue()


def mxl(data: bytes = PLAIN) -> bytes:
    return packed({"META-INF/container.xml": CONTAINER.format("score.xml"), "score.xml": data})


def refused(data: bytes) -> str:
    """The sentence with which the bytes are refused: one, about a file, ended by a full stop."""
    with pytest.raises(ReadingError) as raised:
        source_of(data, "song.x")
    sentence = str(raised.value)
    assert sentence.startswith("“song.x” ")
    assert sentence.endswith(".")
    assert "\n" not in sentence
    assert len(sentence) < 200
    return sentence


# --- what opens ------------------------------------------------------------------------------


def test_a_source_holds_the_original_and_a_copy_with_names() -> None:
    source = source_of(PLAIN, "song.musicxml")
    assert source.original == PLAIN
    assert source.path is None
    assert b'id="p1m1n2"' in source.musicxml
    assert b"DOCTYPE" not in source.musicxml
    assert pickle.loads(pickle.dumps(source)) == source
    assert len(repr(source)) < 200


def test_the_digest_is_that_of_the_music_and_not_of_its_package() -> None:
    assert source_of(PLAIN, "a").digest == source_of(mxl(), "b").digest
    assert source_of(PLAIN, "a").digest != source_of(PLAIN + b"\n", "a").digest


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "utf-16-le", "utf-16-be"])
def test_encodings_by_their_first_bytes(encoding: str) -> None:
    text = PLAIN.decode().replace('encoding="UTF-8"', f'encoding="{encoding[:6].upper()}"')
    text = text.replace("UTF-8-", "UTF-8").replace("Part 1", "Stimme für Überfahrt")
    text = text.replace('encoding="UTF-16-"', 'encoding="UTF-16"')
    score = read_score(source_of(text.encode(encoding), "a"))
    assert score.parts[0].name == "Stimme für Überfahrt"


@pytest.mark.parametrize(
    ("declared", "real"),
    [("ISO-8859-1", "latin-1"), ("UTF-8", "latin-1"), ("UTF-16", "utf-8"), ("martian", "utf-8")],
)
def test_encodings_declared_rightly_and_wrongly(declared: str, real: str) -> None:
    text = PLAIN.decode().replace("UTF-8", declared).replace("Part 1", "für")
    assert read_score(source_of(text.encode(real), "a")).parts[0].name == "für"


@pytest.mark.parametrize("before", [b"\n", b"  \r\n\t"])
def test_white_space_before_the_declaration(before: bytes) -> None:
    assert len(read_score(source_of(before + PLAIN, "a")).parts[0].notes) == 3


@pytest.mark.parametrize(
    "doctype",
    [
        "",
        DOCTYPE,
        DOCTYPE.replace("http://www.musicxml.org/dtds/", "file:///etc/"),
        "<!DOCTYPE score-partwise [ ]>",
        "<!DOCTYPE score-partwise [<!ELEMENT note ANY>]>",
    ],
)
def test_a_document_type_line_is_normal_and_is_never_fetched(doctype: str) -> None:
    assert source_of(PLAIN.replace(DOCTYPE.encode(), doctype.encode()), "a").musicxml


@pytest.mark.parametrize(
    "files",
    [
        {"META-INF/container.xml": CONTAINER.format("score.xml"), "score.xml": PLAIN},
        {
            "META-INF/container.xml": CONTAINER.format("dir\\a.xml"),
            "dir/a.xml": PLAIN,
            "b.xml": b"<x/>",
        },
        {"META-INF/container.xml": CONTAINER.format("not there.xml"), "score.musicxml": PLAIN},
        {"META-INF/container.xml": "<cont", "score.xml": PLAIN, "cover.png": b"x"},
        {"score.XML": PLAIN, "__MACOSX/._score.xml": b"x", "notes.txt": b"x"},
    ],
)
def test_compressed_scores(files: dict[str, bytes | str]) -> None:
    assert source_of(packed(files), "a.mxl").original == PLAIN


def test_the_score_is_chosen_among_the_files_that_a_container_names() -> None:
    two = CONTAINER.format("page.pdf").replace(
        '"application/vnd.recordare.musicxml+xml"/>',
        '"application/pdf"/><rootfile full-path="score.xml"/>',
    )
    data = packed({"META-INF/container.xml": two, "page.pdf": b"%PDF", "score.xml": PLAIN})
    assert source_of(data, "a").original == PLAIN


def test_files_are_read_by_their_content_and_never_written(tmp_path: Path) -> None:
    path = tmp_path / "song.pdf"
    path.write_bytes(mxl())
    before = (path.read_bytes(), path.stat().st_mtime_ns)
    source = read_source(path)
    assert (source.name, source.path, source.original) == ("song.pdf", path, PLAIN)
    assert (path.read_bytes(), path.stat().st_mtime_ns) == before
    assert list(tmp_path.iterdir()) == [path]


# --- what is refused -------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("data", "words"),
    [
        (b"", "is empty"),
        (b" \n\0", "is empty"),
        (b"MThd\0\0\0\x06", "is a MIDI file; export MusicXML"),
        (b"%PDF-1.7", "is a PDF; export MusicXML"),
        (b"\x89PNG\r\n", "is a picture"),
        (b"RIFF....WAVE", "is a sound or video file"),
        (b"X:1\nT:tune\n", "is ABC notation"),
        (b"**kern\n", "is Humdrum notation"),
        (b"dear diary", "is not MusicXML"),
        (b"\xff\xfeh\0i\0", "is not MusicXML"),
        (b"\0\1\2\3", "is not MusicXML"),
        (b"<html><body/></html>", "is XML but not MusicXML (it begins with <html>)"),
        (b'<mei xmlns="http://x"/>', "begins with <mei>"),
        (b"<opus/>", "only lists other scores"),
        (CONTAINER.format("a").encode(), "is the table of contents"),
        (PLAIN[: len(PLAIN) // 2], "breaks off in line 1"),
        (PLAIN[:-1], "breaks off in line 1"),
        (PLAIN.replace(b"</note>", b"", 1), "is damaged in line 1 and no valid XML"),
        (PLAIN.replace(b"<step>C", b"<step>&C"), "is damaged in line 1 and no valid XML"),
        (b"<score-partwise/>", "has no parts"),
        (b"<score-partwise><part id='a'/></score-partwise>", "has no parts"),
        (b"<score-timewise><measure/></score-timewise>", "has no parts"),
        (document([attributes() + note("rest", 16)]), "has no notes and no chord symbols"),
        (document([attributes()]), "has no notes and no chord symbols"),
        (b"<a>" * 5000, "is nested too deeply"),
        (b"<a b='" + b"x" * 11_000_000 + b"'/>", "holds too long a text"),
    ],
)
def test_refusals_say_what_is_wrong(data: bytes, words: str) -> None:
    assert words in refused(data)


def test_entities_are_refused_unread() -> None:
    bomb = "".join(
        f'<!ENTITY l{level} "{f"&l{level - 1};" * 10 if level else "la"}">' for level in range(10)
    )
    for entities in (bomb, '<!ENTITY x SYSTEM "file:///etc/passwd">', '<!ENTITY % p "x">'):
        for encoding in ("utf-8", "utf-16"):
            text = (
                PLAIN.decode()
                .replace(DOCTYPE, f"<!DOCTYPE score-partwise [{entities}]>")
                .replace("UTF-8", encoding.upper())
            )
            assert "entities" in refused(text.replace("Part 1", "&l9;").encode(encoding))


def test_entities_are_found_in_an_encoding_of_their_own() -> None:
    text = PLAIN.decode().replace(DOCTYPE, '<!DOCTYPE score-partwise [<!ENTITY a "b">]>')
    hidden = text.replace("UTF-8", "UTF-32").encode("utf-32")
    assert refused(hidden)


def test_attribute_defaults_are_refused_since_they_multiply() -> None:
    text = PLAIN.decode().replace(
        DOCTYPE, f'<!DOCTYPE score-partwise [<!ATTLIST note x CDATA "{"x" * 1000}">]>'
    )
    assert "entities" in refused(text.encode())


def test_an_entity_that_nobody_declares_stays_unresolved() -> None:
    data = PLAIN.replace(b"Part 1", b"a&nbsp;b")
    assert read_score(source_of(data, "a")).parts[0].name in ("a", "ab", "b")


@pytest.mark.parametrize(
    ("files", "words"),
    [
        ({"a.txt": b"x"}, "is an archive without a MusicXML score"),
        ({"META-INF/container.xml": CONTAINER.format("a")}, "is an archive without"),
        ({"a.xml": PLAIN, "b.xml": PLAIN}, "holds 2 XML files"),
        ({"a.xml": mxl()}, "holds another archive"),
        ({"a.xml": b"MThd"}, "is a MIDI file"),
        ({"a.xml": b""}, "is not MusicXML"),
        ({"a.xml": b" " * 60_000_000}, "unpacks to far more than a score"),
        ({"a.xml": PLAIN[:-5]}, "breaks off"),
    ],
)
def test_archives_that_are_no_scores(files: dict[str, bytes | str], words: str) -> None:
    assert words in refused(packed(files))


def test_paths_inside_an_archive_lead_nowhere(tmp_path: Path) -> None:
    secret = tmp_path / "secret.xml"
    secret.write_bytes(PLAIN)
    for path in (str(secret), "../" * 12 + str(secret)[1:], "file://" + str(secret)):
        data = packed({"META-INF/container.xml": CONTAINER.format(path), "a.txt": b"x"})
        assert "without a MusicXML score" in refused(data)
    escaping = packed({"../../evil.xml": PLAIN})
    assert source_of(escaping, "a").original == PLAIN
    assert sorted(path.name for path in tmp_path.iterdir()) == ["secret.xml"]


def test_damaged_and_locked_archives() -> None:
    whole = mxl()
    assert "damaged or cut-off" in refused(whole[: len(whole) // 2])
    assert "damaged or cut-off" in refused(b"PK\3\4")
    broken = bytearray(whole)
    at = whole.index(b"score.xml") + 40
    broken[at] ^= 0xFF
    assert "damaged" in refused(bytes(broken))
    locked = bytearray(whole)
    for header in re.finditer(rb"PK\x01\x02|PK\x03\x04", whole):
        locked[header.start() + (8 if header[0] == b"PK\x01\x02" else 6)] |= 1
    assert "locked" in refused(bytes(locked))


def test_a_member_without_a_name_is_passed_over() -> None:
    whole = packed({"a": b"x", "score.xml": PLAIN})
    nameless = bytearray(whole)
    entry = whole.index(b"PK\1\2")
    nameless[entry + 28] = 0  # the length of its name, in the list of contents
    nameless[entry + 30] = 1  # what was the name now counts as extra data
    assert source_of(bytes(nameless), "a").original == PLAIN


def test_an_archive_of_very_many_files_is_not_listed() -> None:
    assert "too many files" in refused(b"PK\3\4" + b"PK\1\2" * 6000)


def test_sizes_are_limited(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.setattr(analysis.reading.sources, "LARGEST", 1000)
    assert "larger than" in refused(PLAIN + b" " * 1000)
    assert "larger than" in refused(packed({"a.xml": b"ab" * 1000}))
    path = tmp_path / "large.xml"
    path.write_bytes(PLAIN + b" " * 1000)
    with pytest.raises(ReadingError, match="larger than"):
        read_source(path)


def test_files_that_cannot_be_read(tmp_path: Path) -> None:
    with pytest.raises(ReadingError, match="There is no file “gone"):
        read_source(tmp_path / "gone.xml")
    with pytest.raises(ReadingError, match="is a folder"):
        read_source(tmp_path)
    with pytest.raises(ReadingError, match="could not be read"):
        read_source(tmp_path / ("x" * 4000))
    with pytest.raises(ReadingError, match="could not be read"):
        read_source(tmp_path / "nul\0.xml")
    os.mkfifo(tmp_path / "pipe")
    with pytest.raises(ReadingError, match="not an ordinary file"):
        read_source(tmp_path / "pipe")


@pytest.mark.skipif(os.geteuid() == 0, reason="root may read everything")
def test_files_that_may_not_be_read(tmp_path: Path) -> None:
    path = tmp_path / "locked.xml"
    path.write_bytes(PLAIN)
    path.chmod(0)
    with pytest.raises(ReadingError, match="may not be read"):
        read_source(path)


def test_a_refusal_by_the_system_is_a_named_error(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    def refuse(*_: object) -> None:
        raise PermissionError(13, "no")

    path = tmp_path / "a.xml"
    path.write_bytes(PLAIN)
    monkeypatch.setattr(Path, "open", refuse)
    with pytest.raises(ReadingError, match="” may not be read"):
        read_source(path)


# --- properties ------------------------------------------------------------------------------


def opened(data: bytes) -> Source | None:
    """The source if it opens all the way, with every id in its place; None if it is refused."""
    try:
        source = source_of(data, "any")
        score = read_score(source)
    except ReadingError:
        return None
    ids = [note.id for part in score.parts for note in part.notes]
    ids += [symbol.id for symbol in score.chord_symbols]
    ids += [id for measure in score.measures for id in measure.ids]
    ids += [mark.id for mark in score.rehearsal_marks]
    assert len(set(ids)) == len(ids)
    stamped = re.findall(
        rb'<(?:note|harmony|measure|direction)\b[^>]*? id="([^"]*)"', source.musicxml
    )
    assert set(ids) <= {id.decode() for id in stamped}
    assert set(ids) <= set(element_ids(parse_document(source.original)))
    return source


@given(st.binary(max_size=300))
def test_any_bytes_open_or_are_refused(data: bytes) -> None:
    opened(data)


RICH = document(
    [
        attributes("<transpose><chromatic>-2</chromatic></transpose>")
        + harmony("Bb", "dominant", "<offset>2</offset>")
        + note("C4", 8, '<tie type="start"/><voice>1</voice><type>half</type>')
        + note("E4", 8, chord=True)
        + note("G4", None, first="<grace/>")
        + note("C4", 8, "<lyric><text>la</text></lyric>", attributes='id="own"'),
        '<barline location="left"><repeat direction="forward"/></barline>'
        + note("unpitched", 8)
        + "<backup><duration>8</duration></backup><forward><duration>4</duration></forward>"
        + note("rest", 4)
        + '<barline location="right"><repeat direction="backward"/></barline>',
    ],
    [attributes(time="3/4") + "<sound tempo='90'/>" + note("D3", 12), note("E3", 12)],
)


@given(damaged(RICH))
def test_a_damaged_score_opens_or_is_refused(data: bytes) -> None:
    opened(data)


@given(damaged(mxl(RICH)))
def test_a_damaged_archive_opens_or_is_refused(data: bytes) -> None:
    opened(data)


def test_the_whole_score_opens() -> None:
    assert opened(RICH) is not None
    assert opened(mxl(RICH)) is not None
