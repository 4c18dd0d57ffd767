"""What follows from what was observed, and how all types stand to it: sets of states and types.

States are packed (`keygen.core.packing`); type `t` and box `b` are the bits `1 << t` and `1 << b`.
"""

from __future__ import annotations

from typing import NamedTuple


class Closed(NamedTuple):
    """What follows over the key from what some states say.

    Attributes:
        word: what they say.
        boxes: the boxes of the universe that it leaves.
        states: all states still possible, packed.
    """

    word: int
    boxes: int
    states: int


class Sorted(NamedTuple):
    """All types held against one piece.

    Attributes:
        states: the states still possible, packed; what is set aside counts as not known.
        weighed: those of them that are weighed, without what is set aside.
        boxes: the boxes of the universe that these states leave.
        fitting: the types that nothing speaks against, alone or together: consistent or possible.
        loose: those of them that some of these boxes can meet in part without having a piece that
            does (see `Inverted.ways`).
    """

    states: int
    weighed: int
    boxes: int
    fitting: int
    loose: int
