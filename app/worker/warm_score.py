"""A tiny score that makes readers and engravers load what they need before it is waited for."""

from typing import Final

_LETTERS: Final = "The quick brown fox jumps over the lazy dog, m. 1–2"

#: One measure with a title, words, chord symbols and a rehearsal mark: all that loads fonts.
WARM_SCORE: Final = f"""<score-partwise version="4.0">
<work><work-title>{_LETTERS}</work-title></work>
<part-list><score-part id="P1"><part-name>Voice</part-name></score-part></part-list>
<part id="P1"><measure number="1"><attributes><divisions>1</divisions><key><fifths>-2</fifths></key>
<time><beats>4</beats><beat-type>4</beat-type></time></attributes>
<direction><direction-type><rehearsal>Verse 1</rehearsal></direction-type></direction>
<direction><direction-type><words>{_LETTERS}</words></direction-type></direction>
<harmony><root><root-step>B</root-step><root-alter>-1</root-alter></root>
<kind>dominant-ninth</kind></harmony>
<note><pitch><step>C</step><octave>5</octave></pitch><duration>4</duration><type>whole</type>
<lyric><text>{_LETTERS}</text></lyric></note></measure></part></score-partwise>""".encode()
