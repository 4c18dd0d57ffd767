"""Hostile inputs: real files changed at random, and texts of known malice put into them.

Everything follows from the chance it is given, so an input can be made again from its seed.
"""

from __future__ import annotations

import io
import random
import zipfile

SPLICED = (
    *(
        "\0",
        "\u202e",
        "\u200f",
        "\ufeff",
        "\u2028",
        "\x85",
        "\x1b[2J",
        "\x07",
        "\ufffe",
        "\U0010ffff",
    ),
    *(
        "&a",
        "*a",
        "<<: *a",
        "!!python/object/apply:os.system [x]",
        "!!set {a}",
        "--- ",
        "...",
        "%YAML",
    ),
    *("1e400", "-1e400", "nan", ".inf", "9999-99-99", "0000-00-00", "9" * 5000, "0.0000001", "-0"),
    *("../../x", "/etc/passwd", "CON", "aux.yaml", "\\\\server\\x", "C:\\x", "~/x", "a" * 300),
    *("=1+1", "+1", "-1", "@x", "=HYPERLINK(1)", "<script>x</script>", "{{ x }}", "]]>", "&lt;"),
    *(
        "[" * 60,
        "{a: " * 60,
        "- " * 60,
        "]" * 9,
        "}" * 9,
        '"',
        "'",
        '"""',
        "\\",
        ":",
        "#",
        "|",
        ">",
    ),
    *(
        "~",
        "null",
        "true",
        "no",
        "?",
        "-",
        ",",
        ";",
        "\t",
        "\r",
        "\n",
        "\r\n",
        " " * 200,
        "\n" * 99,
    ),
    *("x" * 20_000, "a," * 2_000, "12a " * 400, "{% for i in range(9) %}", "{% endfor %}", "{#"),
)
BYTES = (b"\xff", b"\xed\xa0\x80", b"\xc0\xaf", b"\xf4\x90\x80\x80", b"\xfe\xff", b"\x00", b"\x80")


def changed(chance: random.Random, content: bytes, other: bytes = b"") -> bytes:
    """Return some bytes after one to four changes; `other` lends pieces of itself."""
    for _ in range(chance.randint(1, 4)):
        at = chance.randint(0, len(content))
        end = min(len(content), at + int(chance.expovariate(0.05)))
        piece = chance.choice(SPLICED).encode("utf-8", "surrogatepass")
        lent = chance.randint(0, len(other))
        content = chance.choice(
            (
                content[:at] + piece + content[at:],
                content[:at] + piece + content[end:],
                content[:at] + content[end:],
                content[:at] + content[at:end] * chance.randint(2, 60) + content[end:],
                content[:at] + chance.choice(BYTES) + content[end:],
                content[:at] + other[lent : lent + 200] + content[at:],
                _reworded(chance, content),
                _reworded(chance, content),
            )
        )
    return content


def _reworded(chance: random.Random, content: bytes) -> bytes:
    """Put one word, or something of malice, in the place of another."""
    words = content.split(b" ")
    if len(words) < 2:
        return content
    piece = chance.choice(SPLICED).encode("utf-8", "surrogatepass")
    words[chance.randrange(len(words))] = chance.choice((chance.choice(words), piece))
    return b" ".join(words)


def repacked(chance: random.Random, book: bytes) -> bytes:
    """Return a workbook with one member changed, or the archive itself damaged."""
    if chance.random() < 0.2:
        return changed(chance, book)
    out = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(book)) as old, zipfile.ZipFile(out, "w") as new:
        chosen = chance.choice([n for n in old.namelist() if n.startswith("xl/")])
        for name in old.namelist():
            content = old.read(name)
            if name == chosen:
                content = changed(chance, content)
            new.writestr(name, content, zipfile.ZIP_DEFLATED)
    return out.getvalue()
