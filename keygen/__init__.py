"""keygen: describe chipped-stone points, and say which types they can be in a region and why.

The names below are the public Python API; they are loaded when first used.

Example:
    >>> import keygen
    >>> rules = keygen.shipped_rules()
    >>> style = rules.index["haft_style"]
    >>> seen = keygen.Observation(rules.mask("haft_style", "stemmed"), "seen")
    >>> found = keygen.examine(rules, keygen.Piece(observations={style: seen}), "ozarks")
    >>> found.call.status
    'either'
"""

from importlib import import_module
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from keygen.collection.batch import describe_batch, describe_rows, plan_table
    from keygen.core.examine import Examination, Piece, examine
    from keygen.core.model import Rules
    from keygen.core.observe import Observation
    from keygen.errors import KeygenError, Problem
    from keygen.prose.describe import describe
    from keygen.prose.plaindata import to_json
    from keygen.prose.trace import trace
    from keygen.rulebase.load import load as load_rules
    from keygen.rulebase.load import shipped as shipped_rules

__version__ = "0.1.0"
__all__ = [
    "Examination",
    "KeygenError",
    "Observation",
    "Piece",
    "Problem",
    "Rules",
    "describe",
    "describe_batch",
    "describe_rows",
    "examine",
    "load_rules",
    "plan_table",
    "shipped_rules",
    "to_json",
    "trace",
]
_HOMES = {
    "Examination": ("keygen.core.examine", "Examination"),
    "KeygenError": ("keygen.errors", "KeygenError"),
    "Observation": ("keygen.core.observe", "Observation"),
    "Piece": ("keygen.core.examine", "Piece"),
    "Problem": ("keygen.errors", "Problem"),
    "Rules": ("keygen.core.model", "Rules"),
    "describe": ("keygen.prose", "describe"),
    "describe_batch": ("keygen.collection.batch", "describe_batch"),
    "describe_rows": ("keygen.collection.batch", "describe_rows"),
    "examine": ("keygen.core.examine", "examine"),
    "load_rules": ("keygen.rulebase.load", "load"),
    "plan_table": ("keygen.collection.batch", "plan_table"),
    "shipped_rules": ("keygen.rulebase.load", "shipped"),
    "to_json": ("keygen.prose", "to_json"),
    "trace": ("keygen.prose", "trace"),
}


def __getattr__(name: str) -> object:
    """Load a public name when it is first used, so that `keygen --help` stays quick."""
    if name not in _HOMES:
        raise AttributeError(f"module 'keygen' has no attribute {name!r}")
    module, home = _HOMES[name]
    return getattr(import_module(module), home)
