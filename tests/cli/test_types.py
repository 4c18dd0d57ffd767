"""`types`: listing, filters, one type, two types, and the words."""

from __future__ import annotations

import json

import pytest

from tests.cli.conftest import Run


def ids(text: str) -> list[str]:
    """Return the first word of every line."""
    return [line.split()[0] for line in text.splitlines()]


def test_types_of_a_region_come_with_period_and_age(run: Run) -> None:
    """The list of a region has a line a type: id, name, period and age there."""
    listed = run("types", "--region", "coast").stdout
    assert ids(listed) == ["birch", "dogwood"]
    assert "dogwood  Dogwood Contracting  Early Woodland, 1000-300 BC" in listed


def test_without_a_region_periods_are_gathered(run: Run) -> None:
    """Without a region a type is listed with its periods and the number of its regions."""
    assert "birch    Birch Stemmed        Late Archaic (2 regions)" in run("types").stdout


@pytest.mark.parametrize(
    ("period", "found"),
    [
        ("late archaic", ["birch"]),
        ("Archaic", ["alder", "birch"]),
        ("ARCHAIC middle", ["alder"]),
        ("woodland", ["dogwood"]),
    ],
)
def test_periods_are_found_by_their_words(run: Run, period: str, found: list[str]) -> None:
    """A period matches by its words, whatever their case and order."""
    assert ids(run("types", "--period", period).stdout) == found


def test_an_unknown_period_gets_the_nearest(run: Run) -> None:
    """A period that no record has is refused with the one most like it."""
    result = run("types", "--period", "late arcaic")
    assert result.exit_code == 2
    assert "no record has the period 'late arcaic'. Did you mean 'Late Archaic'?" in result.stderr


@pytest.mark.parametrize(
    ("sets", "found"),
    [
        (["stem_shape=contracting"], ["alder", "dogwood"]),
        (["stem_shape=contracting,straight"], ["alder", "birch", "dogwood"]),
        (["stem_shape=contracting", "base_shape=straight"], ["alder"]),
        (["stem_shape=contracting,straight", "stem_shape=straight,none"], ["birch", "dogwood"]),
        (["spiked"], ["alder", "dogwood"]),
        (["base concave"], ["alder", "birch", "cedar"]),
    ],
)
def test_set_keeps_types_whose_definition_allows_all(
    run: Run, sets: list[str], found: list[str]
) -> None:
    """Several `--set` are joined with and; sets of states and bare words are understood."""
    arguments = [part for text in sets for part in ("--set", text)]
    assert ids(run("types", *arguments).stdout) == found


def test_filters_go_together(run: Run) -> None:
    """Region, period and observations narrow the list together; nothing left is said."""
    wanted = ("--set", "stem_shape=straight", "--period", "archaic")
    assert ids(run("types", *wanted, "-r", "coast").stdout) == ["birch"]
    empty = run("types", "--set", "haft_style=lanceolate", "-r", "coast")
    assert (empty.exit_code, empty.stdout) == (0, "")
    assert "No type fits all of this." in empty.stderr


@pytest.mark.parametrize("name", ["old_alder", "Old Alder", "ALDER-STEMMED", "Alder"])
def test_a_type_is_found_by_any_of_its_names(run: Run, name: str) -> None:
    """Id, name, older id and synonym show a type, in any case, with spaces or hyphens."""
    assert run("types", name).stdout == run("types", "alder").stdout


def test_an_older_id_tells_where_it_went(run: Run) -> None:
    """A type asked for by an older id says under which it is kept; its own name does not."""
    assert "old_alder is kept under alder" in run("types", "old_alder").stderr
    assert run("types", "alder stemmed").stderr == ""


@pytest.mark.parametrize(
    ("name", "remedy"),
    [
        ("aldr", "Did you mean 'alder'?"),
        ("stemmed", "These have it in their name: alder, birch."),
    ],
)
def test_an_unknown_type_gets_the_nearest(run: Run, name: str, remedy: str) -> None:
    """A type that is not known is refused with those most like it."""
    result = run("types", name)
    assert result.exit_code == 2
    assert f"the type {name!r} is not known. {remedy}" in result.stderr


def test_json_of_a_type_holds_what_the_page_holds(run: Run) -> None:
    """JSON of one type gives states, words, and the age on its own scale and in cal BP."""
    (shown,) = json.loads(run("types", "alder", "--format", "json").stdout)["types"]
    assert shown["defined_by"]["stem_shape"] == ["contracting"]
    assert "contracting" in shown["text"]["definition"]
    (record,) = shown["records"]
    assert record["dates"] == {"from": -5500, "to": -5000, "scale": "bc/ad", "sure": False}
    assert record["cal_bp"]["how"] == "either"
    assert shown["look_alikes"] == [{"type": "birch", "tell": "Birch has parallel stem sides"}]


def test_two_types_are_compared(run: Run) -> None:
    """`--compare` takes two types by any name and says what parts them."""
    text = run("types", "--compare", "Old Alder", "Birch Stemmed").stdout
    assert "The stem shape parts them on every piece" in text
    data = json.loads(run("types", "--compare", "alder", "birch", "--format", "json").stdout)
    observations = {o["attribute"]: o for o in data["comparison"]["observations"]}
    assert observations["stem_shape"]["parts"] == "always"
    assert observations["haft_style"]["parts"] == "never"
    assert observations["base_shape"]["only"] == {"alder": ["excurvate"], "birch": []}


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        (("--compare", "alder", "old_alder"), "are the same type, alder"),
        (("alder", "--compare", "alder", "birch"), "Give one of these"),
        (("alder", "--period", "archaic"), "Give one of these"),
        (("--set", "stem_shape=straight", "--set", "stem_shape=expanding"), "contradicts another"),
        (("--set", "haft_style=lanceolate", "--set", "stem_shape=straight"), "K303"),
        (("--terms", "crooked"), "'crooked' is neither an attribute nor a word"),
    ],
)
def test_bad_use_is_explained(run: Run, arguments: tuple[str, ...], message: str) -> None:
    """Bad use ends with exit code 2 and a message, and nothing on stdout."""
    result = run("types", *arguments)
    assert (result.exit_code, result.stdout) == (2, "")
    assert message in result.stderr


def test_terms_list_what_set_accepts(run: Run) -> None:
    """The terms list every attribute with its states, and each can be given to `--set`."""
    for line in run("types", "--terms").stdout.splitlines():
        name, _, states = line.partition(": ")
        for state in states.split(", "):
            assert run("describe", "--set", f"{name}={state}").exit_code == 0


def test_terms_of_an_attribute_are_its_words(run: Run) -> None:
    """An attribute's words are listed by state: the term, its synonyms, and older words."""
    lines = run("types", "--terms", "stem shape").stdout.splitlines()
    assert "contracting: contracting, tapering" in lines
    assert "expanding: expanding, flared" in lines


def test_terms_of_a_word_are_its_meanings(run: Run) -> None:
    """A word is answered with each of its meanings, and with where it is used."""
    text = run("types", "--terms", "Tapered-haft").stdout
    assert text.splitlines() == [
        "Tapered-haft: one of these",
        "  haft_style=lanceolate",
        "  stem_shape=contracting",
        "  used: common",
    ]
    data = json.loads(run("types", "--terms", "flared", "--format", "json").stdout)
    assert data["word"]["means"] == [{"stem_shape": ["expanding"]}]
    assert data["word"]["sources"] == ["made_up2000"]


def test_a_bare_word_describes_a_piece(run: Run) -> None:
    """A word of several attributes, given alone, sets all of them."""
    result = run("describe", "--set", "spiked", "--format", "json")
    observed = json.loads(result.stdout)["observed"]
    assert observed["haft_style"]["states"] == ["stemmed"]
    assert observed["stem_shape"]["states"] == ["contracting"]
