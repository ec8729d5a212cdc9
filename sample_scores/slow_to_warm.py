"""Slow to Warm: a ballad in E flat major for voice and piano."""

from sample_scores.shorthand import Key, Part, Piece, Planted


def _twice(half: str) -> str:
    return f"{half} {half}"


def _pulse(chord: str) -> str:
    return " ".join([f"{chord}q"] * 4)


VOICE = """
!p Bb3q |
Eb4q. F4e G4q Bb4q | Bb4q Ab4q G4q. Bb4e | Eb5q. C5e Ab4q. C5e | Ab4q Bb4q Ab4q. Ab4e |
Bb4q. Ab4e G4q Bb4q | Ab4q G4q F4q. F4e | Ab4q. G4e F4q D4q | Eb4q F4q G4q. Bb4e |
!mp C5q C5q Eb5q. D5e | D5q. Bb4e Bb4q. G4e | C5q Bb4e C5e~ C5q Eb5q | Bb4q Ab4q G4q re Bb4e |
Ab4q. Ab4e C5q. Bb4e | !< C5q. C5e Eb5q. Eb5e !. |
!mf Eb5q !> D5q Bb4q G4q | Ab4q. G4e F4q !. Bb3q |
!p Eb4q. F4e G4q Bb4q | Bb4q Ab4q G4q. Bb4e | Eb5q. C5e Ab4q. C5e | Ab4q Bb4q Ab4q. Ab4e |
Bb4q. Ab4e G4q Bb4q | Ab4q G4q F4q. F4e | !mp Bb4q. C5e !"held_back" Eb5q D5q | !p Eb5q. Bb4e G4h^
"""

WORDS = """
You set my fa-ther’s wire-less down as gent-ly as a sleep-ing child
and blew the dust from ev-ery town he tuned to when the nights were wild.
And noth-ing, then a hum, a glow, a thread of am-ber thin as hair,
some dance band from the long a-go was play-ing to an emp-ty chair.
You said, ‘They’re al-ways slow to warm,’ and laid your hand u-pon the wood,
and out of all that hiss and storm a voice came through, and it was good.
"""

UPPER = f"""
rq |
!p G4+Bb4h G4+Bb4h | G4+Bb4h. G4q | Eb4+Ab4h Eb4+Ab4h | Eb4+F4h Eb4+F4h |
Eb4+G4h C4+G4h | C4+Eb4w | Eb4+F4h D4+F4h | Eb4+G4w |
!mp {_pulse("Bb3+Eb4+G4")} | {_pulse("Bb3+D4+G4")} | {_pulse("Ab3+C4+Eb4")} |
{_pulse("Bb3+Eb4+G4")} |
{_pulse("C4+Eb4+F4")} | !< {_pulse("C4+Eb4+F4")} !. | !mf {_pulse("Bb3+Eb4+G4")} |
!> Ab3+Eb4+F4q Ab3+Eb4+F4q Ab3+D4+F4q Ab3+D4+F4q !. |
!p G3+Bb3+Eb4w | F3+Bb3+D4w | Ab3+C4+Eb4w | Ab3+Cb4+F4w |
G3+Bb3+Eb4h Bb3+Db4+Eb4h | Ab3+C4+Eb4h Ab3+Cb4+F4h |
G3+Bb3+Eb4h F3+Ab3+Eb4q F3+Ab3+D4q | !p Eb3+G3+Bb3+Eb4w^
"""

INNER = """
| Eb4h( D4h | Db4w | C4w | Cb4w | Bb3w) | Ab3w | Ab3w | G3w |
| | | | | | | | | | | | | | |
"""

LOWER = f"""
rq |
{_twice("Eb2e Bb2e G3e Bb2e")} | {_twice("Eb2e Bb2e G3e Bb2e")} |
{_twice("Ab2e Eb3e Ab3e Eb3e")} | {_twice("Ab2e Eb3e Ab3e Eb3e")} |
G2e Eb3e G3e Eb3e E2e C3e G3e C3e | {_twice("F2e C3e F3e C3e")} |
{_twice("Bb1e F2e Bb2e F2e")} | Eb2e Bb2e Eb3e Bb2e Eb2h |
{_twice("C2e G2e Eb3e G2e")} | {_twice("G2e D3e F3e D3e")} |
{_twice("Ab2e Eb3e C3e Eb3e")} | {_twice("G2e Eb3e Bb2e Eb3e")} |
{_twice("Ab2e F3e C3e F3e")} | {_twice("A2e F3e C3e F3e")} |
{_twice("Bb2e G3e Eb3e G3e")} | {_twice("Bb1e F2e Bb2e F2e")} |
{_twice("C2e G2e C3e G2e")} | {_twice("G2e D3e Bb2e D3e")} |
{_twice("F2e C3e F3e C3e")} | {_twice("Db2e Ab2e Db3e Ab2e")} |
Eb2e Bb2e Eb3e Bb2e G2e Eb3e Bb2e Eb3e | Ab2e Eb3e C3e Eb3e Ab2e Eb3e Cb3e Eb3e |
Bb2e Eb3e Bb2e Eb3e Bb1e F2e Bb2e F2e | Eb2+Bb2w^
"""

CHORDS = """
| Eb=I:T Ebmaj7@3=Imaj7:T | Eb7=V7/IV:D | Ab=IV:S | Abm6=iv[add6]:S |
Eb/G=I6:T C7/E@3=V65/ii:D | Fm7=ii7:S | Bb7sus4=V7sus4:D Bb7@3=V7:D | Eb=I:T |
Cm7=vi7:T | Gm7=iii7:- | Ab=IV:S | Eb/G=I6:T |
Fm7/Ab=ii65:S | F7/A=V65/V:D | Eb/Bb=Cad64:D | Bb7sus4=V7sus4:D Bb7@3=V7:D |
Cm7=vi7:T | Gm7=iii7:- | Fm7=ii7:S | Db7=bVII7:D |
Eb=I:T Eb7/G@3=V65/IV:D | Ab=IV:S Abm6@3=iv[add6]:S |
Eb/Bb=Cad64:D Bb7sus4@3=V7sus4:D Bb7@4=V7:D | Eb=I:T
"""

PLANTED = (
    Planted("c", 5, 3, "", "C7/E (V65/ii) goes to Fm7 (ii7, measure 6)"),
    Planted(
        "c",
        14,
        1,
        "",
        "F7/A (V65/V) goes up to B flat in the bass, under the tonic’s"
        " six-four first (measure 15) and then under B flat seven (measure 16)",
    ),
    Planted("c", 21, 3, "", "Eb7/G (V65/IV) goes to Ab (IV, measure 22)"),
    Planted("e", 20, 1, "", "Db7 (bVII7) goes up a whole step to Eb (I, measure 21)"),
    Planted("f", 4, 1, "", "Abm6, the subdominant of E flat minor"),
    Planted("f", 20, 1, "", "Db7 holds C flat, the lowered sixth degree"),
    Planted("f", 22, 3, "", "Abm6 after Ab: major and minor subdominant side by side"),
    Planted(
        "i",
        17,
        1,
        "Voice",
        "the melody of measures 1 to 4 (Eb Ebmaj7 | Eb7 | Ab | Abm6)"
        " returns in measures 17 to 20 over Cm7 | Gm7 | Fm7 | Db7; Cm7 for Eb differs first",
    ),
    Planted(
        "i",
        21,
        1,
        "Voice",
        "the melody of measures 5 and 6 (Eb/G C7/E | Fm7) returns over"
        " Eb Eb7/G | Ab Abm6; Eb7/G for C7/E is the first change of function",
    ),
    Planted(
        "j",
        1,
        1,
        "Piano",
        "E flat, D, D flat, C, C flat, B flat: one half step a chord, from Eb to Eb/G in measure 5",
    ),
    Planted("j", 19, 1, "Piano", "C, C flat, B flat under Fm7, Db7, Eb (measures 19 to 21)"),
    Planted("j", 22, 1, "Piano", "C, C flat, B flat under Ab, Abm6, Eb/Bb (measures 22 and 23)"),
)
ALSO = (
    Planted("applied", 2, 1, "", "Eb7 (V7/IV) goes to Ab (IV, measure 3)"),
    Planted("deceptive V", 16, 3, "", "Bb7 (V7) goes to Cm7 (vi7, measure 17)"),
    Planted("bass line", 12, 1, "Piano", "G, A flat, A, B flat, by half steps to measure 15"),
)

PIECE = Piece(
    stem="slow-to-warm",
    title="Slow to Warm",
    tempo=("Slow, with patience", 66),
    beats=4,
    first=0,
    pickup=1,
    signatures={0: (-3, "major")},
    sections={1: "A", 9: "B", 17: "A2"},
    keys=(Key(0, 1, "Eb", "major"),),
    barlines={8: ("double",), 16: ("double",), 24: ("final",)},
    chords=CHORDS,
    parts=(
        Part("Voice", "V.", "voice.vocals", 53, ((1, "1", VOICE),), lyrics={1: WORDS}),
        Part(
            "Piano",
            "Pno.",
            "keyboard.piano",
            1,
            ((1, "1", UPPER), (1, "2", INNER), (2, "5", LOWER)),
            clefs=(("G", 2, 0), ("F", 4, 0)),
        ),
    ),
    planted=PLANTED,
    also=ALSO,
)
