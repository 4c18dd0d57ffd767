"""The description of a piece in any register."""

from __future__ import annotations

from pathlib import Path

from keygen.core.examine import Examination
from keygen.core.model import Rules
from keygen.prose.account import account
from keygen.prose.render import check_register, text


def describe(
    rules: Rules, examination: Examination, register: str = "report", templates: Path | None = None
) -> str:
    """Return the description of a piece in one register.

    Args:
        register: note, report, catalogue or account.
        templates: a folder of the user's own templates; each file there stands in for the
            shipped one of the same name (`report/blade.j2`).

    Raises:
        KeygenError: no such register, or a template that cannot be used.
    """
    check_register(register)
    if register == "account":
        return account(rules, examination, templates)
    return text(rules, examination, register, templates)
