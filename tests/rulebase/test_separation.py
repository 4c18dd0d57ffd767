"""Facts about how many pairs of types are hard to tell apart."""

from __future__ import annotations

from dataclasses import replace

from keygen.core.model import Rules
from keygen.core.separate import Kind, tell_missing
from tests.rulebase.separation import FILE, growth, hard_pairs, read, record, written

MOST_LOOK_ALIKES = 6


def test_no_growth(rules: Rules) -> None:
    """In no region are there more hard pairs of types than recorded in separation.yaml."""
    assert growth(read(), hard_pairs(rules)) == []


def test_growth_is_named(rules: Rules) -> None:
    """A type with the definition of another is reported as a new pair, in each of its regions."""
    gary = rules.types["gary"]
    twin = replace(gary, id="gary_twin")
    more = replace(rules, types={**rules.types, "gary_twin": twin})
    grown = growth(record(hard_pairs(rules)), hard_pairs(more))
    same = [line for line in grown if "pairs same or harder" in line]
    assert {line.split(":")[0] for line in same} == {
        r.region for r in gary.records if not r.local_type
    }
    assert all("gary/gary_twin" in line for line in same)


def test_easier_pairs_are_no_growth(rules: Rules) -> None:
    """A pair that becomes easier to part is never reported."""
    gary = rules.types["gary"]
    twin = replace(gary, id="gary_twin")
    half = replace(gary, id="gary_twin", defined_by=gary.defined_by[:-1])
    both = [replace(rules, types={**rules.types, "gary_twin": kind}) for kind in (twin, half)]
    before, after = (record(hard_pairs(changed)) for changed in both)
    pair = frozenset(("gary", "gary_twin"))
    assert (before.kinds[pair], after.kinds[pair]) == (Kind.SAME, Kind.SIZE)
    only = {
        region: [p for p in listed if {p.first, p.second} == pair]
        for region, listed in hard_pairs(both[1]).items()
    }
    assert growth(before, only) == []


def test_record_reads_back(rules: Rules) -> None:
    """The file is exactly what would be written from it, and every type in it exists."""
    recorded = read()
    assert written(recorded) == FILE.read_text(encoding="utf-8")
    assert set(recorded.counts) == set(rules.regions)
    assert {name for names in recorded.kinds for name in names} <= set(rules.types)


def test_inseparable_pairs_have_a_tell(rules: Rules) -> None:
    """Wherever no observation parts two types, one of them says what an analyst looks at."""
    assert [
        (region, pair.first, pair.second)
        for region, listed in hard_pairs(rules).items()
        for pair in listed
        if tell_missing(rules, pair)
    ] == []


def test_look_alikes_are_few(rules: Rules) -> None:
    """No type has more than six look-alikes, none twice, and no tell ends with a full stop."""
    for kind in rules.types.values():
        names = [alike.type for alike in kind.look_alikes]
        assert len(names) == len(set(names)) <= MOST_LOOK_ALIKES, kind.id
        assert not [a.tell for a in kind.look_alikes if a.tell.endswith(".")], kind.id
