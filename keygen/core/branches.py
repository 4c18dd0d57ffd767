"""The branches of a walk: ways through the key that are still open, with their pieces.

Pieces are boxes out of the universe, each packed into one number (see `keygen.core.packing`): who
is unsure of everything comes to have thousands of them.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from itertools import chain

from keygen.core.packing import Packing
from keygen.core.states import Box, joined


@dataclass(frozen=True)
class Branch:
    """One way through the key that is still open: the couplet it stands before, and its pieces.

    `pieces` are the part of the rules' universe that is still possible on this way, as packed
    boxes, so what follows from an answer is known at once.
    """

    at: str
    pieces: tuple[int, ...]
    packing: Packing = field(repr=False, compare=False)

    @property
    def boxes(self) -> tuple[Box, ...]:
        """Return the pieces as boxes."""
        return tuple(map(self.packing.unpack, self.pieces))

    def left_by(self, ruled_out: Sequence[int]) -> tuple[int, ...]:
        """Return what is left of the pieces, of each by each alternative that rules states out."""
        flagged, every = self.packing.flagged, self.packing.every_flag
        return tuple(
            [
                left
                for piece in self.pieces
                for out in ruled_out
                if flagged(left := piece & ~out) == every
            ]
        )

    def fits(self, ruled_out: Sequence[int]) -> bool:
        """Tell whether any of the pieces are left by some alternative."""
        flagged, every = self.packing.flagged, self.packing.every_flag
        return any(flagged(piece & ~out) == every for piece in self.pieces for out in ruled_out)


@dataclass(frozen=True)
class Guard:
    """A lead that was doubted, or taken in doubt: its limits, and which of them only follow."""

    limits: Mapping[int, int]
    followed: frozenset[int]

    def spares(self, claim: Mapping[int, int]) -> bool:
        """Tell whether a claim contradicts, on this lead, what only follows from the lead."""
        return any(i in self.followed and not self.limits[i] & mask for i, mask in claim.items())


def options(
    packing: Packing, alternatives: Sequence[Mapping[int, int]], guards: Iterable[Guard] = ()
) -> list[int]:
    """Return the states that an answer rules out, by each alternative, and by each guard's lead."""
    sparing = [guard for guard in guards if all(guard.spares(claim) for claim in alternatives)]
    return [packing.outside(limits) for limits in (*alternatives, *(g.limits for g in sparing))]


def one_of(branches: Sequence[Branch], over: Iterable[int]) -> Branch:
    """Join branches that stand before the same couplet."""
    at, packing = branches[0].at, branches[0].packing
    fields = [packing.full[i] << packing.offsets[i] for i in over]
    return Branch(at, joined(chain(*(branch.pieces for branch in branches)), fields), packing)
