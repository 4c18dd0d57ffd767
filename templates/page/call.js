/*
 * From sets of states to types: what follows from a record, the standing of each type, the call,
 * and which types the same piece would be elsewhere. Nothing here is a probability.
 */

const CONSISTENT = 0;
const POSSIBLE = 1;
const EXCLUDED = 2;

/** Return what follows from states known in any order; null if no piece has them together. */
function close(rules, masks) {
  const boxes = rules.universe.filter((box) => touches(box, masks));
  return boxes.length ? spread(boxes).map((mask, i) => mask & masks[i]) : null;
}

/** Return a smallest-by-removal set of attributes whose states cannot stand together. */
function conflict(rules, masks) {
  const full = rules.attributes.map(fullOf);
  const possible = (which) => {
    const tried = full.map((mask, i) => (which.includes(i) ? masks[i] : mask));
    return rules.universe.some((box) => touches(box, tried));
  };
  let left = masks.flatMap((mask, i) => (mask === full[i] ? [] : [i]));
  if (possible(left)) return [];
  for (const i of [...left]) {
    const without = left.filter((j) => j !== i);
    if (!possible(without)) left = without;
  }
  return left;
}

/** Return the attributes not weighed for a type: those of a blade that was made over, by eye. */
function setAside(rules, known, measured) {
  const madeOver = rules.signs.some(([i, spared]) => !(known[i] & spared));
  if (!madeOver) return new Set();
  const weighed = (a, i) => a.stability !== 'blade' || measured.has(i);
  return new Set(rules.attributes.flatMap((a, i) => (weighed(a, i) ? [] : [i])));
}

/** Tell whether a piece exceeds what a type allows in something that only gets less by rework. */
function outgrown(rules, [i, allowed], known) {
  return rules.attributes[i].lessens && allowed < (known[i] & -known[i]);
}

/** Hold all types against a piece: which fit, and which have one criterion against them. */
function sortTypes(rules, known, aside) {
  const weighed = known.map((mask, i) => (aside.has(i) ? fullOf(rules.attributes[i]) : mask));
  const boxes = rules.universe.filter((box) => touches(box, weighed));
  const found = rules.types.map((kind) => {
    const against = kind.defined.filter((c) => (
      aside.has(c[0]) ? outgrown(rules, c, known) : !(known[c[0]] & c[1])
    )).length;
    if (against) return { fits: false, once: against === 1, clashes: false };
    const meets = (box) => kind.defined.every(([i, allowed]) => box[i] & weighed[i] & allowed);
    const fits = boxes.some(meets);
    return { fits, once: false, clashes: !fits };
  });
  return found;
}

/** Return the criteria that cannot be met together on this piece, though each fits alone. */
function clash(rules, weighed, known) {
  const possible = (criteria) => {
    const masks = known.slice();
    for (const [i, allowed] of criteria) masks[i] &= allowed;
    return rules.universe.some((box) => touches(box, masks));
  };
  let left = weighed;
  for (const criterion of weighed) {
    const rest = left.filter((c) => c !== criterion);
    if (!possible(rest)) left = rest;
  }
  return left;
}

/** Hold one type against one piece: its criteria sorted by how they fit. */
function judge(rules, number, { known, aside, figures }, clashes) {
  const kind = rules.types[number];
  const weighed = kind.defined.filter((c) => !aside.has(c[0]) || outgrown(rules, c, known));
  const clashing = clashes ? clash(rules, weighed, known) : [];
  const isAgainst = (c) => (clashes ? clashing.includes(c) : !(known[c[0]] & c[1]));
  const against = weighed.filter(isAgainst);
  const rest = weighed.filter((c) => !isAgainst(c));
  const met = rest.filter(([i, allowed]) => !(known[i] & ~allowed));
  const open = rest.filter(([i, allowed]) => known[i] & ~allowed);
  const usual = kind.usual.filter(([i]) => !aside.has(i));
  const said = new Set([...kind.defined, ...kind.usual].map(([i]) => i));
  const odd = rules.ordinary.filter(([i, allowed]) => (
    !said.has(i) && !aside.has(i) && !(known[i] & allowed)
  ));
  const shown = ([i, allowed]) => { // what may be there speaks for a type only where it is seen
    const none = rules.attributes[i].states.findIndex((state) => state.id === 'none');
    return (none < 0 ? allowed : allowed & ~(1 << none)) || allowed;
  };
  const usualMet = usual.filter(([i, allowed]) => (
    !(known[i] & ~allowed) && known[i] & shown([i, allowed])
  ));
  const ranges = rangesOf(kind, figures);
  const usualAgainst = [...usual.filter(([i, allowed]) => !(known[i] & allowed)), ...odd];
  let standing = CONSISTENT;
  if (against.length) standing = EXCLUDED;
  else if (open.length) standing = POSSIBLE;
  const leavesOut = ([i, allowed]) => (
    rules.bits[`${rules.attributes[i].states.length}/${countOf(allowed)}`]
  );
  return {
    number,
    id: kind.id,
    standing,
    met,
    open,
    against,
    usualMet,
    usualAgainst,
    ...ranges,
    support: usualMet.length - usualAgainst.length + ranges.inside.length - ranges.outside.length,
    specificity: met.reduce((sum, c) => sum + leavesOut(c), 0),
  };
}

/** Put better candidates first: standing, support by usual traits and ranges, specificity, name. */
function byRank(one, other) {
  return one.standing - other.standing || other.support - one.support
    || other.specificity - one.specificity || (one.id < other.id ? -1 : 1);
}

/**
 * Return what the key says of a piece in one region: {status, reason, candidates, near}, status
 * one of 'assigned', 'cf.', 'either', 'untyped'. Without a region there is no call: null.
 */
function callIn(rules, region, piece) {
  if (!region) return null;
  const { known, aside } = piece;
  const found = sortTypes(rules, known, aside);
  const here = rules.types.flatMap((kind, t) => (kind.known[region] ? [t] : []));
  const judged = (which) => which
    .map((t) => judge(rules, t, piece, found[t].clashes)).sort(byRank);
  const candidates = judged(here.filter((t) => found[t].fits));
  const near = judged(here.filter((t) => found[t].once || found[t].clashes))
    .filter((judgement) => judgement.against.length === 1);
  return { ...statusOf(rules, candidates), candidates, near };
}

function statusOf(rules, candidates) {
  if (!candidates.length) return { status: 'untyped', reason: 'none_fits' };
  const ofHaft = ([i]) => rules.attributes[i].stability === 'haft';
  if (!candidates.some((judgement) => judgement.met.some(ofHaft))) {
    return { status: 'untyped', reason: 'haft_unknown' };
  }
  if (candidates.length > 1) return { status: 'either', reason: '' };
  const consistent = candidates[0].standing === CONSISTENT;
  return { status: consistent ? 'assigned' : 'cf.', reason: '' };
}

/** Return the types that the same piece would be consistent with in every other region. */
function elsewhere(rules, region, piece) {
  const { known, aside } = piece;
  const found = sortTypes(rules, known, aside);
  const hafted = (kind) => kind.defined.some(([i]) => rules.attributes[i].stability === 'haft');
  const judged = rules.types
    .flatMap((kind, t) => (found[t].fits && hafted(kind) ? [t] : []))
    .map((t) => judge(rules, t, piece, found[t].clashes))
    .filter((judgement) => judgement.standing === CONSISTENT)
    .sort(byRank);
  return Object.keys(rules.regions).sort().filter((other) => other !== region).flatMap((other) => (
    judged.filter((j) => rules.types[j.number].known[other]).map((j) => ({ region: other, judgement: j }))
  ));
}

/**
 * Return all that follows from what somebody looked at and measured, as a record is judged: {known,
 * measured, otherwise, observations, call, elsewhere, cautions}; null if no piece has these states
 * together.
 */
function examine(rules, looked, region, figures) {
  const masks = rules.attributes.map((a, i) => looked.get(i)?.mask ?? fullOf(a));
  const settled = settleFigures(rules, masks, figures);
  if (!settled) return null;
  const { known, measured } = settled;
  const gone = goneParts(rules, known);
  const found = known.map((mask, i) => {
    const given = looked.get(i);
    const full = fullOf(rules.attributes[i]);
    let how = mask === full ? 'not_asked' : 'implied';
    if (measured.has(i)) how = 'measured';
    else if (given && given.mask !== full) how = isSingle(mask) ? 'seen' : 'unsure';
    else if (isSingle(mask)) how = 'implied';
    else if (given) how = given.how;
    else if (gone.has(rules.attributes[i].part)) how = 'missing';
    return { mask, how };
  });
  const aside = setAside(rules, known, measured);
  const piece = { known, aside, figures: surviving(rules, known, figures) };
  const call = callIn(rules, region, piece);
  const away = elsewhere(rules, region, piece);
  const cautions = cautionsFor(rules, found, call, away);
  return { ...settled, observations: found, call, elsewhere: away, cautions };
}

/** Return the cautions that belong to a piece, most pressing first. */
function cautionsFor(rules, found, call, away) {
  const at = (id) => rules.attributes.findIndex((attribute) => attribute.id === id);
  const ids = (id) => (at(id) < 0 ? [] : (
    statesIn(rules.attributes[at(id)], found[at(id)].mask).map((state) => state.id)
  ));
  const onlyOne = (id, state) => ids(id).filter((s) => s !== 'none').join() === state;
  const how = (id) => found[at(id)]?.how ?? 'not_asked';
  const typed = Boolean(call) && !call.reason;
  const planned = onlyOne('sampling', 'planned') && how('sampling') !== 'not_asked';
  const rework = ids('reworked_as');
  const judgedSo = ['seen', 'unsure'].includes(how('reworked_as'));
  const holds = {
    any: true,
    typed,
    untyped: call?.reason === 'none_fits',
    sampling: planned,
    compromised: planned && onlyOne('handling', 'compromised'),
    dated: typed && call.candidates.length <= 3,
    elsewhere: away.length > 0,
    reworked: (judgedSo && rework.length > 0 && !rework.includes('none')) || onlyOne('resharpening', 'heavy'),
    context: true,
  };
  return rules.cautions.filter((caution) => holds[caution.when]);
}

/** Return the key's call in one line. */
function callLine(rules, call) {
  if (!call) return 'none, because no region was chosen';
  const names = call.candidates.map((judgement) => rules.types[judgement.number].name);
  if (call.reason === 'none_fits') return 'untyped: no type of this region fits';
  if (call.reason === 'haft_unknown') return 'untyped so far: nothing that defines a haft was seen';
  if (call.status === 'assigned') return names[0];
  if (call.status === 'cf.') return `cf. ${names[0]}`;
  return names.length > 4 ? `one of ${names.length} types` : `either ${listed(names, 'or')}`;
}
