/*
 * Sets of states as bit masks, and boxes of them: state number i of an attribute is the bit 1 << i,
 * a box is one mask an attribute. Limits are a list of pairs [attribute, mask].
 */

/** Return how many states a mask holds. */
function countOf(mask) {
  let count = 0;
  for (let left = mask; left; left &= left - 1) count += 1;
  return count;
}

/** Tell whether exactly one state is left. */
function isSingle(mask) {
  return mask !== 0 && (mask & (mask - 1)) === 0;
}

/** Tell whether a box has a piece within some limits. */
function within(box, limits) {
  for (const limit of limits) if (!(box[limit[0]] & limit[1])) return false;
  return true;
}

/** Return a box narrowed to some limits, or null if no piece is left in it. Boxes are shared. */
function narrow(box, limits) {
  if (!within(box, limits)) return null;
  let masks = box;
  for (const limit of limits) {
    const i = limit[0];
    const mask = masks[i] & limit[1];
    if (mask !== masks[i]) {
      if (!mask) return null;
      if (masks === box) masks = box.slice();
      masks[i] = mask;
    }
  }
  return masks;
}

/** Tell whether a box and a list of masks, one an attribute, have a piece in common. */
function touches(box, masks) {
  for (let i = 0; i < box.length; i += 1) if (!(box[i] & masks[i])) return false;
  return true;
}

/** Return, attribute by attribute, all states that some box of some lists still allows. */
function spread(...lists) {
  const all = new Array(lists[0][0].length).fill(0);
  for (const boxes of lists) {
    for (const box of boxes) for (let i = 0; i < all.length; i += 1) all[i] |= box[i];
  }
  return all;
}

/**
 * Join boxes that differ in one of some attributes only, which loses nothing, until none do.
 * A box is held as a text with one character an attribute, so that partners are found by equality.
 */
function merge(boxes, over) {
  let current = [...new Set(boxes.map((box) => String.fromCharCode(...box)))];
  let changed = current.length > 1;
  while (changed) {
    changed = false;
    for (const i of over) {
      const first = current[0].charCodeAt(i);
      if (current.every((box) => box.charCodeAt(i) === first)) continue;
      const groups = new Map();
      for (const box of current) {
        const rest = `${box.slice(0, i)}\0${box.slice(i + 1)}`;
        groups.set(rest, (groups.get(rest) ?? 0) | box.charCodeAt(i));
      }
      if (groups.size < current.length) {
        changed = true;
        current = [...groups].map(([rest, mask]) => (
          rest.slice(0, i) + String.fromCharCode(mask) + rest.slice(i + 1)
        ));
      }
    }
  }
  return current.map((box) => Array.from(box, (character) => character.charCodeAt(0)));
}

/** Return the numbers of the bits in a mask, lowest first. */
function bitsOf(mask) {
  const bits = [];
  for (let i = 0; mask >> i; i += 1) if (mask >> i & 1) bits.push(i);
  return bits;
}
