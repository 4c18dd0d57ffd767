"""All sets of states of a piece in one number, so that one operation works on all attributes.

State `s` of all states is the bit `1 << s`; the states of one attribute stand side by side. Above
them one bit is left free, the *flag* of the attribute: what is added to its states runs over into
the flag if there are any. So the question of which attributes have some of some states takes one
addition, whatever their number. Each attribute has whole bytes to itself, so that all masks are
read out of the number, and written into it, at one go.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from itertools import accumulate
from struct import Struct, calcsize

from keygen.core.states import FIELDS, Box


class Packing:
    """How the states of some attributes are packed.

    Args:
        full: the mask of all states, by attribute.

    Attributes:
        offsets: by attribute, the number of its first state; at the end, the number of bits.
        owners: by bit, its attribute.
        flags: by attribute, its flag.
        every_state: all states.
        every_flag: all flags.
    """

    def __init__(self, full: Box) -> None:
        self.full = full
        widths = [mask.bit_length() for mask in full]
        fields = [_field(width) for width in widths]
        sizes = [8 * calcsize(f"<{field}") for field in fields]
        self._layout = Struct(f"<{''.join(fields)}")
        self.offsets = tuple(accumulate(sizes, initial=0))
        self.owners = tuple(i for i, size in enumerate(sizes) for _ in range(size))
        self.flags = tuple(1 << at + width for at, width in zip(self.offsets, widths, strict=False))
        self.every_state = self.pack(full)
        self.every_flag = sum(self.flags)
        self._all_ones = sum(
            (1 << width) - 1 << at for at, width in zip(self.offsets, widths, strict=False)
        )

    def pack(self, box: Sequence[int]) -> int:
        """Return a box as one set of states: those of attribute `i` begin at bit `offsets[i]`."""
        return int.from_bytes(self._layout.pack(*box), "little")

    def unpack(self, states: int) -> Box:
        """Return a set of states, without flags, as a box."""
        return self._layout.unpack(states.to_bytes(self._layout.size, "little"))

    def mask(self, states: int, attribute: int) -> int:
        """Return the mask of one attribute out of a set of states."""
        return states >> self.offsets[attribute] & self.full[attribute]

    def joined(self, tables: Sequence[Mapping[int, int]], known: Sequence[int], told: int) -> int:
        """Return what tables say of some states, one table and one mask an attribute, as one set.

        Of an attribute of which every state is possible nothing is asked.

        Args:
            told: what is said anyway.
        """
        for mask, whole, table in zip(known, self.full, tables, strict=True):
            if mask != whole:
                told |= table[mask]
        return told

    def outside(self, limits: Mapping[int, int]) -> int:
        """Return the states that masks for some attributes leave out."""
        return sum([(self.full[i] & ~m) << self.offsets[i] for i, m in limits.items()])

    def flagged(self, states: int) -> int:
        """Return the flags of the attributes of which a set has some states."""
        return states + self._all_ones & self.every_flag

    def flags_of(self, attributes: Collection[int]) -> int:
        """Return the flags of some attributes."""
        return sum([self.flags[i] for i in set(attributes)]) if attributes else 0


def _field(width: int) -> str:
    """Return the code of `struct` for some states and, above them, a flag."""
    code, bits = next((code, bits) for code, bits in FIELDS.items() if width <= bits)
    return code if width < bits else f"{code}x"
