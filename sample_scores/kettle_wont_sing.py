"""Kettle Won’t Sing: two choruses of a twelve-measure blues in E, shuffled."""

from sample_scores.shorthand import Key, Part, Piece, Planted

VOICE = """
!mf B4e B4e |
B4q A4e G4e G#4q E4e E4e | G4e( G#4e) E4q E4h | R | rh. {B4e B4e B4e} |
A4q A4e A4e G4q E4e E4e | G4q E4q E4h | R | rh. B4e B4e |
B4e B4e A4e A4e F#4q F#4e F#4e | A4e A4e G4e G4e E4h~ | E4h rh | rh. B4e B4e |
B4q A4e G4e G#4q E4e E4e | G4e( G#4e) E4q E4h | R | rh. {B4e B4e B4e} |
A4q A4e A4e G4q E4e E4e | G4q E4q E4h | R | rh. !f B4e B4e |
B4e B4e A4e A4e F#4q F#4e F#4e | A4e A4e G4e G4e E4h~ | E4w | rh E5h^
"""

WORDS = """
Well, my ket-tle won’t sing, all it does _ is sigh,
I said, my ket-tle won’t sing, all it does is sigh;
it’s been sit-ting on the shelf since the four-teenth of Ju-ly.
Well, she looked down the spout, and she gave _ a grin, I said, she looked down the spout, and she
gave a grin, said, ‘There’s no song com-ing out till the vin-e-gar goes in.’ Whee!
"""

SHUFFLE_E = "E3+B3e E3+B3e E3+C#4e E3+C#4e"
SHUFFLE_A = "A3+E4e A3+E4e A3+F#4e A3+F#4e"
SHUFFLE_B = "B3+F#4e B3+F#4e B3+G#4e B3+G#4e"

GUITAR = f"""
rq |
!mp {SHUFFLE_E} {SHUFFLE_E} | {SHUFFLE_E} E3+B3q !mf E5e E5e | G5e( G#5e) E5q E5h |
E5e D5e B4q {{D5e B4e G#4e}} E4q |
!mp {SHUFFLE_A} {SHUFFLE_A} | {SHUFFLE_A} A3+E4q !mf E5e E5e | G5q E5q E5h |
{{B4e D5e E5e}} G#5q E5e D5e B4q |
!mp {SHUFFLE_B} {SHUFFLE_B} | {SHUFFLE_A} A3+E4q A3+E4q | !mf E5e D5e {{B4e D5e B4e}} G#4q E4q |
{{B4e A4e F#4e}} D#4q B3+F#4+A4+D#5h |
!mp rq E4+G#4+D5q' rq E4+G#4+D5q' | rq E4+G#4+D5q' rq !mf E5e E5e | G5e( G#5e) E5q E5h |
{{E5e G5e E5e}} D5e B4e {{D5e B4e G#4e}} E4q |
!mp rq G4+C#5+E5q' rq G4+C#5+E5q' | rq G4+C#5+E5q' rq !mf E5e E5e | G5q E5q E5h |
{{B4e D5e E5e}} G#5q E5e D5e B4q |
rq A4+D#5+F#5q' rq A4+D#5+F#5q' | rq G4+C#5+E5q' rq G4+C#5+E5q' |
!f G#4+E5q G#4+E5q A4+E5q A4+E5q | G#4+E5q A4+D#5+F#5q E4+G#4+D5h^
"""

BASS = """
rq |
!mf E2q G#2q B2q C#3q | D3q C#3q B2q G#2q | E2q G#2q B2q C#3q | D3q B2q G#2q E2q |
A2q C#3q E3q F#3q | G3q F#3q E3q C#3q | E2q G#2q B2q C#3q | D3q C#3q B2q A#2q |
B2q D#3q F#3q A3q | A2q C#3q E3q C#3q | E2q G#2q B2q E3q | B2q D#3q F#3q B2q |
E2q G#2q B2q C#3q | D3q C#3q B2q G#2q | E2q G#2q B2q C#3q | D3q B2q G#2q E2q |
A2q C#3q E3q A2q | A#2q C#3q E3q G3q | B2q E3q G#3q E3q | E2q G#2q B2q A#2q |
B2q D#3q F#3q B2q | A2q C#3q E3q G3q | !f E3q D3q C#3q C3q | B2q B2q E2h^
"""

CHORDS = """
| E7=I7:T | | | | A7=IV7:S | | E7=I7:T | | B7=V7:D | A7=IV7:S | E7=I7:T | B7=V7:D |
E7=I7:T | | | | A7=IV7:S | A#dim7=viio7/V:D | E/B=I64:T | E7=I7:T | B7=V7:D | A7=IV7:S |
E=I:T E7/D@2=V42/IV:D A/C#@3=IV6:S Am/C@4=iv6:S | E/B=Cad64:D B7@2=V7:D E7@3=I7:T
"""

PLANTED = (
    Planted("a", 1, 2.5, "Voice", "“won’t sing”: G natural over E7, then G sharp on beat 3"),
    Planted("a", 2, 1, "Voice", "“does”: G natural over E7, then G sharp half a beat later"),
    Planted("a", 13, 2.5, "Voice", "“the spout”: G natural over E7, then G sharp on beat 3"),
    Planted("a", 14, 1, "Voice", "“gave”: G natural over E7, then G sharp half a beat later"),
    Planted("c", 23, 2, "", "E7/D (V42/IV, or the blues’ tonic seventh passing) goes to A/C#"),
    Planted("f", 23, 4, "", "Am/C, the subdominant of E minor"),
    Planted(
        "i",
        17,
        1,
        "Voice",
        "the melody of measures 5 and 6, there over A7 alone, returns in"
        " measures 17 and 18 over A7 | A#dim7, which differs in measure 18",
    ),
    Planted(
        "k",
        2,
        4,
        "Guitar",
        "repeats “all it does is sigh” (voice, measure 1 beat 4 to"
        " measure 2) a measure later, to measure 3",
    ),
    Planted(
        "k",
        6,
        4,
        "Guitar",
        "repeats “all it does is sigh” (voice, measure 5 beat 4 to"
        " measure 6) a measure later, to measure 7",
    ),
    Planted(
        "k",
        14,
        4,
        "Guitar",
        "repeats “and she gave a grin” (voice, measure 13 beat 4 to"
        " measure 14) a measure later, to measure 15",
    ),
    Planted(
        "k",
        18,
        4,
        "Guitar",
        "repeats “and she gave a grin” (voice, measure 17 beat 4 to"
        " measure 18) a measure later, to measure 19",
    ),
    Planted(
        "l",
        23,
        1,
        "",
        "a chord on every beat to measure 24 beat 3, beside E7 alone in measures 13 to 16",
    ),
)
ALSO = (
    Planted("bass line", 17, 1, "Bass", "A, A sharp, B under measures 17 to 19"),
    Planted("bass line", 23, 1, "Bass", "E, D, C sharp, C, B, falling to measure 24"),
    Planted("common tone", 22, 3, "Voice", "E held through A7, E, E7/D, A/C#, Am/C"),
)

PIECE = Piece(
    stem="kettle-wont-sing",
    title="Kettle Won’t Sing",
    tempo=("Shuffle, swung eighths", 116),
    beats=4,
    first=0,
    pickup=1,
    signatures={0: (4, "major")},
    sections={1: "Chorus 1", 13: "Chorus 2"},
    keys=(Key(0, 1, "E", "major"),),
    barlines={12: ("double",), 24: ("final",)},
    chords=CHORDS,
    swing=True,
    parts=(
        Part("Voice", "V.", "voice.vocals", 53, ((1, "1", VOICE),), lyrics={1: WORDS}),
        Part(
            "Guitar", "Gtr.", "pluck.guitar.electric", 28, ((1, "1", GUITAR),), transpose=(0, 0, -1)
        ),
        Part(
            "Bass",
            "Bass",
            "pluck.bass",
            33,
            ((1, "1", BASS),),
            clefs=(("F", 4, 0),),
            transpose=(0, 0, -1),
        ),
    ),
    planted=PLANTED,
    also=ALSO,
)
