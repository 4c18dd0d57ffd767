"""How sure a fact of the rules is."""

from typing import Literal

# Seen in the source or a page quoting it; recalled from a named source; common practice, no source.
Basis = Literal["read", "memory", "common"]
