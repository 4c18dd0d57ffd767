"""Facts about the pocket page as a file, and that its script does what the core does."""

from __future__ import annotations

import base64
import hashlib
import json
import random
import re
from collections.abc import Iterator
from dataclasses import replace
from html.parser import HTMLParser
from pathlib import Path
from typing import Any

import pytest

from keygen.core.model import Rules
from keygen.core.walk import Answer, Term, replay, start, take
from keygen.pictures.page import page
from keygen.rulebase.load import shipped
from keygen.specimens.terms import Lexicon
from tests.pictures.browser import Watched, browser, opened
from tests.pictures.walks import Walk, clashes, measured, stroll, told

WALKS = 500
MEASURED = 150
SEED = 7


class Parts(HTMLParser):
    """The elements of a page, and the text of its scripts and styles."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.elements: list[tuple[str, dict[str, str | None]]] = []
        self.texts: dict[str, str] = {}
        self._inside = ""
        self.feed(text)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        """Note an element."""
        self.elements.append((tag, dict(attrs)))
        self._inside = tag + (dict(attrs).get("id") or "")

    def handle_endtag(self, tag: str) -> None:
        """Leave an element."""
        del tag
        self._inside = ""

    def handle_data(self, data: str) -> None:
        """Note the text of an element."""
        if self._inside:
            self.texts[self._inside] = self.texts.get(self._inside, "") + data


@pytest.fixture(scope="module")
def whole(rules: Rules, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return the page of all regions as a file."""
    file = tmp_path_factory.mktemp("page") / "points.html"
    file.write_text(page(rules), encoding="utf-8")
    return file


@pytest.fixture(scope="module")
def engine(whole: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Watched]:
    """Return the page of all regions in a browser."""
    with (
        browser(tmp_path_factory.mktemp("profile")) as context,
        opened(context, whole) as watched,
    ):
        yield watched


@pytest.mark.parametrize("region", ["central_texas", "carolina_piedmont"])
def test_page_of_one_region_is_small(rules: Rules, region: str) -> None:
    """The page of one region, with its pictures, stays under 1 MB."""
    assert len(page(rules, [region]).encode()) < 1_000_000


def test_page_names_nothing_to_load(rules: Rules) -> None:
    """No element of the page names a file or an address, and its policy allows none."""
    parts = Parts(page(rules, ["ozarks"]))
    loading = {"src", "href", "srcset", "action", "data", "poster", "xlink:href"}
    assert [tag for tag, attributes in parts.elements if loading & attributes.keys()] == []
    assert not re.search(r"url\(|@import|@font-face", parts.texts["style"])
    (policy,) = (
        attributes["content"]
        for tag, attributes in parts.elements
        if attributes.get("http-equiv") == "Content-Security-Policy"
    )
    rest = re.sub(r"(script|style)-src 'sha256-[^']+'; ", "", str(policy))
    assert rest == "default-src 'none'; base-uri 'none'; form-action 'none'"


def test_policy_allows_the_script_and_style_of_the_page(rules: Rules) -> None:
    """The digests in the policy are those of the page's own script and style."""
    text = page(rules, ["ozarks"])
    parts = Parts(text)
    for tag in ("script", "style"):
        digest = base64.b64encode(hashlib.sha256(parts.texts[tag].encode()).digest()).decode()
        assert f"{tag}-src &#39;sha256-{digest}&#39;" in text


def test_texts_of_the_rules_cannot_leave_their_place(rules: Rules) -> None:
    """A text of the rules that looks like HTML stays a text."""
    rogue = "</script><img src=x>"
    region = replace(rules.regions["ozarks"], label=rogue)
    parts = Parts(page(replace(rules, regions={**rules.regions, "ozarks": region}), ["ozarks"]))
    assert json.loads(parts.texts["scriptrules"])["regions"]["ozarks"]["label"] == rogue
    assert "img" not in {tag for tag, _ in parts.elements}


def test_rules_of_a_pack_make_a_page() -> None:
    """Rules with hafts of their own make a page with pictures of what they say can be drawn."""
    from keygen import data
    from keygen.rulebase.load import load

    pack = load(data.packs()["great_basin"])
    text = page(pack)
    assert all(f'"{name}"' in text for name in pack.types)
    drawn = {a["data-of"] for _, a in Parts(text).elements if "data-of" in a}
    assert {"5a", "8b", "type rosegate"} <= drawn
    assert not {"18a", "23b"} & drawn


def test_page_agrees_with_the_core(rules: Rules, engine: Watched) -> None:
    """On 500 random walks the page says of a piece exactly what the core says.

    State sets and how they came about, the running description, candidates and their criteria, near
    misses, other regions, cautions, the path and the whole record.
    """
    rng, lexicon = random.Random(SEED), Lexicon(rules)
    walks = [stroll(lexicon, rng) for _ in range(WALKS)]
    early = (Answer("haft_set_off", "?", ahead=True), Answer("shoulders_seen", "a", ahead=True))
    walks.append(Walk("ozarks", replay(rules, early)))  # seen, whatever was doubted before
    wanted = [told(rules, walk) for walk in walks]
    asked = [[walk.region, one["path"]] for walk, one in zip(walks, wanted, strict=True)]
    found = engine.page.evaluate("(all) => all.map(([r, p]) => keygenPage.read(r, p))", asked)
    for one, other in zip(wanted, found, strict=True):
        assert other == one
    assert {one["status"] for one in wanted} >= {"", "cf.", "either", "untyped", "assigned"}
    assert any(one["couplet"] is None for one in wanted)
    assert any(clashes(rules, walk) for walk in walks)
    assert sum(len(one["near"]) for one in wanted) > WALKS
    assert sum(len(one["elsewhere"]) for one in wanted) > WALKS / 2


def test_page_weighs_measurements_as_the_core_does(rules: Rules, engine: Watched) -> None:
    """On 150 walks with random measurements derived states, call and record are the core's.

    Figures across breaks, in other units and on pieces that lost a part are among them; what a
    measurement settles, what the eye overrules, and ranges that support a type or do not.
    """
    rng, lexicon = random.Random(SEED + 1), Lexicon(rules)
    walks = [(stroll(lexicon, rng), measured(rules, rng)) for _ in range(MEASURED)]
    drill = start(rules)
    for name, state in (("haft_style", "stemmed"), ("reworked_as", "drill")):
        drill = take(rules, drill, Term(rules.index[name], rules.mask(name, state)))
    made_over = Walk("central_texas", drill)  # its blade is not weighed, its size as measured is
    walks += [(made_over, {"neck_width": n, "thickness": "3.0"}) for n in ("5.0", "19.0")]
    wanted = [told(rules, walk, entered) for walk, entered in walks]
    asked = [
        [walk.region, one["path"], entered]
        for (walk, entered), one in zip(walks, wanted, strict=True)
    ]
    script = "(all) => all.map(([r, p, m]) => keygenPage.read(r, p, m))"
    found = engine.page.evaluate(script, asked)
    for one, other in zip(wanted, found, strict=True):
        assert other == one
    assert sum(how == "measured" for one in wanted for _, how in one["judged"]) > MEASURED
    assert sum(bool(one["otherwise"]) for one in wanted) > 10
    assert sum(bool(c["outside"]) for one in wanted for c in one["candidates"]) > 10
    assert sum(bool(c["inside"]) for one in wanted for c in one["candidates"]) > 10


def test_page_knows_every_word(engine: Watched) -> None:
    """Every word of the vocabulary and the thesaurus is found, with all of its meanings."""
    lexicon = Lexicon(shipped())
    words = sorted(
        {*lexicon.thesaurus, *(word for each in lexicon.words.values() for word in each)}
    )
    found = engine.page.evaluate("(words) => words.map((w) => keygenPage.find(w))", words)
    for word, meanings in zip(words, found, strict=True):
        told_of = [(name, dict(map(tuple, limits))) for name, limits in meanings]
        for meaning in lexicon.find(word):
            assert (meaning.name, dict(meaning.limits)) in told_of, word


def test_several_words_of_one_attribute_leave_several_states(engine: Watched) -> None:
    """`straight or excurvate` leaves both states of each attribute that has them."""
    lexicon = Lexicon(shipped())
    found = engine.page.evaluate("keygenPage.find('straight or excurvate')")
    wanted = {(m.name, *m.limits.items()) for m in lexicon.find("straight or excurvate")}
    assert {(name, *map(tuple, limits)) for name, limits in found} == wanted


@pytest.mark.parametrize(
    ("path", "said"),
    [
        ("1a 3a 99999a", "There is no couplet 99999"),
        ("1a 24a", "Couplet 24 is not reached here"),
        ("1a 1b", "Couplet 1 has been answered already"),
        ("1a 3x", "is not a step"),
        ("1a haft_style=quadrangular", "is not a state of haft_style"),
        ("1a colour=red", "is not known"),
        ("1a haft_style=stemmed notch_position=corner", "notch position is settled as none"),
    ],
)
def test_faulty_paths_are_told(engine: Watched, path: str, said: str) -> None:
    """A path that cannot be read is refused with the step at fault."""
    script = "(p) => { try { keygenPage.read('', p); return ''; } catch (e) { return e.message; } }"
    told_of: Any = engine.page.evaluate(script, path)
    last = path.split()[-1]
    assert said in told_of
    assert f"At “{last}”" in told_of


def test_a_path_of_a_notebook_is_read_past_what_follows(engine: Watched) -> None:
    """Edition, commas and couplets that need no asking are read past."""
    plain = engine.page.evaluate("keygenPage.read('ozarks', '1a 3a 24a')")
    noted = engine.page.evaluate("keygenPage.read('ozarks', '2026.1: 1A, 3a; 24a')")
    assert noted == plain
