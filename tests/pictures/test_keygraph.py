"""The graph of the key, in the DOT language and as a drawing."""

from __future__ import annotations

import re
import xml.etree.ElementTree as ET
from collections import Counter
from dataclasses import replace
from itertools import pairwise
from textwrap import wrap

import pytest
from hypothesis import given
from hypothesis import strategies as st

from keygen.core.model import Rules
from keygen.pictures import keygraph
from keygen.pictures.keygraph import dot, svg
from keygen.pictures.layers import layout, spaced
from keygen.rulebase.load import shipped

SVG = "{http://www.w3.org/2000/svg}"
GRAPHS = st.integers(1, 12).flatmap(
    lambda n: st.sets(
        st.tuples(st.integers(0, n - 1), st.integers(0, n - 1)).filter(lambda e: e[0] < e[1])
    ).map(lambda edges: (n, sorted(edges)))
)


def edges_of(rules: Rules) -> list[tuple[str, str, str]]:
    """Return every lead as couplet, letter and where it goes."""
    return [
        (str(c.number), lead.letter, str(rules.couplets[lead.go].number) if lead.go else "end")
        for c in rules.couplets.values()
        for lead in c.leads
    ]


def test_dot_holds_every_lead(rules: Rules) -> None:
    """Read back, the graph has a node for each couplet and an edge for each lead."""
    text = dot(rules)
    found = re.findall(r"^  (\d+) -> (\w+) \[label=([ab]),", text, re.MULTILINE)
    assert sorted((one, letter, other) for one, other, letter in found) == sorted(edges_of(rules))
    nodes = re.findall(r"^    (\d+) \[label=", text, re.MULTILINE)
    assert sorted(map(int, nodes)) == sorted(rules.by_number)
    assert text.count("{") == text.count("}")
    assert rules.digest in text


def test_dot_quotes_what_it_is_given(rules: Rules) -> None:
    """Quotation marks and backslashes in a question do not end its label."""
    couplet = replace(rules.couplets[rules.start], ask='Is it "whole" \\ sound?')
    text = dot(replace(rules, couplets={**rules.couplets, rules.start: couplet}))
    assert '[label="1 Is it \\"whole\\" \\\\ sound?"];' in text


def test_the_drawing_shows_every_couplet_and_lead(rules: Rules) -> None:
    """Each couplet has a box with number and question, and each of its leads a letter."""
    root = ET.fromstring(svg(rules))
    texts = ["".join(t.itertext()) for t in root.iter(f"{SVG}text")]
    for couplet in rules.couplets.values():
        assert str(couplet.number) in texts
        assert "".join(wrap(couplet.ask, keygraph.LETTERS)) in texts
    says = Counter(t.text for t in root.iter(f"{SVG}title"))
    said = Counter(lead.say for c in rules.couplets.values() for lead in c.leads)
    assert said <= says
    colours = {e.get(name) for e in root.iter() for name in ("fill", "stroke")} - {None, "none"}
    assert colours == {"#000", "#fff", "#ddd"}


def test_the_questions_fit_their_boxes(rules: Rules) -> None:
    """No question has more lines than its box has room for."""
    for couplet in rules.couplets.values():
        assert len(wrap(couplet.ask, keygraph.LETTERS)) * keygraph.LINE <= keygraph.HIGH - 6


def test_no_line_runs_through_a_box(rules: Rules) -> None:
    """Between two layers lines are free; past a layer they keep clear of every box in it."""
    from keygen.pictures.keybook import book

    for section in book(rules).sections:
        own = [str(c.number) for c in section.couplets]
        edges = [(str(c.number), str(lead.to)) for c in section.couplets for lead in c.leads]
        outside = sorted({end for _, end in edges} - set(own))
        plan = layout([*own, *outside], edges, keygraph.WIDE + keygraph.BESIDE, keygraph.PASS)
        for k, row in enumerate(plan.layers):
            boxes = [plan.x[s] for s in row if plan.layer[s[0]] == k]
            for spot in row:
                if plan.layer[spot[0]] != k:
                    assert all(abs(plan.x[spot] - x) > keygraph.WIDE / 2 + 9 for x in boxes)


@given(GRAPHS)
def test_every_edge_has_its_way_down(graph: tuple[int, list[tuple[int, int]]]) -> None:
    """For any acyclic graph a chain of links, layer by layer, joins the ends of every edge."""
    count, numbers = graph
    nodes = [str(i) for i in range(count)]
    edges = [(str(one), str(other)) for one, other in numbers]
    plan = layout(nodes, edges, 10.0, 2.0)
    assert set(plan.layer) == set(nodes)
    assert all(other[1] == one[1] + 1 for one, other in plan.links)
    for one, other in edges:
        assert plan.layer[one] < plan.layer[other]
        way = [(one, plan.layer[one])]
        way += [(other, k) for k in range(plan.layer[one] + 1, plan.layer[other] + 1)]
        assert set(pairwise(way)) <= plan.links
    spots = {spot for link in plan.links for spot in link}
    assert spots <= {spot for row in plan.layers for spot in row} == set(plan.x)


@given(GRAPHS)
def test_nothing_lies_over_anything(graph: tuple[int, list[tuple[int, int]]]) -> None:
    """In a layer, nodes and passes keep the room that they were given."""
    count, numbers = graph
    edges = [(str(one), str(other)) for one, other in numbers]
    plan = layout([str(i) for i in range(count)], edges, 10.0, 2.0)
    for k, row in enumerate(plan.layers):
        room = [10.0 if plan.layer[name] == k else 2.0 for name, _ in row]
        for (one, other), (a, b) in zip(pairwise(row), pairwise(room), strict=True):
            assert plan.x[other] - plan.x[one] >= (a + b) / 2 - 1e-6


@given(st.lists(st.floats(-50, 50), min_size=1, max_size=8), st.floats(0, 20))
def test_places_are_no_further_off_than_needed(wanted: list[float], gap: float) -> None:
    """What is already apart stays; what is not is moved apart around its own middle."""
    apart = [gap] * (len(wanted) - 1)
    places = spaced(wanted, apart, [1.0] * len(wanted))
    assert all(b - a >= gap - 1e-6 for a, b in pairwise(places))
    assert sum(places) == pytest.approx(sum(wanted), abs=1e-6)
    if all(b - a >= gap for a, b in pairwise(wanted)):
        assert places == pytest.approx(wanted)


def test_what_weighs_more_moves_less() -> None:
    """Two that want one place are set apart by weight."""
    assert spaced([0.0, 0.0], [10.0], [4.0, 1.0]) == pytest.approx([-2.0, 8.0])


def test_the_drawing_is_always_the_same() -> None:
    """Drawn twice, the key gives the same drawing, byte for byte."""
    assert svg(shipped()) == svg(replace(shipped()))
