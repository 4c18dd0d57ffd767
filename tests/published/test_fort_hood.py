"""Published dart points from Fort Hood, Texas, held against all central Texas types.

Source: see `fort_hood.py`. A trained classifier that has to choose among only the five published
types is right in 0.81 of the pieces at first choice on the codes alone, so a key that knows every
type of the region is asked for the published type among its candidates, not for a single call.
"""

from __future__ import annotations

import pytest

from keygen.core.examine import Examination
from keygen.core.model import Rules
from tests.published.fort_hood import SHARED, examined, shared_rows, typed_rows

Results = list[tuple[str, Examination]]


def listed(examination: Examination) -> list[str]:
    """Return the ids of all candidates, best first."""
    assert examination.call is not None
    return [judgement.type for judgement in examination.call.candidates]


def share_among(results: Results, first: int | None = None) -> float:
    """Return the share of pieces whose published type is among the (first) candidates."""
    return sum(name in listed(e)[:first] for name, e in results) / len(results)


def mean_candidates(results: Results) -> float:
    """Return the mean number of candidates."""
    return sum(len(listed(e)) for _, e in results) / len(results)


def report(title: str, results: Results) -> str:
    """Return the figures in one line."""
    right = sum(listed(e) == [name] for name, e in results)
    single = sum(len(listed(e)) == 1 for _, e in results)
    return (
        f"{title}: n {len(results)}, published type among candidates {share_among(results):.3f}, "
        f"first three {share_among(results, 3):.3f}, "
        f"mean candidates {mean_candidates(results):.1f}, "
        f"single {single}, single and right {right}"
    )


def test_typed_rows(rules: Rules, capsys: pytest.CaptureFixture[str]) -> None:
    """Of twelve rows typed in, the published type is a candidate for at least eleven."""
    results = examined(rules, typed_rows())
    with capsys.disabled():
        print("\n" + report("Fort Hood, 12 rows", results))
    assert share_among(results) >= 11 / 12
    assert mean_candidates(results) <= 8


@pytest.mark.skipif(not SHARED.is_file(), reason="the shared Fort Hood table is not beside us")
def test_shared_rows(rules: Rules, capsys: pytest.CaptureFixture[str]) -> None:
    """On codes and measurements: 97 % are candidates, 8 candidates, 65 % in the first three."""
    results = examined(rules, shared_rows())
    with capsys.disabled():
        print("\n" + report("Fort Hood, codes and measurements", results))
        print(report("Fort Hood, codes alone", examined(rules, shared_rows(), False)))
    assert share_among(results) >= 0.97
    assert mean_candidates(results) <= 8
    assert share_among(results, 3) >= 0.65


@pytest.mark.skipif(not SHARED.is_file(), reason="the shared Fort Hood table is not beside us")
def test_measurements_only_narrow(rules: Rules) -> None:
    """Measurements never add a candidate to what the codes alone leave."""
    codes, both = examined(rules, shared_rows(), False), examined(rules, shared_rows())
    for (_, less), (_, more) in zip(codes, both, strict=True):
        assert set(listed(more)) <= set(listed(less))
