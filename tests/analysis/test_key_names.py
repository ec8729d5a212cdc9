"""How a key is spelled, which mode it is given, and how far it is believed."""

from __future__ import annotations

import numpy as np
import pytest

from analysis.keys import key_regions
from tests.analysis.test_keys import keys_of, only_key
from tests.analysis.tunes import tune


@pytest.mark.parametrize(
    ("chords", "key"),
    [
        # A key is spelled as its chords are written: common practice, no source.
        ("F#:4 D#m:4 B:4 C#7:4 ", "F# major"),
        ("Gb:4 Ebm:4 Cb:4 Db7:4 ", "Gb major"),
        ("C#:4 A#m:4 F#:4 G#7:4 ", "C# major"),
        ("Db:4 Bbm:4 Gb:4 Ab7:4 ", "Db major"),
        ("D#m:4 G#m:4 A#7:4 D#m:4 ", "D# minor"),
        ("Ebm:4 Abm:4 Bb7:4 Ebm:4 ", "Eb minor"),
        ("G#m:4 C#m:4 D#7:4 G#m:4 ", "G# minor"),
        ("Abm:4 Dbm:4 Eb7:4 Abm:4 ", "Ab minor"),
    ],
)
def test_a_key_is_spelled_as_its_chords_are(chords: str, key: str) -> None:
    assert str(only_key(chords * 4).key) == key


@pytest.mark.parametrize(
    ("chords", "mode"),
    [
        # The degree in which a mode differs names it: common practice, no source.
        ("Em:4 F:4 Em:4 Em:4 " * 4, "phrygian"),
        ("Am:4 D:4 Am:4 Am:4 " * 4, "dorian"),
        ("Am:4 Dm:4 Am:4 G:4 " * 4, "minor"),
        ("G:4 F:4 G:4 G:4 " * 4, "mixolydian"),
        ("G:4 C:4 G:4 D:4 " * 4, "major"),
        # Sevenths on I and IV are the blues' colour, in any key.
        ("A7:4 D7:4 A7:4 E7:4 " * 4, "major"),
        ("Eb7:4 Ab7:4 Eb7:4 Bb7:4 " * 4, "major"),
        # One chord in passing changes no mode.
        ("C:4 F:4 G:4 C:4 " * 3 + "C:4 Bb:2 F:2 G:4 C:4 " + "C:4 F:4 G:4 C:4 " * 3, "major"),
    ],
)
def test_the_altered_degree_names_the_mode(chords: str, mode: str) -> None:
    assert only_key(chords).key.mode == mode


def test_a_few_measures_of_the_parallel_mode_are_no_key_of_their_own() -> None:
    plain = "C:4 F:4 G:4 C:4 "
    assert len(keys_of(tune("r:136", plain * 4 + "Cm:4 G7:4 " + plain * 4))) == 1
    found = keys_of(tune("r:192", plain * 4 + "Cm:4 Fm:4 G7:4 Cm:4 " * 4 + plain * 4))
    assert [str(region.key) for region in found] == ["C major", "C minor", "C major"]
    assert [int(region.span.start) for region in found] == [0, 64, 128]


C, CM, G, GM = 0, 1, 14, 15


@pytest.mark.parametrize(
    ("path", "heard"),
    [
        # States at each of eight chords of a measure; what is left of them, with first measures.
        ([C, C, CM, CM, C, C, C, C], {0: "C major"}),
        ([CM, CM, C, C, C, C, C, C], {0: "C major"}),
        ([C, C, C, C, C, C, CM, CM], {0: "C major"}),
        ([C, C, C, G, C, C, C, C], {0: "C major"}),
        ([C, C, C, C, C, C, C, G], {0: "C major"}),
        ([G, C, C, C, C, C, C, C], {0: "C major"}),
        ([C, C, C, G, G, C, C, C], {0: "C major", 3: "G major", 5: "C major"}),
        ([C, C, C, C, G, G, G, G], {0: "C major", 4: "G major"}),
        ([C, C, C, GM, G, G, G, G], {0: "C major", 3: "G major"}),
        ([C, C, C, C, C, GM, GM, G], {0: "C major", 5: "G minor"}),
    ],
)
def test_short_stretches_are_passed_over(
    monkeypatch: pytest.MonkeyPatch, path: list[int], heard: dict[int, str]
) -> None:
    monkeypatch.setattr(key_regions, "best_states", lambda *_: np.array(path))
    monkeypatch.setattr(key_regions, "_name_mode", lambda key, _: key.mode)
    monkeypatch.setattr(key_regions, "other_third", lambda *_: 0.0)
    found = keys_of(tune("r:32", "C:4 F:4 C:4 G:4 C:4 F:4 G:4 C:4 "))
    assert {int(region.span.start) // 4: str(region.key) for region in found} == heard


@pytest.mark.parametrize(
    "chords",
    [
        "C:4 F:4 G:4 C:4 " * 4,
        "Am:4 F:4 C:4 G:4 " * 4,
        "Dm7:4 G7:4 " * 8,
        "C7:4 F7:4 C7:4 G7:4 " * 4,
        "E:4 D:4 A:4 E:4 " * 4,
        "Cm:4 Ab:4 Eb:4 Bb:4 " * 4,
        "C5:4 F5:4 G5:4 C5:4 " * 4,
    ],
)
def test_a_key_is_surer_than_its_rivals_and_never_certain(chords: str) -> None:
    for region in keys_of(tune(f"r:{4 * len(chords.split())}", chords)):
        chances = [chance for _, chance in region.alternatives]
        assert 0.5 < region.confidence < 1
        assert chances == sorted(chances, reverse=True)
        assert all(0 < chance < region.confidence for chance in chances)
        keys = [region.key, *(key for key, _ in region.alternatives)]
        assert len(set(keys)) == len(keys)


def test_the_longer_a_key_is_heard_the_surer_it_is() -> None:
    sure = [only_key("C:4 F:4 G:4 C:4 " * rounds).confidence for rounds in (1, 2, 4, 8)]
    assert sure == sorted(sure)
    assert sure[0] < sure[-1]
