"""The published Fort Hood points: what one more observation would do, on the codes alone.

Source: see `fort_hood.py`. The scheme's codes say nothing of size, strength of shoulders, grinding
or blade edge, so most pieces are left with several types; the next look says where to look first.
"""

from __future__ import annotations

from collections import Counter

import pytest

from keygen.core.call import call
from keygen.core.examine import Examination
from keygen.core.infer import close
from keygen.core.model import Rules
from tests.published.fort_hood import SHARED, examined, shared_rows, typed_rows


def lists_after(rules: Rules, examination: Examination) -> list[int]:
    """Return how many types are left after the next look, for each state it can show."""
    look = examination.next_look
    if look is None:
        return []
    known = examination.known
    attribute = rules.attributes[look.attribute]
    return [
        len(call(rules, examination.region, close(rules, masks)).candidates)
        for bit in attribute.bits.values()
        if known[look.attribute] & bit
        for masks in [[bit if i == look.attribute else m for i, m in enumerate(known)]]
    ]


def told(rules: Rules, title: str, results: list[tuple[str, Examination]]) -> tuple[str, int]:
    """Return the figures in one line, and how many pieces one look brings to a single type."""
    several = [e for _, e in results if e.call is not None and len(e.call.candidates) > 1]
    after = [lists_after(rules, e) for e in several]
    can = sum(1 in counts for counts in after)
    always = sum(bool(counts) and max(counts) <= 1 for counts in after)
    now = sum(len(e.call.candidates) for e in several if e.call) / len(several)
    left = sum(e.next_look.leaves for e in several if e.next_look) / len(several)
    first = Counter(rules.attributes[e.next_look.attribute].id for e in several if e.next_look)
    named = ", ".join(f"{name} {n}" for name, n in first.most_common(4))
    line = (
        f"{title}: n {len(results)}, more than one type left {len(several)} "
        f"(mean {now:.1f}); after the next look {left:.1f} on average; it can bring {can} of them "
        f"to a single type, and does so for {always} whatever it shows. Looks: {named}"
    )
    return line, can


def test_typed_rows(rules: Rules, capsys: pytest.CaptureFixture[str]) -> None:
    """Of twelve rows, every one with several types left has a look that would cut them."""
    results = examined(rules, typed_rows(), with_measures=False)
    line, _ = told(rules, "Fort Hood, 12 rows, codes alone", results)
    with capsys.disabled():
        print("\n" + line)
    for _, e in results:
        assert e.call is not None
        if len(e.call.candidates) > 1:
            assert e.next_look is not None
            assert e.next_look.leaves <= 0.8 * len(e.call.candidates)


@pytest.mark.skipif(not SHARED.is_file(), reason="the shared Fort Hood table is not beside us")
def test_shared_rows(rules: Rules, capsys: pytest.CaptureFixture[str]) -> None:
    """On all rows one more look leaves at most two thirds of the types, on average."""
    results = examined(rules, shared_rows(), with_measures=False)
    line, can = told(rules, "Fort Hood, codes alone", results)
    with capsys.disabled():
        print("\n" + line)
    assert can > 0
    ratios = [
        e.next_look.leaves / len(e.call.candidates)
        for _, e in results
        if e.call is not None and e.next_look is not None
    ]
    assert sum(ratios) / len(ratios) <= 2 / 3
