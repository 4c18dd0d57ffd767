"""Templates of strangers: nothing out of reach, and neither time nor output without bound."""

from __future__ import annotations

import shutil
import time
from pathlib import Path

import pytest

from keygen import data
from keygen.errors import KeygenError
from keygen.prose import REGISTERS, describe
from keygen.prose.render import render
from tests.prose.pieces import examined, rules

SECONDS = 2.0  # of processor time
FILE = "report/piece.j2"
DOUBLED = "{% set x = x ~ x %}" * 40
NESTED = "{% set x = [x, x] %}" * 60


def own(folder: Path, template: str, name: str = FILE) -> Path:
    """Write a template of a stranger, and return its folder."""
    file = folder / name
    file.parent.mkdir(parents=True, exist_ok=True)
    file.write_text(template, encoding="utf-8")
    return folder


def refused(folder: Path) -> tuple[str, int]:
    """Describe a piece with a folder of templates; return what is refused, and the line."""
    begun = time.process_time()
    with pytest.raises(KeygenError) as caught:
        describe(rules(), examined(label="T-1"), "report", folder)
    assert time.process_time() - begun < SECONDS
    [problem] = caught.value.problems
    assert problem.file == str(folder / FILE)
    assert len(str(problem)) < 500
    return problem.what, problem.line


@pytest.mark.parametrize(
    "escape",
    [
        "{{ ''.__class__.__mro__ }}",
        "{{ ''['__class__'] }}",
        "{{ [label] | map(attribute='__class__') | list | join }}",
        "{{ self._TemplateReference__context }}",
        "{{ label.upper.__self__ }}",
        "{{ (1).__add__(1) }}",
        "{{ '{0.__class__}'.format(label) }}",
        "{{ '{x.__class__}'.format_map({'x': label}) }}",
        "{{ label | attr('__class__') }}",
        "{{ cycler('a').__init__.__globals__ }}",
        "{{ joiner.__init__ }}",
        "{{ namespace().__class__ }}",
        "{{ dict(a=1).update(a=2) }}",
        "{{ lipsum.__globals__ }}",
        "{{ [].append(1) }}",
        "{{ label.join }}",
        "{{ [label.upper] }}",
        "{% include '/etc/hostname' %}",
        "{% include '../../../../../../etc/hostname' %}",
        "{% include '../pyproject.toml' %}",
        "{% include 'report/../../x.j2' %}",
    ],
)
def test_what_was_not_given_is_out_of_reach(tmp_path: Path, escape: str) -> None:
    """An attempt to reach Python or a file is refused with the file and line of the template."""
    assert refused(own(tmp_path, f"one\n\n{escape}"))[1] == 3


@pytest.mark.parametrize(
    "greed",
    [
        "{% for i in range(10 ** 9) %}x{% endfor %}",
        "{% for i in range(9999) %}{% for j in range(9999) %}{% endfor %}{% endfor %}",
        "{% for x in [[1]] recursive %}{{ loop([x] * 1000) }}{% endfor %}",
        "{% for i in range(9000) %}" + "y" * 50_000 + "{% endfor %}",
        "{{ 'a' * 10 ** 9 }}",
        "{{ ['a'] * 10 ** 9 }}",
        "{{ 'a'.center(10 ** 9) }}",
        "{{ 'a'.zfill(10 ** 9) }}",
        "{{ 'a' | center(10 ** 9) }}",
        "{{ 'a' | indent(10 ** 9) }}",
        "{{ '%1000000000d' % 1 }}",
        "{{ '{:1000000000}'.format(1) }}",
        "{{ ('a' * 90000) | replace('a', 'b' * 90000) }}",
        "{{ range(9000) | join('x' * 90000) }}",
        "{{ 2.5 | round(10 ** 9, 'ceil') }}",
        "{{ 10 ** 1000 ** 1000 ** 10 }}",
        "{% set x = 9 ** 999 %}" + "{% set x = x * x %}" * 30,
        "{% set x = 'aaaaaaaa' %}" + DOUBLED,
        "{% set x = 'aaaaaaaa' %}" + DOUBLED.replace("~", "+"),
        "{% set x = 1 %}" + NESTED + "{{ x | listed }}",
        "{% set x = 1 %}" + NESTED + "{% set y = x %}{% set x = 1 %}" + NESTED + "{{ x == y }}",
        "{% macro m() %}{{ m() }}{% endmacro %}{{ m() }}",
        "{% macro m(n) %}{% if n %}{{ m(n - 1) ~ m(n - 1) }}{% endif %}{% endmacro %}{{ m(99) }}",
        "{% block b %}{{ self.b() }}{{ self.b() }}{% endblock %}",
        f"{{% include '{FILE}' %}}{{% include '{FILE}' %}}",
        f"{{% extends '{FILE}' %}}",
        f"{{% import '{FILE}' as m %}}",
        "{% set b = range(9000) | list %}{% for i in range(9000) %}{{ -1 in b }}{% endfor %}",
        "{% set b = 'a' * 90000 %}{% for i in range(9000) %}{{ b == b ~ 'a' }}{% endfor %}",
        "{{ " + "(" * 3000 + "1" + ")" * 3000 + " }}",
        "{{ 1" + " + 1" * 5000 + " }}",
        "{{ label" + " | upper" * 5000 + " }}",
        "{% if 1 %}" * 400 + "{% endif %}" * 400,
        "{% for i in [1] %}" * 60 + "{% endfor %}" * 60,
        "{{ " + "9" * 6000 + " }}",
    ],
)
def test_time_and_output_are_bounded(tmp_path: Path, greed: str) -> None:
    """What would take all time or memory is refused soon, with the file and a line of it."""
    assert refused(own(tmp_path, f"\n{greed}"))[1] == 2


def test_output_and_size_of_a_template(tmp_path: Path) -> None:
    """A template that says too much, half a character, or is itself too long is refused."""
    assert "too much" in refused(own(tmp_path, "x" * 250_000))[0]
    assert "half of a character" in refused(own(tmp_path / "a", "{{ '\\ud800' }}"))[0]
    assert "longer than 256 KB" in refused(own(tmp_path / "b", "x" * 300_000))[0]
    (tmp_path / "c" / "report").mkdir(parents=True)
    (tmp_path / "c" / FILE).write_bytes(b"caf\xe9")
    assert "not UTF-8 at byte 3" in refused(tmp_path / "c")[0]


def test_links_lead_nowhere_else(tmp_path: Path) -> None:
    """A template that is a link to a file outside the folder is refused; within it one is read."""
    secret = tmp_path / "secret"
    secret.write_text("a secret", encoding="utf-8")
    folder = own(tmp_path / "own", "Nr. {{ label }}", "shared.j2")
    (folder / "report").mkdir()
    (folder / FILE).symlink_to(secret)
    with pytest.raises(KeygenError, match="leads out of the folder of templates"):
        describe(rules(), examined(label="T-1"), "report", folder)
    copied = tmp_path / "copied"
    shutil.copytree(folder, copied, symlinks=True)
    (copied / FILE).unlink()
    (copied / FILE).symlink_to(copied / "shared.j2")
    assert "Nr. T-1" in describe(rules(), examined(label="T-1"), "report", copied)


def test_honest_templates_have_room(tmp_path: Path) -> None:
    """Loops, macros, blocks, filters and our own grammar work as they do in templates that ship."""
    template = (
        "{% macro twice(x) %}{{ x }}{{ x }}{% endmacro %}{% set of = nothing | default('-') %}"
        "{% for i in range(3) %}{{ twice(i) }}{{ of if not loop.last }}{% endfor %} "
        "{% filter upper %}{{ label }}{% endfilter %} {{ [kind, noun] | said | join(' ') | a }} "
        "{{ ('x' * 3) ~ 2 ** 3 }} {{ label.lower().split('-') | listed }} {{ 7 % 4 }}"
    )
    text = describe(rules(), examined(label="T-1"), "report", own(tmp_path, template))
    assert text.startswith("00-11-22 T-1 a point xxx8 t and 1 3.")


@pytest.mark.parametrize("register", REGISTERS)
def test_bounds_change_no_word(tmp_path: Path, register: str) -> None:
    """With copies of all templates that ship, every register reads as without."""
    shutil.copytree(str(data.root("templates")), tmp_path / "own")
    piece = examined(
        "east", label="T-1", haft_style="stemmed", stem_shape="contracting", damage="impact"
    )
    assert describe(rules(), piece, register, tmp_path / "own") == describe(
        rules(), piece, register
    )


def test_a_page_may_be_as_long_as_what_it_shows(tmp_path: Path) -> None:
    """What a template may say grows with what it is given."""
    own(tmp_path, "{% for row in rows %}{{ row }},{% endfor %}", "document/own.j2")
    rows = ["x" * 100] * 20_000
    assert len(render("document/own.j2", {"rows": rows}, tmp_path)) == 101 * 20_000
