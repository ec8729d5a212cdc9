"""Broken files of every kind: each opens or is refused in words, and nothing outside is touched.

The suite opens a few hundred, and each named way of breaking a score goes the whole path.
``--full`` opens 20,000, one in ten along the whole path; `tests.faults.fuzz` does that by itself.
"""

from __future__ import annotations

import json
from collections.abc import Iterable

import pytest

from tests.faults.cases import case, named_cases
from tests.faults.fuzz import WHOLE, Outcome, fuzz

FEW, MANY = 240, 20_000
#: Ways of breaking a score that make it so large that it is only opened here.
SLOW = ("ten_thousand_measures", "thirty_parts", "zip_bomb")


def outcome_of(numbers: Iterable[tuple[int, bool]]) -> Outcome:
    outcome = Outcome()
    for said in fuzz(numbers):
        outcome.add(said)
    return outcome


def check(outcome: Outcome) -> None:
    assert not outcome.wrong, json.dumps(outcome.wrong[:3], indent=1)
    #: Verovio may crash or hang on the whole path, and nothing else may anywhere.
    beyond = [cut for cut in outcome.cut if cut["phase"] not in ("engrave", "still")]
    assert not beyond, json.dumps(beyond[:3], indent=1)


def test_every_way_of_breaking_a_score() -> None:
    ways = named_cases("/nowhere/secret.xml")
    outcome = outcome_of((one.number, one.what not in SLOW) for one in ways)
    check(outcome)
    assert not outcome.cut, json.dumps(outcome.cut[:3], indent=1)
    assert sum(outcome.counts.values()) == len(ways)


def test_a_few_hundred_cases() -> None:
    check(outcome_of((number, False) for number in range(FEW)))


def test_what_killed_verovio_is_mended_in_its_copy() -> None:
    """A clef of no staff, a rest in a chord beside a clef, and divisions of nothing."""
    outcome = outcome_of((number, True) for number in (11_220, 11_400, 12_990))
    check(outcome)
    assert not outcome.cut, json.dumps(outcome.cut, indent=1)


@pytest.mark.full
def test_twenty_thousand_cases() -> None:
    check(outcome_of((number, number % WHOLE == 0) for number in range(MANY)))


def test_a_number_always_means_the_same_case() -> None:
    for number in range(60):
        assert case(number, "/a/secret") == case(number, "/a/secret")
