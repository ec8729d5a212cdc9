"""Wednesday Table: a pop song in G major whose last chorus stands in A."""

from sample_scores.shorthand import Key, Part, Piece, Planted

VOICE = """
rq | R | R | R | rh. !mp D4e D4e |
G4e G4e A4e G4e B4e. A4s G4e E4e | G4e A4e B4e G4e D4q re D4e |
G4e G4e A4e G4e B4e. D5s B4e A4e | G4e A4e B4e A4e G4q re G4e |
B4e A4e G4e A4e B4e. A4s D5e B4e | C5e B4e G4e A4e G4q re A4e |
A4e B4e C5e. A4s C5e B4e A4e G4e | G4e G4e A4e G4e A4q. re |
!mf G4q A4q B4q re A4e | C5q D5q C5q B4e B4e | C5q. B4e A4q G4e A4e | !< B4q A4q F#4q( A4q) !. |
!f C5q B4e G4e~ G4q G4e A4e | D5q B4e B4e~ B4e G4e A4e B4e |
C5q B4e A4e~ A4q G4q | A4q G4e F#4e~ F#4h | A4q B4e D5e~ D5h |
!mf G4e G4e A4e G4e B4e. A4s G4e E4e | G4e A4e B4e G4e D4q re D4e |
G4e G4e A4e G4e B4e. D5s B4e A4e | G4e A4e B4e A4e G4q rq |
!f C5q B4e G4e~ G4q G4e A4e | D5q B4e B4e~ B4e G4e A4e B4e |
C5q B4e A4e~ A4q G4q | A4q G4e F#4e~ F#4q re !p F#4e |
E4e E4e G4e G4e B4e A4e G4e E4e | E4e E4e G4e E4e G4q re E4e |
F#4e F#4e A4e F#4e B4e B4e D5e B4e | !< G#4e G#4e B4e C#5e B4h !. |
!f D5q C#5e A4e~ A4q A4e B4e | E5q C#5e C#5e~ C#5e A4e B4e C#5e |
D5q C#5e B4e~ B4q A4q | B4q A4e G#4e~ G#4h |
D5q C#5e A4e~ A4q A4e B4e | E5q C#5e C#5e~ C#5e A4e B4e C#5e |
D5q C#5e B4e~ B4q A4q | B4q C#5e E5e~ E5h~ |
E5h rq !mf C#5e B4e | D5q C#5e A4e~ A4q A4e B4e | !"slowing" D5h B4h | A4w^
"""

WORDS = """
There's a toast-er in a shop-ping bag, a zip that lost its teeth,
a rab-bit with a miss-ing ear, the stuff-ing un-der-neath.
The ket-tle's on, the ket-tle's cracked, but some-one's brought a pan,
so pull a chair up, roll your sleeves, and mend it if you can.
One small screw and one small spring, there's a lot of life in a bro-ken thing. _
Come and sit at the Wednes-day ta-ble, bring the thing you love that broke in two.
Watch-es stopped in eigh-ty-one, a ra-di-o that hums,
a boy who holds the torch for us with sol-der on his thumbs.
Come and sit at the Wednes-day ta-ble, bring the thing you love that broke in two.
Not ev-ery-thing comes back to life, some things have earned their rest,
but no one here goes home a-lone, that's what we mend the best.
Come and sit at the Wednes-day ta-ble, bring the thing you love that broke in two.
Leave it here at the Wednes-day ta-ble, and I'll show you what your hands can do,
what your hands can do, what your hands can do.
"""
WORDS_AGAIN = "Leave it here at the Wednes-day ta-ble, and I'll show you what your hands can do."

BACKING_1 = """
rq | R | R | R | R | R | R | R | R |
!p G4w | G4w | G4w | G4h( F#4h) |
!mf D4q D4q G4q rq | G4q G4q G4q rq | E4w | E4h( D#4h) |
!f E4q E4e E4e~ E4q rq | G4q G4e G4e~ G4e D4e rq | E4w | D#4q D#4e D#4e~ D#4h |
F#4q F#4e F#4e~ F#4h |
!p G4w | G4h( A4h) | G4w | G4w |
!f E4q E4e E4e~ E4q rq | G4q G4e G4e~ G4e D4e rq | E4w | D#4q D#4e D#4e~ D#4q. re |
!p E4w | E4w | F#4w | E#4w |
!f F#4q F#4e F#4e~ F#4q rq | A4q A4e A4e~ A4e E4e rq | F#4w | E#4q E#4e E#4e~ E#4h |
F#4q F#4e F#4e~ F#4q rq | A4q A4e A4e~ A4e E4e rq | F#4w | A4q A4e A4e( G#4h) |
A4h. rq | !mf F#4q F#4e F#4e~ F#4h | A4h G#4h | A4w^
"""
BACKING_2 = """
rq | R | R | R | R | R | R | R | R |
!p B3w | C4w | C4w | A3w |
!mf B3q A3q G3q rq | E4q D4q E4q rq | C4w | B3w |
!f G3q G3e C4e~ C4q rq | D4q D4e D4e~ D4e B3e rq | C4w | B3q B3e B3e~ B3h | D4q D4e D4e~ D4h |
!p B3w | E4h( D4h) | E4h( D4h) | C4h( D4h) |
!f C4q C4e C4e~ C4q rq | D4q D4e D4e~ D4e B3e rq | C4w | B3q B3e B3e~ B3q. re |
!p B3w | C4w | A3w | B3w |
!f A3q A3e D4e~ D4q rq | E4q E4e E4e~ E4e C#4e rq | D4w | C#4q C#4e C#4e~ C#4h |
A3q A3e D4e~ D4q rq | E4q E4e E4e~ E4e C#4e rq | D4w | D4q D4e D4e~ D4h |
C#4h. rq | !mf D4q D4e D4e~ D4h | D4h D4h | C#4w^
"""
BACKING_WORDS_1 = """
Ooh, ooh, ooh, ooh, _ one small screw, one small spring, ooh, ooh. _
Come and sit, Wednes-day ta-ble, ooh, broke in two.
Ooh, ooh, _ ooh, ooh. Come and sit, Wednes-day ta-ble, ooh, broke in two. Ooh, ooh, ooh, ooh.
Come and sit, Wednes-day ta-ble, ooh, broke in two.
Leave it here, Wednes-day ta-ble, ooh, hands can do, _ ooh, hands can do, hands can do.
"""
BACKING_WORDS_2 = """
Ooh, ooh, ooh, ooh, one small screw, one small spring, ooh, ooh.
Come and sit, Wednes-day ta-ble, ooh, broke in two.
Ooh, ooh, _ ooh, _ ooh. _ Come and sit, Wednes-day ta-ble, ooh, broke in two. Ooh, ooh, ooh, ooh.
Come and sit, Wednes-day ta-ble, ooh, broke in two.
Leave it here, Wednes-day ta-ble, ooh, hands can do, ooh, hands can do, hands can do.
"""
BACKING_AGAIN = "Leave it here, Wednes-day ta-ble, ooh, hands can do."

GUITAR = """
!mp D3e F#3e | G3e D4e B3e D4e A4e G4e D4e B3e | G3e E4e C4e E4e A4e G4e E4e C4e |
G3e D4e B3e D4e A4e G4e D4e B3e | G3e E4e C4e E4e G4e D4e B3e D4e |
G3e D4e B3e D4e A4e G4e D4e B3e | G3e D4e B3e D4e G4q B3q |
G3e D4e B3e D4e A4e G4e D4e B3e | G3e D4e B3e D4e G4q D4q |
E3e B3e D4e G4e D4e B3e G3e B3e | C3e G3e C4e E4e G4e E4e C4e G3e |
A2e E3e G3e C4e E4e C4e G3e E3e | D3e A3e D4e G4e F#4e D4e A3e F#3e |
!mf G3+B3+D4q F#3+A3+D4q G3+B3+E4q F#3+A3+D4q | G3+C4+E4q G3+B3+D4q G3+C4+E4q G3+B3+D4q |
A2e E3e G3e C4e E4q C4q | !< B2e F#3e A3e E4e D#4e A3e F#3e A3e !. |
!f C3+G3+E4q. C3+G3+E4e~ C3+G3+E4q C3+G3+E4q | G2+D3+B3q. G2+D3+B3e~ G2+D3+B3q G2+D3+B3q |
E4q C4e C4e~ C4e A3e E3q | B2+F#3+A3+D#4q. B2+F#3+A3+D#4e~ B2+F#3+A3+D#4h |
D3+A3+F#4q. D3+A3+F#4e~ D3+A3+F#4h |
!mp E3e B3e D4e G4e A4e G4e D4e B3e | C3e G3e C4e E4e B2e F#3e A3e D4e |
C3e G3e C4e E4e B2e G3e B3e D4e | A2e E3e G3e C4e B2e G3e B3e D4e |
!f C3+G3+E4q. C3+G3+E4e~ C3+G3+E4q C3+G3+E4q | G2+D3+B3q. G2+D3+B3e~ G2+D3+B3q G2+D3+B3q |
E4q C4e C4e~ C4e A3e E3q | B2+F#3+A3+D#4q. B2+F#3+A3+D#4e~ B2+F#3+A3+D#4h |
!p E3e B3e D4e G4e D4h | C3e G3e C4e E4e C4h | B2e F#3e A3e D4e F#4h |
!< C#3e G#3e B3e E#4e C#4e B3e G#3e E#3e !. |
!f D3+A3+F#4q. D3+A3+F#4e~ D3+A3+F#4q D3+A3+F#4q | A2+E3+C#4q. A2+E3+C#4e~ A2+E3+C#4q A2+E3+C#4q |
F#4q D4e D4e~ D4e B3e F#3q | C#3+G#3+B3+E#4q. C#3+G#3+B3+E#4e~ C#3+G#3+B3+E#4h |
D3+A3+F#4q. D3+A3+F#4e~ D3+A3+F#4q D3+A3+F#4q | A2+E3+C#4q. A2+E3+C#4e~ A2+E3+C#4q A2+E3+C#4q |
F#4q D4e D4e~ D4e B3e F#3q | E3+B3+D4+A4q. E3+B3+D4+A4e E3+B3+D4+G#4h |
B3q C#4e E4e~ E4h | !mf A2e F#3e A3e D4e F#4h | E3e B3e D4e A4e G#4e D4e B3e E3e | A2+E3+A3+C#4+E4w^
"""

BASS = """
rq | !mp G2q. G2e G2q G2q | G2q. G2e G2q G2q | G2q. G2e G2q G2q | G2q. G2e G2q G2q |
G2q. G2e G2q D3q | G2q. G2e B2q D3q | G2q. G2e G2q D3q | G2q. G2e G2q F#2q |
E2q. E2e E2q G2q | C3q. C3e C3q G2q | A2q. A2e A2q E3q | D3q. D3e D3q F#3q |
!mf G3q F#3q E3q D3q | C3q B2q A2q G2q | A2q. A2e A2q E2q | B2q. F#2e B2h |
!f C3q. C3e C3q G2q | G2q. G2e G2q G2q | A2q. A2e A2q E3q | B2q. B2e B2q B2q | D3q. D3e D3q D3q |
!mf E3q. E3e E3q B2q | C3q. C3e B2q. B2e | C3q. C3e B2q. B2e | A2q. A2e B2q. B2e |
!f C3q. C3e C3q G2q | G2q. G2e G2q G2q | A2q. A2e A2q E3q | B2q. B2e B2h |
!p E2h. G2q | C3h. G2q | B2h. F#2q | C#3q. C#3e C#3q C#3q |
!f D3q. D3e D3q A2q | A2q. A2e A2q A2q | B2q. B2e B2q F#3q | C#3q. C#3e C#3q C#3q |
D3q. D3e D3q A2q | A2q. A2e A2q A2q | B2q. B2e B2q F#3q | E3q. E3e E3q E2q |
A2q. A2e A2q A2q | !mf A2q. A2e A2q A2q | E2q. E2e E2h | A2w^
"""

CHORDS = """
| G=I:T | C/G=IV64:S | G=I:T | C/G=IV64:S G@3=I:T |
G=I:T | | | |
Em7=vi7:T | C=IV:S | Am7=ii7:S | Dsus4=Vsus4:D D@3=V:D |
G=I:T D/F#@2=V6:D Em@3=vi:T D@4=V:D | C=IV:S G/B@2=I6:T Am7@3=ii7:S G@4=I:T |
Am7=ii7:S | B7sus4=V7sus4/vi:D B7@3=V7/vi:D |
C=IV:S | G=I:T | Am7=ii7:S | B7=V7/vi:D | D=V:D |
Em7=vi7:T | C=IV:S Bm7@3=iii7:- | C=IV:S G/B@3=I6:T | Am7=ii7:S G/B@3=I6:T |
C=IV:S | G=I:T | Am7=ii7:S | B7=V7/vi:D |
Em7=vi7:T | C=IV:S | Bm7=iii7:- | C#7=V7/vi:D |
D=IV:S | A=I:T | Bm7=ii7:S | C#7=V7/vi:D |
D=IV:S | A=I:T | Bm7=ii7:S | E7sus4=V7sus4:D E7@3=V7:D |
A=I:T | D/A=IV64:S | E7sus4=V7sus4:D E7@3=V7:D | A=I:T
"""

PLANTED = (
    Planted("b", 2, 1, "Bass", "C/G between chords of G over a held G: IV over the tonic pedal"),
    Planted("b", 4, 1, "Bass", "the same C/G for half a measure, back to G on beat 3"),
    Planted("d", 16, 3, "", "B7 (V7/vi) goes to C (IV, measure 17) instead of Em"),
    Planted("d", 20, 1, "", "B7 (V7/vi) of the first ending goes back to C (IV, measure 17)"),
    Planted("d", 33, 1, "", "C#7 (V7/vi of A) goes to D (IV, measure 34) instead of F#m"),
    Planted("d", 37, 1, "", "C#7 (V7/vi of A) goes to D (IV, measure 38) instead of F#m"),
    Planted(
        "h",
        33,
        1,
        "",
        "from G major up to A major: Bm7 in measure 32 is iii of G and ii of A,"
        " C#7 belongs to A alone, the signature changes in measure 34",
    ),
    Planted(
        "i",
        22,
        1,
        "Voice",
        "the melody of measures 5 to 8, there over G alone, returns in"
        " measures 22 to 25 over Em7 | C Bm7 | C G/B | Am7 G/B; Em7 for G differs first",
    ),
    Planted(
        "k",
        19,
        1,
        "Guitar",
        "answers “Wednesday table” of measure 18 in its rhythm, a step"
        " higher in the key and an octave lower",
    ),
    Planted("k", 28, 1, "Guitar", "answers measure 27 as measure 19 answered measure 18"),
    Planted("k", 36, 1, "Guitar", "answers measure 35 likewise, now in A"),
    Planted("k", 40, 1, "Guitar", "answers measure 39 likewise"),
    Planted("k", 42, 1, "Guitar", "repeats “hands can do” of measure 41 exactly, an octave lower"),
    Planted(
        "l",
        13,
        1,
        "",
        "a chord on every beat of measures 13 and 14 over a bass that falls by"
        " step, beside measures 5 to 8 over G alone",
    ),
)
ALSO = (
    Planted("deceptive V", 21, 1, "", "D (V) goes to Em7 (vi, measure 22)"),
    Planted("resolved", 29, 1, "", "B7 (V7/vi) goes to Em7 (vi, measure 30) at last"),
    Planted("bass line", 13, 1, "Bass", "G F# E D C B A G, falling by step, to measure 14 beat 4"),
    Planted("pivot", 32, 1, "", "Bm7: iii7 of G major, ii7 of A major"),
    Planted("pedal", 43, 1, "Bass", "D/A over a held A, on from A and then to E7sus4"),
)

PIECE = Piece(
    stem="wednesday-table",
    title="Wednesday Table",
    tempo=("Easy, straight eighths", 92),
    beats=4,
    first=0,
    pickup=1,
    signatures={0: (1, "major"), 34: (3, "major")},
    sections={
        1: "Intro",
        5: "Verse 1",
        13: "Pre-chorus",
        17: "Chorus 1",
        22: "Verse 2",
        26: "Chorus 2",
        30: "Bridge",
        34: "Last chorus",
        42: "Tag",
    },
    keys=(
        Key(0, 1, "G", "major"),
        Key(33, 1, "A", "major", "the pivot, Bm7 in measure 32, can be heard in either key"),
    ),
    barlines={
        17: ("start repeat",),
        20: ("ending 1 stop", "end repeat"),
        21: ("ending 2 discontinue",),
        33: ("double",),
        45: ("final",),
    },
    chords=CHORDS,
    verses={17: (1, 2), 18: (1, 2), 19: (1, 2), 21: (2,)},
    parts=(
        Part(
            "Voice", "V.", "voice.female", 53, ((1, "1", VOICE),), lyrics={1: WORDS, 2: WORDS_AGAIN}
        ),
        Part(
            "Backing voice 1",
            "B.V. 1",
            "voice.female",
            54,
            ((1, "1", BACKING_1),),
            lyrics={1: BACKING_WORDS_1, 2: BACKING_AGAIN},
        ),
        Part(
            "Backing voice 2",
            "B.V. 2",
            "voice.female",
            54,
            ((1, "1", BACKING_2),),
            lyrics={1: BACKING_WORDS_2, 2: BACKING_AGAIN},
        ),
        Part(
            "Guitar",
            "Gtr.",
            "pluck.guitar.steel-string",
            26,
            ((1, "1", GUITAR),),
            clefs=(("G", 2, -1),),
        ),
        Part(
            "Bass",
            "Bass",
            "pluck.bass.electric",
            34,
            ((1, "1", BASS),),
            clefs=(("F", 4, 0),),
            transpose=(0, 0, -1),
        ),
    ),
    planted=PLANTED,
    also=ALSO,
)
