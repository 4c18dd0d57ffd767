"""Completion by the Tab key: the script for a shell, and its answers while somebody types.

The framework answers zsh, fish and PowerShell. Bash cuts words at `=`, so what it hands over is
joined again, or `--set haft_style=st` would complete nothing.
"""

from __future__ import annotations

import os

from typer._click.shell_completion import (
    CompletionItem,
    ShellComplete,
    add_completion_class,
    split_arg_string,
)
from typer._completion_classes import (
    BashComplete,
    FishComplete,
    PowerShellComplete,
    ZshComplete,
    completion_init,
)
from typer.main import get_command

VARIABLE = "_KEYGEN_COMPLETE"
_BASH = """\
%(complete_func)s() {
    local IFS=$'\\n'
    COMPREPLY=( $( env COMP_WORDS="${COMP_WORDS[*]}" COMP_CWORD=$COMP_CWORD \\
                   %(autocomplete_var)s=complete_bash $1 ) )
    if [[ ${#COMPREPLY[@]} -eq 1 && ${COMPREPLY[0]} == *= ]]; then
        compopt -o nospace 2>/dev/null
    fi
    return 0
}

complete -o default -F %(complete_func)s %(prog_name)s
"""


class Bash(BashComplete):
    """Bash, with words that hold `=` put together again."""

    source_template = _BASH

    def get_completion_args(self) -> tuple[list[str], str]:
        """Return the words before the one that is being typed, and that one."""
        count = int(os.environ["COMP_CWORD"])
        given = split_arg_string(os.environ["COMP_WORDS"])[: count + 1]
        given += [""] * (count + 1 - len(given))
        joined = given[:2]
        for word in given[2:]:
            if word == "=" or joined[-1].endswith("="):
                joined[-1] += word
            else:
                joined.append(word)
        self.cut = joined[-1].rfind("=") + 1
        return joined[1:-1], joined[-1]

    def format_completion(self, item: CompletionItem) -> str:
        """Return a word without what stands before its last `=` already."""
        return str(item.value)[self.cut :]


_KNOWN: dict[str, type[ShellComplete]] = {
    "bash": Bash,
    "zsh": ZshComplete,
    "fish": FishComplete,
    "powershell": PowerShellComplete,
}


def prepare() -> None:
    """Let the shells that are known be answered."""
    completion_init()
    add_completion_class(Bash, "bash")


def script(shell: str) -> str:
    """Return what a shell has to run once, so that it completes keygen's words."""
    from keygen.cli import app

    known = _KNOWN[shell](get_command(app), {}, "keygen", VARIABLE)
    return known.source().strip() + "\n"
