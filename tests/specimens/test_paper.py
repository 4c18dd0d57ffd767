"""Paths written beside the printed key, by someone who follows it to the letter."""

from __future__ import annotations

import random

import pytest

from keygen.core.infer import gone_parts
from keygen.core.model import Lead, Rules
from keygen.core.states import Box, narrow
from keygen.core.walk import Answer, Choice
from keygen.errors import KeygenError
from keygen.pictures.keybook import book, example
from keygen.rulebase.load import load
from keygen.specimens import path
from keygen.specimens.terms import Lexicon
from tests.core.test_regional import single


@pytest.fixture(scope="module")
def shipped_lexicon(rules: Rules) -> Lexicon:
    """Return the words of the rules that ship with keygen."""
    return Lexicon(rules)


def written(rules: Rules, piece: Box, rng: random.Random, doubt: float) -> str:
    """Follow the printed key with a piece in hand and return the path.

    Nothing is known but the pages: of all couplets still open, the one printed first comes next;
    who is unsure, or cannot see, goes on at both numbers. Where neither lead fits, because a doubt
    led there, the follower writes that it cannot be seen.
    """
    pages = {c.number: c for section in book(rules).sections for c in section.couplets}
    order = {number: i for i, number in enumerate(pages)}
    gone = {rules.parts[part] for part in gone_parts(rules, piece)}
    waiting, steps = {rules.couplets[rules.start].number}, []
    while waiting:
        couplet = pages[min(waiting, key=order.__getitem__)]
        leads = rules.couplets[couplet.id].leads
        fitting = [lead.letter for lead in leads if _fits(lead, piece)]
        choice: Choice = "-"
        if couplet.needs not in gone and len(fitting) == 1:
            choice = rng.choice(("?", "-")) if rng.random() < doubt else fitting[0]
        waiting.discard(couplet.number)
        waiting |= {
            lead.to for lead in couplet.leads if lead.to and choice in (lead.letter, "?", "-")
        }
        steps.append(f"{couplet.number}{choice}")
    return " ".join(steps)


def _fits(lead: Lead, piece: Box) -> bool:
    return any(narrow(piece, limits) for limits in lead.leaves)


@pytest.mark.parametrize("seed", range(30))
def test_a_path_from_the_printed_key_is_read(
    rules: Rules, shipped_lexicon: Lexicon, seed: int
) -> None:
    """Whoever follows the printed key is understood, and what the piece shows stays possible."""
    rng = random.Random(seed)
    piece = single(rng, rng.choice(rules.universe))
    steps = written(rules, piece, rng, doubt=(0.0, 0.03, 0.12)[seed % 3])
    found = path.read(shipped_lexicon, steps)
    assert all(seen & shown for seen, shown in zip(found.position.known, piece, strict=True))
    assert not any(branch.at for branch in found.position.branches)
    if not {"?", "-"} & set(steps):
        assert found.remarks == ()
    again = path.write(rules, found.position.steps)
    assert path.read(shipped_lexicon, again).position == found.position


def test_without_doubt_nothing_is_lost(rules: Rules, shipped_lexicon: Lexicon) -> None:
    """A whole piece followed without doubt is described in full, state by state."""
    rng = random.Random(5)
    whole = rules.mask("portion", "complete")
    boxes = [b for b in rules.universe if b[rules.index["portion"]] & whole]
    for box in rng.sample(boxes, 5):
        narrowed = narrow(box, {rules.index["portion"]: whole})
        assert narrowed
        piece = single(rng, narrowed)
        if gone_parts(rules, piece):
            continue
        found = path.read(shipped_lexicon, written(rules, piece, rng, 0.0))
        assert found.position.known == piece


def test_a_way_that_was_ruled_out_is_remarked_on(shipped_lexicon: Lexicon) -> None:
    """An answer on a way that an earlier one has closed is left out, and that is said."""
    start = "1a 3a 24b 37? 38b"
    one, other = (path.read(shipped_lexicon, text) for text in (start, f"{start} 40a"))
    assert other.position == one.position
    assert other.remarks == ("not followed, as earlier steps had ruled them out: 40a",)


def test_a_couplet_on_no_way_is_refused(shipped_lexicon: Lexicon) -> None:
    """An answer that no page leads to is an error, even after a doubt."""
    with pytest.raises(KeygenError, match="couplet 33 is not reached here") as error:
        path.read(shipped_lexicon, "1a 3a 24b 37? 38b 33a")
    assert error.value.problems[0].column == 19


def test_an_answer_can_deny_what_followed_on_one_way(
    rules: Rules, shipped_lexicon: Lexicon
) -> None:
    """Unsure of any damage, then nicks, heat and fresh scars are seen to be absent one by one."""
    doubted = "1a 3b 4a 5a 6a 15b 16a 17a 20? 21b 22a"
    known = path.read(shipped_lexicon, doubted).position.known
    recent = rules.index["damage.recent"]
    assert known[recent] == rules.full[recent]
    found = path.read(shipped_lexicon, f"{doubted} 23a").position
    assert found.known[recent] == rules.attributes[recent].bits["absent"]
    assert not any(isinstance(s, Answer) and s.couplet == "fresh_scars" for s in found.steps)


def test_what_followed_everywhere_cannot_be_denied(shipped_lexicon: Lexicon) -> None:
    """An answer against what the steps before it say is an error with its column."""
    with pytest.raises(KeygenError, match="33b follows from the steps before") as error:
        path.read(shipped_lexicon, "1a 3a 24a 25a stem_shape=expanding 33a")
    assert error.value.problems[0].column == 36


def test_the_example_on_the_first_page_can_be_read(rules: Rules) -> None:
    """The path that the printed key shows is one of its own, in every pack of rules."""
    from keygen import data

    for found in (rules, *(load(pack) for pack in data.packs().values())):
        shown = example(found)
        read = path.read(Lexicon(found), shown)
        assert read.remarks == ()
        assert shown in " ".join(book(found).how)
        assert {shown[-1], shown.split()[-2][-1]} == {"-", "?"}
