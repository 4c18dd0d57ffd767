"""What if in words: two demo pieces, every supposition, plain data, the same bytes always."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from collections.abc import Mapping
from dataclasses import replace
from itertools import combinations
from pathlib import Path

import pytest
from syrupy.assertion import SnapshotAssertion
from syrupy.extensions.single_file import SingleFileSnapshotExtension, WriteMode

from keygen.cli.demo import examined as examined_all
from keygen.cli.demo import records
from keygen.core.examine import Examination, examine
from keygen.core.model import Attribute
from keygen.core.smallest import Least
from keygen.core.whatif import Outcome
from keygen.core.whatif import what_if as worked_out
from keygen.prose.sights import look
from keygen.prose.suppose import supposed
from keygen.prose.whatif import _least, put, what_if, what_if_json
from keygen.rulebase.load import shipped
from tests.prose.pieces import examined, rules, words
from tests.prose.test_sentences import FAULTS

SHIPPED = shipped()
CHECKOUT = Path(__file__).parents[2]
EVERYTHING = """
import json
from keygen import prose
from keygen.cli.demo import examined, records
from keygen.prose.whatif import what_if, what_if_json
from keygen.rulebase.load import shipped

rules = shipped()
for examination in examined(rules, records()):
    for register in prose.REGISTERS:
        print(prose.describe(rules, examination, register))
    print(prose.trace(rules, examination))
    print(what_if(rules, examination))
    print(json.dumps(prose.to_json(rules, examination)))
    print(json.dumps(what_if_json(rules, examination)))
"""


class Markdown(SingleFileSnapshotExtension):
    """One readable file a piece."""

    file_extension = "md"
    _write_mode = WriteMode.TEXT


@pytest.fixture(scope="module")
def survey() -> Mapping[str, Examination]:
    """Return the specimens of the demo under the rules that ship, by number."""
    return {e.piece.label: e for e in examined_all(SHIPPED, records())}


@pytest.mark.parametrize("label", ["VS-10", "VS-16"])
def test_words(
    label: str,
    survey: Mapping[str, Examination],
    snapshot: SnapshotAssertion,
) -> None:
    """A piece with one call and one with something open read as they were last reviewed."""
    text = what_if(SHIPPED, survey[label]) + "\n"
    assert text == snapshot(extension_class=Markdown)


def test_every_piece_of_the_demo_is_worded(survey: Mapping[str, Examination]) -> None:
    """Each line of each piece is well formed, and each sentence starts large and ends in a stop."""
    for examination in survey.values():
        lines = what_if(SHIPPED, examination).splitlines()
        by_region = next(n for n, line in enumerate(lines) if line == "By region")
        for line in lines:
            bare = line.replace(", var.", " var.")
            assert not FAULTS.search(bare), line
            assert line.count("(") == line.count(")")
        for line in lines[:by_region]:
            if line.startswith("- "):
                assert line[2].isupper(), line
                assert line.endswith("."), line
        assert len(lines) - by_region - 1 == len(SHIPPED.regions)


@pytest.mark.parametrize("attribute", words().attributes, ids=lambda a: a.id)
def test_every_supposition(attribute: Attribute) -> None:
    """One state or two of an attribute make a clause without a fault, which names each once."""
    bits = tuple(attribute.bits.values())
    masks = [*bits, *(a | b for a, b in combinations(bits, 2))]
    clauses = [supposed(attribute, mask) for mask in masks]
    for clause in clauses:
        assert not FAULTS.search(f"If {clause}, the call would be another."), clause
        assert "absent" not in clause, clause
    assert len(set(clauses[: len(bits)])) == len(bits)


def test_suppositions() -> None:
    """What has no plain predicate is supposed in words of its own."""
    index, attributes = rules().index, rules().attributes

    def clause(name: str, *states: str) -> str:
        return supposed(attributes[index[name]], rules().mask(name, *states))

    assert clause("base_shape", "straight", "incurvate") == "the base were straight or incurvate"
    assert clause("notch_position", "side", "corner") == "the piece were side- or corner-notched"
    assert clause("notch_count", "none") == "the piece had no paired notches"
    assert clause("haft_grinding", "none", "both") == (
        "the haft were unground or ground on base and lateral margins"
    )
    assert clause("barb_reach", "none", "level") == (
        "the piece had no barbs or the barbs ended level with the base"
    )
    assert clause("reworked_as", "drill") == "the piece were reworked into a drill"
    assert (
        clause("resharpening", "light", "heavy") == "the blade were lightly or heavily resharpened"
    )
    assert clause("base_width_class", "equal", "wider") == (
        "the base were about as wide as or wider than the shoulders or blade"
    )
    assert clause("damage.heat", "present") == "the damage included heat damage"


def test_calls_in_short() -> None:
    """A call is put with its status; of many types a few are named, or what differs."""
    kinds = tuple(rules().types)
    several = Outcome("either", "", kinds[:5], frozenset(kinds[:5]))
    fewer = replace(several, types=kinds[1:6], among=frozenset(kinds[1:6]))
    names = [rules().types[name].name for name in kinds]
    one = Outcome("assigned", "", kinds[:1], frozenset(kinds[:1]))
    assert put(rules(), one) == f"{names[0]} (assigned)"
    assert put(rules(), replace(one, status="cf.")) == f"cf. {names[0]}"
    two = replace(several, types=kinds[:2], among=frozenset(kinds[:2]))
    assert put(rules(), two) == f"either {names[0]} or {names[1]}"
    assert put(rules(), several) == (
        f"one of five types, foremost {names[0]}, {names[1]} and {names[2]}"
    )
    assert put(rules(), fewer, several) == (
        f"one of five types, with {names[5]} added and {names[0]} dropped"
    )
    none = Outcome("untyped", "none_fits", (), frozenset())
    assert put(rules(), none) == "untyped (no type fits)"


def test_a_set_that_may_not_be_the_smallest_says_so() -> None:
    """Only where the search was exact is a set given as the fewest there can be."""
    style = rules().index["haft_style"]
    seen = look(rules(), examined(haft_style="stemmed"))
    remark = "(none can be spared, but another set may be smaller)"
    assert _least(rules(), Least((style,), True), ("give it", "gives it"), seen) == (
        "- This one alone gives it: stemmed."
    )
    assert remark in _least(rules(), Least((style,), False), ("give it", "gives it"), seen)


def test_without_a_region() -> None:
    """Without a region there is no call to change, and only the regions are told."""
    text = what_if(rules(), examined(label="T-1", haft_style="stemmed", stem_shape="contracting"))
    assert text.splitlines()[0] == "What if: by region"
    assert len(text.splitlines()) == 1 + len(rules().regions)


def test_plain_data(survey: Mapping[str, Examination]) -> None:
    """Plain data survives JSON, and each change in it can be reproduced by an examination."""
    examination = survey["VS-10"]
    data = what_if_json(SHIPPED, examination)
    assert json.loads(json.dumps(data, allow_nan=False)) == data
    found = worked_out(SHIPPED, examination)
    assert isinstance(data["changes"], list)
    assert len(data["changes"]) == len(found.changes.found)
    piece = examination.piece
    change = data["changes"][0]
    i = SHIPPED.index[change["attribute"]]
    assert change["observed"] == list(SHIPPED.attributes[i].ids(piece.observations[i].mask))
    other = replace(
        piece.observations[i], mask=SHIPPED.mask(change["attribute"], change["states"][0])
    )
    then = examine(
        SHIPPED, replace(piece, observations={**piece.observations, i: other}), examination.region
    )
    assert then.call is not None
    assert change["call"]["status"] == then.call.status
    assert set(change["call"]["types"]) == set(then.call.types)
    assert data["fewest"] == {
        "same_call": {
            "attributes": [
                SHIPPED.attributes[j].id
                for j in (found.smallest.call or Least((), True)).attributes
            ],
            "exact": True,
        },
        "same_types": {
            "attributes": ["stem_length", "base_shape", "shoulder_strength"],
            "exact": True,
        },
    }


def test_two_processes_give_the_same_bytes() -> None:
    """Account, trace, what-if and JSON do not depend on the order in which a process hashes."""
    written = []
    for seed in ("1", "2"):
        run = subprocess.run(
            [sys.executable, "-c", EVERYTHING],
            cwd=CHECKOUT,
            env={**os.environ, "PYTHONHASHSEED": seed},
            capture_output=True,
            check=True,
            timeout=120,
        )
        written.append(run.stdout)
    assert len(written[0]) > 100_000
    assert written[0] == written[1]
