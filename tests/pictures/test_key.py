"""The printed key: what stands on its pages, as text and as HTML."""

from __future__ import annotations

import re
import shutil
import subprocess
from dataclasses import replace
from html.parser import HTMLParser
from pathlib import Path

import pytest

from keygen.core.model import Couplet, Rules
from keygen.pictures.keybook import book, runs
from keygen.pictures.keypages import PAPERS, book_html, quoted, region_html
from keygen.pictures.keyregion import brief_age, region_book, traits
from keygen.pictures.keytext import WIDTH, book_text, region_text
from tests.core.test_separate import criterion


class Page(HTMLParser):
    """What a page holds: its tags, ids, links and text; and what it would fetch or run."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.tags: list[str] = []
        self.ids: list[str] = []
        self.links: list[str] = []
        self.fetched: list[str] = []
        self.words: list[str] = []
        self.feed(text)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        """Note a tag and what it names."""
        self.tags.append(tag)
        for name, value in attrs:
            if name == "id":
                self.ids.append(value or "")
            elif name == "href":
                self.links.append(value or "")
            elif name in ("src", "srcset", "data", "poster", "action") or name.startswith("on"):
                self.fetched.append(f"{tag} {name}")

    def handle_data(self, data: str) -> None:
        """Note text."""
        self.words.append(data)

    @property
    def text(self) -> str:
        """Return all text with single spaces."""
        return " ".join(" ".join(self.words).split())


def with_couplet(rules: Rules, name: str, **changes: object) -> Rules:
    """Return rules in which one couplet says something else."""
    couplet: Couplet = replace(rules.couplets[name], **changes)  # type: ignore[arg-type]
    return replace(rules, couplets={**rules.couplets, name: couplet})


@pytest.fixture(scope="module")
def page(rules: Rules) -> Page:
    """Return the printed key as a page."""
    return Page(book_html(rules, book(rules), "a5"))


@pytest.fixture(scope="module")
def regional(rules: Rules) -> Page:
    """Return the key to the types of one region as a page."""
    return Page(region_html(rules, region_book(rules, "ozarks"), "a5"))


def test_the_text_holds_the_whole_key(rules: Rules) -> None:
    """Read back from the text, every couplet has its number and its leads go where they go."""
    text = book_text(book(rules))
    found: dict[int, dict[str, str]] = {}
    number, letter = 0, ""
    for line in text.partition("\nHANDLING\n")[2].partition("\nINDEX OF TERMS\n")[0].splitlines():
        if head := re.match(r"(\d+) +\S", line):
            number = int(head[1])
        if lead := re.match(r" {6}([ab])  \S", line):
            letter = lead[1]
        if letter and (goes := re.search(r"\.\.+ (\d+|end)$", line)):
            found.setdefault(number, {})[letter] = goes[1]
            letter = ""
    assert found == {
        couplet.number: {
            lead.letter: str(rules.couplets[lead.go].number) if lead.go else "end"
            for lead in couplet.leads
        }
        for couplet in rules.couplets.values()
    }


@pytest.mark.parametrize("region", ["ozarks", "midcontinent"])
def test_the_text_keeps_to_its_width(rules: Rules, region: str) -> None:
    """No line of the text is wider than a printer's, and none ends in a blank."""
    for text in (book_text(book(rules)), region_text(region_book(rules, region))):
        assert all(len(line) <= WIDTH and line == line.rstrip() for line in text.splitlines())
        assert rules.edition in text
        assert rules.digest in text


def test_couplets_stand_in_the_order_of_a_walk(rules: Rules) -> None:
    """Every lead goes to a couplet printed further on, and sections share out all couplets."""
    printed = [c for section in book(rules).sections for c in section.couplets]
    place = {couplet.number: i for i, couplet in enumerate(printed)}
    assert sorted(place) == sorted(rules.by_number)
    for couplet in printed:
        assert all(place[lead.to] > place[couplet.number] for lead in couplet.leads if lead.to)
        assert all(place[number] < place[couplet.number] for number in couplet.before)
        assert bool(couplet.before) is (couplet.id != rules.start)


def test_the_sections_are_few_and_named(rules: Rules) -> None:
    """A section that goes back to an earlier group names both."""
    titles = [section.title for section in book(rules).sections]
    assert titles[:4] == ["Handling", "Condition", "Haft", "Base and haft"]
    assert len(titles) == len(set(titles)) == 8


def test_the_index_leads_to_the_lead_that_settles_a_term(rules: Rules) -> None:
    """A term is keyed where it is left alone; an older word leads to every term it stands for."""
    entries = book(rules).index
    keyed = {(e.term, e.about): e.at for e in entries if not e.see}
    assert keyed["contracting", "stem shape"] == ("34b",)
    assert keyed["biconvex", "cross-section of the blade"] == ("93a", "94a")
    assert keyed["heat damage", "damage"] == ("22b",)
    see = {e.term: e.see for e in entries if e.see}
    assert see["tapering"] == (
        "contracting (stem shape)",
        "contracting toward the base (haft margins)",
    )
    terms = [entry.term.casefold() for entry in entries]
    assert terms == sorted(terms)
    for entry in entries:
        assert bool(entry.at) is not bool(entry.see)
        for lead in entry.at:
            assert int(lead[:-1]) in rules.by_number


def test_the_page_holds_every_couplet(rules: Rules, page: Page) -> None:
    """Question, help and both leads of every couplet are on the page, and its number is a place."""
    for couplet in rules.couplets.values():
        assert f"c{couplet.number}" in page.ids
        for text in (couplet.ask, couplet.look, *(lead.say for lead in couplet.leads)):
            assert " ".join(text.split()) in page.text


def test_the_page_has_the_pictures_of_the_leads(rules: Rules, page: Page) -> None:
    """There is a drawing for every lead that can be drawn."""
    from keygen.pictures.leads import lead_pictures

    assert page.tags.count("svg") == len(lead_pictures(rules).leads) > 200


def test_the_pages_are_whole_in_themselves(page: Page, regional: Page) -> None:
    """A page runs and fetches nothing, names each place once, and links only to its own places."""
    for one in (page, regional):
        assert not {"script", "link", "img", "iframe", "object"} & set(one.tags)
        assert one.fetched == []
        assert len(one.ids) == len(set(one.ids))
        assert {link.removeprefix("#") for link in one.links} <= set(one.ids)
        assert all(link.startswith("#") for link in one.links)


def test_the_regional_page_names_types_groups_and_ages(rules: Rules, regional: Page) -> None:
    """Every type of the region is listed with its definition and its age, every group by number."""
    found = region_book(rules, "ozarks")
    for kind in rules.in_region("ozarks"):
        assert f"t-{kind.id}" in regional.ids
        record = kind.record("ozarks")
        assert record
        assert brief_age(record) in regional.text
    assert {f"g{group.number}" for group in found.groups} <= set(regional.ids)
    assert {f"r{couplet.number}" for couplet in found.couplets} <= set(regional.ids)
    assert "have no place in a path" in regional.text


def test_a_lead_goes_to_a_couplet_or_a_group(rules: Rules) -> None:
    """Each lead says in parallel words what it takes, and names the types of a small group."""
    found = region_book(rules, "ozarks")
    first = found.couplets[0]
    assert [lead.say for lead in first.leads] == ["Size small", "Size medium-sized to large"]
    for couplet in found.couplets:
        for lead in couplet.leads:
            assert bool(lead.couplet) is not bool(lead.group)
            if lead.group:
                names = tuple(row.name for row in found.groups[lead.group - 1].rows)
                assert lead.names == (names if len(names) <= 2 else ())
                assert f"R{couplet.number}{lead.letter}" in found.groups[lead.group - 1].before


def test_what_nothing_parts_is_told_with_the_tell(rules: Rules) -> None:
    """Types of one definition come out together, with what somebody wrote down to part them."""
    gary = rules.types["gary"]
    twin = replace(gary, id="twin", name="Twin", look_alikes=gary.look_alikes[:0])
    alike = replace(gary.look_alikes[0], type="twin", tell="Twins are younger")
    types = {**rules.types, "twin": twin, "gary": replace(gary, look_alikes=(alike,))}
    found = region_book(replace(rules, types=types), "ozarks")
    told = [text for group in found.groups for text in group.alike]
    wanted = "Nothing in their definitions parts Gary and Twin here: Twins are younger."
    groups = [group for group in found.groups if "gary" in {row.type for row in group.rows}]
    assert told.count(wanted) == len(groups) > 0


def test_criteria_in_words(rules: Rules) -> None:
    """What is asked of one subject stands together; what may be lacking is asked if it is there."""
    asked = [
        criterion(rules, "shoulder_shape", "horizontal", "barbed"),
        criterion(rules, "shoulder_strength", "strong"),
        criterion(rules, "notch_position", "side"),
        criterion(rules, "flute_length", "none", "short"),
        criterion(rules, "notch_position", "none", "corner"),
        criterion(rules, "ears", "none", "squared"),
    ]
    assert traits(rules, asked) == [
        "shoulders horizontal or barbed and strong",
        "side-notched",
        "corner-notched if notched",
        "flute, if any, to about a third of its length",
        "ears absent or squared",
    ]


def test_runs_of_numbers() -> None:
    """Numbers that follow one another are drawn together."""
    assert runs([58, 31, 28, 30, 29, 67, 68]) == "28-31, 58, 67-68"
    assert runs([]) == ""


def test_texts_of_the_rules_are_text(rules: Rules) -> None:
    """What reads as markup in a rule is shown as it stands."""
    evil = with_couplet(
        rules, "whole_piece", ask='Is <script>alert(1)</script> "it" whole & sound?'
    )
    text = book_html(evil, book(evil), "a5")
    assert "<script" not in text
    assert "&lt;script&gt;alert(1)&lt;/script&gt;" in text


def test_the_foot_cannot_leave_its_string(rules: Rules) -> None:
    """An edition with signs of markup or style stays inside the string at the foot of the page."""
    evil = replace(rules, edition='1"; } </style><script>')
    text = book_html(evil, book(evil), "a5")
    assert "<script>" not in text
    (foot,) = re.findall(r'@bottom-left { content: "([^"]*)"', text)
    assert re.sub(r"\\([0-9a-f]{6})", lambda m: chr(int(m[1], 16)), foot).endswith(
        f'edition 1"; }} </style><script> - digest {rules.digest}'
    )
    assert quoted("2026.1") == "2026.1"


@pytest.mark.parametrize("paper", PAPERS)
def test_edition_and_digest_stand_at_the_foot(rules: Rules, paper: str) -> None:
    """Every sheet has the paper's size, the edition and the digest in its style."""
    text = book_html(rules, book(rules), paper)
    assert f"size: {PAPERS[paper]};" in text
    assert f"edition {rules.edition} - digest {rules.digest}" in text


SIZES = {"a5": (148 / 25.4 * 72, 210 / 25.4 * 72), "half-letter": (5.5 * 72, 8.5 * 72)}


@pytest.mark.parametrize("paper", PAPERS)
def test_no_couplet_is_split_over_two_pages(rules: Rules, paper: str, tmp_path: Path) -> None:
    """Printed by a browser, each couplet stands whole on one page of the paper's size."""
    pages, sizes = printed(book_html(rules, book(rules), paper), tmp_path)
    assert sizes == pytest.approx(SIZES[paper], abs=1.5)
    for section in book(rules).sections:
        for couplet in section.couplets:
            asked = [i for i, text in enumerate(pages) if squeezed(couplet.ask) in text]
            looked = [i for i, text in enumerate(pages) if squeezed(couplet.look) in text]
            assert set(asked) & set(looked), f"couplet {couplet.number}"
    for number, text in enumerate(pages, 1):
        foot = f"Key to chipped-stone points - edition {rules.edition} - digest {rules.digest}"
        assert text.startswith((f"{number}{squeezed(foot)}", f"{squeezed(foot)}{number}"))


def squeezed(text: str) -> str:
    """Return a text without white space and hyphens, which lines may be broken at."""
    return re.sub(r"[\s-]+", "", text)


def printed(html: str, folder: Path) -> tuple[list[str], tuple[float, float]]:
    """Print a page with a browser; return the text of each sheet and the size of the sheets."""
    browser, reader = shutil.which("chromium"), shutil.which("pdftotext")
    if not browser or not reader:
        pytest.skip("needs chromium and pdftotext")
    source, target = folder / "key.html", folder / "key.pdf"
    source.write_text(html, encoding="utf-8")
    subprocess.run(
        [
            browser,
            *("--headless", "--no-sandbox", "--disable-gpu", "--no-first-run"),
            *("--disable-background-networking", f"--user-data-dir={folder / 'profile'}"),
            *("--no-pdf-header-footer", f"--print-to-pdf={target}", source.as_uri()),
        ],
        check=True,
        capture_output=True,
        timeout=120,
    )
    boxes = set(re.findall(rb"/MediaBox \[0 0 ([\d.]+) ([\d.]+)\]", target.read_bytes()))
    ((width, height),) = boxes
    text = subprocess.run(
        [reader, "-raw", str(target), "-"], check=True, capture_output=True, text=True, timeout=60
    ).stdout
    sheets = [squeezed(sheet) for sheet in text.split("\f") if sheet.strip()]
    return sheets, (float(width), float(height))
