"""The description of a piece in any register."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from keygen.core.examine import Examination
from keygen.core.model import Rules
from keygen.prose.account import account
from keygen.prose.render import check_register, texts


def describe(
    rules: Rules, examination: Examination, register: str = "report", templates: Path | None = None
) -> str:
    """Return the description of a piece in one register.

    Args:
        rules: the rules under which it was examined.
        examination: what follows from the piece.
        register: note, report, catalogue or account.
        templates: a folder of the user's own templates; each file there stands in for the
            shipped one of the same name (`report/blade.j2`).

    Raises:
        KeygenError: no such register, or a template that cannot be used.
    """
    return describe_all(rules, (examination,), register, templates)[0]


def describe_all(
    rules: Rules,
    examinations: Sequence[Examination],
    register: str = "report",
    templates: Path | None = None,
) -> list[str]:
    """Return the descriptions of some pieces; quicker than one by one, and the same to the byte.

    A few dozen at a time are enough.

    Raises:
        KeygenError: as `describe`.
    """
    check_register(register)
    if register == "account":
        return [account(rules, found, templates) for found in examinations]
    return texts(rules, examinations, register, templates)
