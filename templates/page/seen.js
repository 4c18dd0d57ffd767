/*
 * What a walk says of every attribute: the states still possible, how they came about ('seen',
 * 'unsure', 'missing', 'implied', 'not_asked'), and at which couplets.
 */

const ABSENT = 1;
const PRESENT = 2;
const TITLES = {
  seen: 'Seen',
  unsure: 'Unsure',
  missing: 'Cannot be seen',
  implied: 'Follows from that',
};

/** Return the mask of all states of an attribute. */
function fullOf(attribute) {
  return (1 << attribute.states.length) - 1;
}

/** Return the states in a mask, in the vocabulary's order. */
function statesIn(attribute, mask) {
  return bitsOf(mask).map((i) => attribute.states[i]);
}

/** Return the terms in a mask: `straight or excurvate`. */
function termsIn(attribute, mask) {
  return listed(statesIn(attribute, mask).map((state) => state.term), 'or');
}

/** Join texts: `a`, `a or b`, `a, b or c`. */
function listed(texts, last) {
  if (texts.length < 2) return texts.join('');
  return `${texts.slice(0, -1).join(', ')} ${last} ${texts.at(-1)}`;
}

/** Return text with its first letter capital. */
function capital(text) {
  return text.slice(0, 1).toUpperCase() + text.slice(1);
}

/** Return what a walk so far says of every attribute, and how it came to say it. */
function observations(rules, position) {
  const { known } = position;
  const gone = goneParts(rules, known);
  const named = new Set(
    position.steps.filter((s) => s.couplet === undefined).map((s) => s.attribute),
  );
  const asked = rules.attributes.map(() => []);
  for (const passed of position.trail) {
    if (passed.why !== 'asked') continue;
    const couplet = rules.couplets[passed.couplet];
    const about = LETTERS.includes(passed.choice)
      ? leadOf(couplet, passed.choice).leaves.flat().map(([i]) => i)
      : couplet.decides;
    new Set(about).forEach((i) => asked[i].push(passed));
  }
  return rules.attributes.map((attribute, i) => {
    const choices = asked[i].map((passed) => passed.choice);
    const partGone = gone.has(attribute.part);
    const how = howOf(known[i], fullOf(attribute), choices, named.has(i), partGone);
    return { mask: known[i], how, at: asked[i].map((passed) => passed.couplet) };
  });
}

function howOf(mask, full, choices, named, partGone) {
  if (named) return isSingle(mask) ? 'seen' : 'unsure';
  if (choices.some((choice) => LETTERS.includes(choice)) && mask !== full) {
    return isSingle(mask) ? 'seen' : 'unsure';
  }
  if (isSingle(mask)) return 'implied';
  if (choices.includes('-') || partGone) return 'missing';
  if (choices.includes('?')) return 'unsure';
  return mask === full ? 'not_asked' : 'implied';
}

/** Return what somebody looked at, without what only follows from it: a map by attribute. */
function lookedAt(found) {
  const kept = new Map();
  found.forEach((o, i) => {
    if (o.how === 'seen' || o.how === 'unsure' || (o.how === 'missing' && o.at.length)) {
      kept.set(i, o);
    }
  });
  return kept;
}

/** Return what is known of some attributes, those that are absent gathered into one entry. */
function inWords(rules, known, which) {
  const lines = [];
  const absent = [];
  for (const i of which) {
    const attribute = rules.attributes[i];
    const states = statesIn(attribute, known[i]);
    if (attribute.item) {
      const items = rules.attributes.flatMap((a, j) => (a.item === attribute.item ? [j] : []));
      if (!items.every((j) => known[j] === ABSENT)) lines.push(termsIn(attribute, known[i]));
      else if (!absent.includes(rules.many[attribute.item])) absent.push(rules.many[attribute.item]);
    } else if (states.length === 1 && states[0].id === 'none' && attribute.stability !== 'record') {
      absent.push(attribute.label);
    } else lines.push(`${attribute.label}: ${termsIn(attribute, known[i])}`);
  }
  if (absent.length) lines.push(`${absent.join(', ')}: none`);
  return lines;
}

/** Return everything settled or left open so far: [title, entries] for each way of coming about. */
function soFar(rules, position) {
  const found = observations(rules, position);
  return Object.entries(TITLES).flatMap(([how, title]) => {
    const which = found.flatMap((o, i) => (o.how === how ? [i] : []));
    const entries = how === 'missing'
      ? which.map((i) => rules.attributes[i].label)
      : inWords(rules, position.known, which);
    return entries.length ? [[title, entries]] : [];
  });
}

/** Return what an answer settled, in a sentence. */
function newlySettled(rules, before, known) {
  const fresh = known.flatMap((mask, i) => (mask !== before[i] && isSingle(mask) ? [i] : []));
  const settled = inWords(rules, known, fresh);
  return settled.length ? `Settled: ${settled.join('; ')}.` : '';
}
