"""Seven Small Screws: a waltz in G minor with a middle part in B flat major."""

from sample_scores.shorthand import Key, Part, Piece, Planted


def _offbeats(*chords: str) -> str:
    return " | ".join(f"rq {chord}q' {chord}q'" for chord in chords)


def _downbeats(pitches: str) -> str:
    return " | ".join(f"{pitch}h rq" for pitch in pitches.split())


VOICE = """
!mp G4q A4q Bb4q | D5q. C5e Bb4q | Bb4q A4q G4q | F#4h. |
G4q A4q Bb4q | D5q. C5e D5q | Eb5q D5q C5q | A4h. |
!mf Eb5q D5q C5q | A4q Bb4q C5q | D5q C5q Bb4q | G4h. |
D5q C5q Bb4q | C5q. Bb4e Ab4q | !> F#4q G4q A4q !. | G4h. |
!mf D5q. C5e Bb4q | F4q G4q A4q | Bb4q. A4e G4q | A4h. |
D5q. C5e Bb4q | Eb5q D5q C5q | A4q Bb4q C5q | Bb4h. |
!mp Bb4q Bb4q Bb4q | !< C5q. C5e C5q | D5q. D5e D5q | D5h. !. |
!f D5q C5q Bb4q | Bb4q A4q G4q | !> Bb4q. G4e G4q | F#4h.^ !.
"""

WORDS = """
Sev-en small screws in the lid of a tin, one for each day that the clock did-n’t chime;
o-pen the back, let the day-light come in, no-bo-dy here is in need of the time.
Grand-moth-er wound it on Sat-ur-day night, count-ed us home by the stroke of the bell;
now there’s a spring that was coiled up too tight, what it re-mem-bers no cuck-oo can tell.
"""
WORDS_AGAIN = """
Sev-en small screws, and I’ve tight-ened the last, give it a push and then let the thing go;
lis-ten, it’s walk-ing, not slow and not fast, just at the pace that it learned long a-go.
"""

CLARINET = """
R | R | R | !p Eb5q D5q C5q | Bb4h. | R | R | Eb5q D5q C5q |
Bb4h rq | R | R | D5q C5q Bb4q | G4h. | R | R | Bb4h. |
F4h. | D5h. | Eb5h. | Eb5q. D5e C5q | Bb4h. | G4h. | Eb5h. | D5q C5q Bb4q |
G4h. | G4h. | F4h. | D5h. | D5h. | !mf C#5h.( | D5h.) | A4q. F#4e D4q^
"""

ACCORDION = "!p " + _offbeats(
    "Bb3+D4+G4", "Bb3+D4+G4", "G3+Bb3+G4", "A3+C4+F#4",
    "G3+Bb3+D4+G4", "G3+D4+F4", "G3+C4+Eb4", "F#3+A3+C4",
    "G3+Bb3+Eb4", "A3+C4+Eb4", "A3+D4+F4", "G3+Bb3+D4",
    "D4+G4", "C4+Eb4+Ab4", "C4+D4+F#4", "Bb3+D4+G4",
    "Bb3+D4+F4", "Bb3+F4", "Bb3+Eb4+G4", "A3+Eb4+F4",
    "Bb3+D4+F4", "Bb3+Eb4+G4", "A3+Eb4+F4", "Bb3+D4+F4",
    "Bb3+Eb4+G4", "Bb3+C4+G4", "Bb3+D4+F4", "A3+C4+D4",
    "Bb3+D4+G4", "Bb3+C#4+G4", "Bb3+D4+G4",
) + " | A3+C4+F#4h.^"  # fmt: skip

BASS = f"""
!p {_downbeats("G3 F3 Eb3 D3")} | G2h Bb2q |
{_downbeats("B2 C3 D3 C3 F2 Bb2 Eb3 Bb2 C3 D3")} | G2h. |
!p {_downbeats("Bb2 D3 C3 F3 G3 C3 F2")} | Bb2h. |
{_downbeats("Eb3 E3 F3 F#3 G3 Eb3 D3")} | D3h.^
"""

CHORDS = """
Gm=i:T | Gm7/F=i42:T | Eb=VI:T | D7b9=V7[b9]:D | Gm=i:T | G7/B=V65/iv:D | Cm=iv:S | D7b9=V7[b9]:D |
Cm7=iv7:S | F7=V7/III:D | Bbmaj7=IIImaj7:T | Ebmaj7=VImaj7:T |
Gm/Bb=i6:T | Ab/C=N6:S | D7=V7:D | Gm=i:T |
Bb=I:T | Bb/D=I6:T | Cm7=ii7:S | F7=V7:D | Gm7=vi7:T | Cm7=ii7:S | F7=V7:D | Bb=I:T |
Eb=IV:S | C7/E=V65/V:D | Bb/F=I64:T | D7/F#=V65/vi:D | Gm=i:T | Eb7=Ger65:S | Gm/D=Cad64:D | D7=V7:D
"""

PLANTED = (
    Planted("c", 6, 1, "", "G7/B (V65/iv) goes to Cm (iv, measure 7)"),
    Planted(
        "c",
        26,
        1,
        "",
        "C7/E (V65/V of B flat) goes up to F in the bass, under the tonic’s"
        " six-four (Bb/F, measure 27)",
    ),
    Planted(
        "c",
        28,
        1,
        "",
        "D7/F# (V65/vi of B flat, or V65 of G minor already) goes to Gm (measure 29)",
    ),
    Planted("g", 14, 1, "", "Ab/C, the Neapolitan sixth, goes to D7 (V7, measure 15)"),
    Planted(
        "g",
        30,
        1,
        "",
        "Eb7 with C sharp in clarinet and accordion: a German sixth, to Gm/D"
        " (measure 31) and D7 (measure 32)",
    ),
    Planted("h", 17, 1, "", "from G minor to its relative, B flat major"),
    Planted("h", 29, 1, "", "back to G minor; D7/F# in measure 28 already leads there"),
    Planted(
        "k",
        4,
        1,
        "Clarinet in B flat",
        "answers “lid of a” (voice, measure 3) a fourth higher, and goes on to measure 5",
    ),
    Planted("k", 8, 1, "Clarinet in B flat", "repeats “clock didn’t” (voice, measure 7)"),
    Planted(
        "k",
        12,
        1,
        "Clarinet in B flat",
        "repeats “daylight come in” (voice, measures 11 and 12) a measure later, to measure 13",
    ),
    Planted(
        "k", 20, 1, "Clarinet in B flat", "answers “Saturday” (voice, measure 19) a fourth higher"
    ),
    Planted(
        "k",
        32,
        1,
        "Clarinet in B flat",
        "answers the falling third of “cuckoo” (voice, measure 31) a half step lower",
    ),
)
ALSO = (
    Planted("applied", 10, 1, "", "F7 (V7/III) goes to Bbmaj7 (III, measure 11)"),
    Planted("bass line", 1, 1, "Double bass", "G, F, E flat, D, falling by step to measure 4"),
    Planted(
        "bass line",
        25,
        1,
        "Double bass",
        "E flat, E, F, F sharp, G, rising by half steps to measure 29",
    ),
    Planted(
        "near return",
        5,
        1,
        "Voice",
        "measures 1 and 2 with their last note changed, over Gm | G7/B instead of Gm | Gm7/F",
    ),
    Planted("falling fifths", 9, 1, "Double bass", "C, F, B flat, E flat, to measure 12"),
)

PIECE = Piece(
    stem="seven-small-screws",
    title="Seven Small Screws",
    tempo=("Waltz, light on its feet", 150),
    beats=3,
    first=1,
    pickup=0,
    signatures={1: (-2, "minor")},
    sections={1: "A", 17: "B"},
    keys=(
        Key(1, 1, "G", "minor"),
        Key(17, 1, "Bb", "major"),
        Key(29, 1, "G", "minor", "D7/F# in measure 28 can be heard in either key"),
    ),
    barlines={16: ("fine", "double"), 32: ("da capo", "double")},
    chords=CHORDS,
    verses=dict.fromkeys(range(1, 17), (1, 2)),
    parts=(
        Part(
            "Voice", "V.", "voice.vocals", 53, ((1, "1", VOICE),), lyrics={1: WORDS, 2: WORDS_AGAIN}
        ),
        Part(
            "Clarinet in B flat",
            "Cl.",
            "wind.reed.clarinet.bflat",
            72,
            ((1, "1", CLARINET),),
            transpose=(-1, -2, 0),
        ),
        Part("Accordion", "Acc.", "keyboard.accordion", 22, ((1, "1", ACCORDION),)),
        Part(
            "Double bass",
            "D.B.",
            "strings.contrabass",
            33,
            ((1, "1", BASS),),
            clefs=(("F", 4, 0),),
            transpose=(0, 0, -1),
        ),
    ),
    planted=PLANTED,
    also=ALSO,
)
