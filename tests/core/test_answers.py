"""Facts about single indices, each worked out by hand from one to three measurements."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

import pytest

from keygen.core.coding import Coded, cell
from keygen.core.examine import Piece, examine
from keygen.core.indices import (
    Character,
    Code,
    Ground,
    Group,
    Index,
    StandIn,
    Weight,
    Zone,
)
from keygen.core.measure import read
from keygen.core.model import Rules
from keygen.core.observe import Observation
from keygen.core.result import Lack, Result
from keygen.core.scores import Answer, answered, results, work_out
from keygen.core.span import Span
from tests.published.indices import indices

GROUND = Ground("common")


def one(rules: Rules, index: Index, scored: Mapping[str, str] | None = None, **mm: str) -> Result:
    """Return the only index of some rules, from measurements as entered."""
    return indices(replace(rules, indices={index.id: index}), mm, None, scored)[index.id]


def test_differences(small_rules: Rules) -> None:
    """A difference is least where the first is least and the second most."""
    index = Index("flare", "flare", "difference", GROUND, ("base_width", "neck_width"))
    assert one(small_rules, index, base_width="14.0", neck_width="11").figure == Span(3, 2.45, 3.55)


def test_values(small_rules: Rules) -> None:
    """The figure of a single measurement is that measurement, with its interval."""
    index = Index("long", "long", "value", GROUND, ("length",))
    assert one(small_rules, index, length="40").figure == Span(40, 39.5, 40.5)


def test_a_part_is_cut_off_at_the_whole(small_rules: Rules) -> None:
    """A part of a whole ends at the whole, unless the figure as entered says more already."""
    index = Index("share", "share", "ratio", GROUND, ("neck_width", "width"), at_most=1.0)
    less = one(small_rules, index, neck_width="19", width="20").figure
    assert less == Span(0.95, 0.902439024, 1.0)
    equal = one(small_rules, index, neck_width="20", width="20").figure
    assert equal == Span(1.0, 0.951219512, 1.0)
    more = one(small_rules, index, neck_width="21", width="20").figure
    assert more == Span(1.05, 1.0, 1.102564103)


def test_too_small_to_divide_by(small_rules: Rules) -> None:
    """A difference that may be nothing is too small to be divided by, and is named."""
    flare = Index("flare", "flare", "difference", GROUND, ("base_width", "neck_width"))
    index = Index("rise", "rise", "ratio", GROUND, ("length", "flare"))
    rules = replace(small_rules, indices={"flare": flare, "rise": index})
    found = indices(rules, {"length": "30", "base_width": "12", "neck_width": "11"})["rise"]
    assert found.lacks == (Lack("flare", "unreadable", said="too small"),)
    assert not found.computed
    wide = indices(rules, {"length": "30", "base_width": "16", "neck_width": "11"})["rise"]
    assert wide.figure == Span(6.0, 4.916666667, 7.625)
    assert wide.used == ("length", "base_width", "neck_width")


def test_where_a_zone_ends(small_rules: Rules) -> None:
    """A figure on a limit is of the zone that the limit belongs to, and of that one only."""
    says = [("little",), ("big", "little"), ("big",)]
    zones = (Zone(says[0], 20.0, True), Zone(says[1], 25.0, False), Zone(says[2]))
    index = Index(
        "wide", "wide", "value", GROUND, ("width",), zones=zones, question="big_or_little"
    )

    def at(low: float, high: float) -> tuple[tuple[str, ...], str, bool]:
        value = (low + high) / 2
        reading = replace(read("20", "mm"), value=value, low=low, high=high)
        rules = replace(small_rules, indices={"wide": index})
        (found,) = work_out(rules, rules.full, {"width": reading}, {})
        return found.says, found.leads, found.undecided

    both = ("big", "little")
    assert at(19, 20) == (("little",), "little", False)
    assert at(20, 20) == (("little",), "little", False)
    assert at(20, 21) == (both, "", True)
    assert at(21, 24) == (both, "", True)
    assert at(24, 25) == (both, "", True)
    assert at(25, 25) == (("big",), "big", False)
    assert at(25, 30) == (("big",), "big", False)
    assert at(10, 30) == (both, "little", False)


def test_the_range_that_is_undecided(small_rules: Rules) -> None:
    """A term that only touches the range in which functions are not trusted leaves all of them."""
    heft = small_rules.indices["heft"]
    rules = replace(
        small_rules, indices={"slimness": small_rules.indices["slimness"], "heft": heft}
    )

    def at(low: float, high: float) -> tuple[bool, tuple[str, ...]]:
        length = replace(read("25", "mm"), value=(low + high) / 2, low=low, high=high)
        width = replace(read("10", "mm"), low=10.0, high=10.0)
        readings = {"length": length, "width": width}
        found = work_out(rules, rules.full, readings, {})[1]
        return found.undecided, found.says

    assert at(22.0, 24.0) == (True, ("big", "little"))
    assert at(26.0, 28.0) == (True, ("big", "little"))
    assert at(22.0, 23.9) == (False, ("big",))
    assert at(26.1, 28.0) == (False, ("big",))
    # the difference is 0.7 L - 15 here, and is nothing at 21.43
    assert at(20.0, 21.0) == (False, ("little",))
    assert at(21.0, 22.0) == (False, ("big", "little"))


def test_what_stands_in(small_rules: Rules) -> None:
    """A term that is wanting is replaced by another one, unless the piece rules that out."""
    style = small_rules.index["haft_style"]
    stemmed = small_rules.mask("haft_style", "stemmed")
    index = Index(
        "slim", "slim", "ratio", GROUND, ("length", "width"),
        stand_ins=(
            StandIn("length", "thickness"),
            StandIn("width", "neck_width", {style: stemmed}),
            StandIn("width", "base_width"),
        ),
    )  # fmt: skip
    rules = replace(small_rules, indices={"slim": index})

    def told(states: dict[str, tuple[str, ...]] | None = None, **mm: str) -> Result:
        return indices(rules, mm, states)["slim"]

    whole = told(length="30", width="10", neck_width="6")
    assert (whole.stood_in, whole.used) == ((), ("length", "width"))
    necked = told(length="30", neck_width="6", base_width="5")
    assert (necked.stood_in, necked.used) == ((("width", "neck_width"),), ("length", "neck_width"))
    assert necked.figure is not None
    assert necked.figure.value == 5.0
    plain = told({"haft_style": ("lanceolate",)}, length="30", neck_width="6", base_width="5")
    assert plain.stood_in == (("width", "base_width"),)
    assert plain.used == ("length", "base_width")
    assert told(length="30").lacks == (Lack("width", "not_measured"),)


def test_ranges_of_codes() -> None:
    """Rounding half up, 1.0 to 1.9 takes in 0.95 and ends before 1.95; without it limits stay."""
    code = Code(1, 1.0, 1.9)
    assert cell(Character("", (code,), decimals=1), code) == (0.95, 1.95)
    assert cell(Character("", (code,), decimals=0), code) == (0.5, 2.4)
    assert cell(Character("", (code,)), code) == (1.0, 1.9)


def test_one_digit_is_certain() -> None:
    """A character is certain with one digit and nothing beyond the scheme."""
    assert Coded((2,), False, 2).single
    assert not Coded((2,), True, 2).single
    assert not Coded((1, 2), False, 2).single
    assert not Coded().single


def test_codes_from_marks_figures_and_states(small_rules: Rules) -> None:
    """A character is read from what was scored, else from its figure, else from what was seen."""
    style = small_rules.index["haft_style"]
    codes = (
        Code(1, 0.0, 20.0, "0", {style: small_rules.mask("haft_style", "lanceolate")}),
        Code(2, 20.0, 30.0, "1", {style: small_rules.mask("haft_style", "stemmed")}),
    )
    nick = {"nicks": replace(small_rules.scored["nicks"], count=1)}
    every = Character("I", codes, scored="nicks", term="width")

    def coded(
        character: Character, scored: str = "", style: tuple[str, ...] = (), **mm: str
    ) -> Result:
        index = Index("code", "code", "code", GROUND, characters=(character,))
        rules = replace(small_rules, indices={"code": index}, scored=nick)
        states = {"haft_style": style} if style else None
        return indices(rules, mm, states, {"nicks": scored})["code"]

    assert coded(every, "1", width="10").characters == (Coded((2,), False, 2),)
    assert coded(every, "1", width="10").used == ()
    assert coded(every, "0,1", width="10").characters == (Coded((1, 2), False, 0),)
    assert coded(every, "", width="10").characters == (Coded((1,), False, 1),)
    assert coded(every, "", width="10").used == ("width",)
    # on the limit, which nothing rounds away, both; the figure as entered is of the first
    assert coded(every, "", width="20").characters == (Coded((1, 2), False, 1),)
    unread = coded(every, "7", width="10")
    assert unread.lacks == (Lack("nicks", "unreadable", said="'7' is not one of 0, 1"),)
    assert unread.characters == (Coded(),)
    nothing = coded(every, "", ("stemmed",))
    assert nothing.lacks == (Lack("nicks", "not_scored"),)
    by_eye = Character("I", codes, scored="nicks")
    assert coded(by_eye, "", ("stemmed",)).characters == (Coded((2,), False, 2),)
    assert coded(by_eye, "1", ("lanceolate",)).characters == (Coded((2,), False, 2),)
    assert coded(Character("I", codes), "1").lacks == (Lack("haft_style", "not_seen"),)
    measured = coded(Character("I", codes, term="width"))
    assert measured.lacks == (Lack("width", "not_measured"),)


def test_indices_of_an_examined_piece(small_rules: Rules) -> None:
    """An examined piece has the indices of its readings and marks."""
    readings = {name: read(f, "mm") for name, f in (("length", "30"), ("width", "12"))}
    piece = Piece(readings={**readings, "neck_width": read("9", "mm")}, details={"nicks": "1 0"})
    made = examine(small_rules, piece, "hills")
    every = {r.index: r for r in results(small_rules, made)}
    assert list(every) == list(small_rules.indices)
    assert every["girth"].figure == Span(21, 20, 22)
    assert every["nick_index"].figure == Span(0.5, 0.5, 0.5)


def test_answers_to_a_question(small_rules: Rules) -> None:
    """What is said to one question is what its indices say, of those that can be computed."""
    rules = small_rules
    taken = ("length", "40"), ("width", "20"), ("neck_width", "9")
    haft = rules.index["haft_style"]
    stemmed = Observation(rules.mask("haft_style", "stemmed"), "seen")
    lanceolate = Observation(rules.mask("haft_style", "lanceolate"), "seen")

    def told(seen: Observation, *given: tuple[str, str]) -> list[Answer]:
        readings = {name: read(figure, "mm") for name, figure in given}
        made = examine(rules, Piece("", {haft: seen}, readings, {"nicks": "1 0"}))
        found = answered(rules, made, "big_or_little")
        of = [r for r in results(rules, made) if rules.indices[r.index].question and r.computed]
        assert found == [Answer(r.index, r.says, r.used) for r in of]
        return found

    girth = Answer("girth", ("big",), ("width", "neck_width"))
    assert told(stemmed, *taken) == [girth, Answer("heft", ("big",), ("length", "width"))]
    assert told(lanceolate, *taken) == [girth]
    assert told(stemmed, *taken[:2]) == [Answer("heft", ("big",), ("length", "width"))]
    assert told(stemmed, *taken[:1]) == []


def test_answers_of_what_was_scored(small_rules: Rules) -> None:
    """An answer rests on marks and on what stands in for a term, where its index reads them."""
    zones = (Zone(("little",), 0.5), Zone(("big",)))
    of = Index(
        "mark", "mark", "value", GROUND, ("slimness",), zones=zones, question="big_or_little",
        stand_ins=(StandIn("slimness", "nick_index"),),
    )  # fmt: skip
    known = {name: small_rules.indices[name] for name in ("slimness", "nick_index")}
    rules = replace(small_rules, indices={**known, "mark": of})

    def told(nicks: str, **mm: str) -> list[Answer]:
        readings = {name: read(figure, "mm") for name, figure in mm.items()}
        made = examine(rules, Piece(readings=readings, details={"nicks": nicks}))
        return answered(rules, made, "big_or_little")

    assert told("1 0") == [Answer("mark", ("little",), ())]
    assert told("1 1") == [Answer("mark", ("big",), ())]
    assert told("") == []
    assert told("1 0", length="30", width="12") == [Answer("mark", ("big",), ("length", "width"))]


def test_a_code_answers_nothing(small_rules: Rules) -> None:
    """A code has no figure that could lie in a zone, so it answers no question."""
    haft = small_rules.index["haft_style"]
    stemmed = small_rules.mask("haft_style", "stemmed")
    index = Index(
        "code", "code", "code", GROUND, zones=(Zone(("big",)),), question="big_or_little",
        characters=(Character("I", (Code(1, when={haft: stemmed}),)),),
    )  # fmt: skip
    rules = replace(small_rules, indices={"code": index})
    made = examine(rules, Piece("", {haft: Observation(stemmed, "seen")}))
    assert results(rules, made)[0].computed
    assert answered(rules, made, "big_or_little") == []


def test_differences_of_functions(small_rules: Rules) -> None:
    """By how much one function is larger than another is a function of the terms of both."""
    differences = small_rules.indices["heft"].differences
    over = Group("big", -15, (Weight("length", 0.5), Weight("slimness", 2)))
    under = Group("little", 15, (Weight("length", -0.5), Weight("slimness", -2)))
    assert differences == {("big", "little"): over, ("little", "big"): under}


@pytest.mark.parametrize("gone", [True, False])
def test_gone_or_only_not_seen(small_rules: Rules, gone: bool) -> None:
    """What an index lacks is gone if its part is, and else was only not scored or not seen."""
    states = {"portion": ("distal" if gone else "complete",)}
    found = indices(small_rules, {"length": "30", "width": "20"}, states)["code"]
    wanted = ("gone", ("haft",)) if gone else ("not_seen", ())
    assert [(lack.why, lack.parts) for lack in found.lacks] == [wanted]
    edges = replace(small_rules.scored["nicks"], part="haft")
    rules = replace(small_rules, scored={"nicks": edges})
    nicks = indices(rules, {}, states)["nick_index"]
    wanted = ("gone", ("haft",)) if gone else ("not_scored", ())
    assert [(lack.why, lack.parts) for lack in nicks.lacks] == [wanted]


def test_what_an_index_rests_on(small_rules: Rules) -> None:
    """Inputs are named once; grounds are all that are given, and each work is cited once."""
    heft = small_rules.indices["heft"]
    assert heft.inputs == ("length", "slimness")
    girth = small_rules.indices["girth"]
    assert [ground.basis for ground in girth.grounds] == ["memory", "common"]
    assert girth.sources == ("made_up2000",)
    assert [ground.basis for ground in heft.grounds] == ["common"] * 3
    assert small_rules.indices["slimness"].grounds == (Ground("common"),)
    cited = replace(
        heft,
        formula=Ground("memory", ("one", "two")),
        numbers=None,
        see=("three", "one"),
        undecided=replace(heft.undecided, term="weight") if heft.undecided else None,
    )
    assert cited.sources == ("one", "two", "three")
    assert cited.inputs == ("length", "slimness", "weight")
    assert replace(girth, terms=("width", "width")).inputs == ("width",)


def test_a_code_says_what_is_cut_short(small_rules: Rules) -> None:
    """A code worked from a figure of a fragment says why the figure is less than whole."""
    states = {"portion": ("proximal",), "haft_style": ("stemmed",)}
    found = indices(small_rules, {"length": "30", "width": "20"}, states)["code"]
    assert [(s.measurement, s.parts) for s in found.short] == [("length", ("tip",))]
    assert found.used == ("length", "width")
    whole = indices(small_rules, {"length": "30", "width": "20"}, {"haft_style": ("stemmed",)})
    assert whole["code"].short == ()
