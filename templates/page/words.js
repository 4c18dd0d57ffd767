/*
 * From the words of the trade to steps, and the notation in which a walk is written down.
 * Letter case, hyphens, underscores, spaces and brackets make no difference to a word.
 */

/** Return words in the form in which they are compared. */
function plainWords(text) {
  return text.toLowerCase().replace(/[-_\s()]+/g, ' ').trim();
}

/** Return the list of all words that can be searched, made once from the rules. */
function wordList(rules) {
  const labels = { ...rules.many };
  rules.attributes.forEach((attribute) => { labels[attribute.id] = attribute.label; });
  const exact = rules.words.map(([word, name, limits, own]) => (
    { word, plain: plainWords(word), name, label: labels[name], limits, own: Boolean(own), used: '' }
  ));
  const wider = rules.thesaurus.flatMap(({ forms, means, used }) => (
    forms.flatMap((word) => means.map((limits) => {
      const first = rules.attributes[limits[0][0]];
      const name = first.item || first.id;
      return { word, plain: plainWords(word), name, label: labels[name], limits, own: false, used };
    }))
  ));
  return [...exact, ...wider];
}

/** Return what the words for the two states of an item, such as `damage.heat`, leave of it. */
function itemStates(rules, name, alternatives) {
  const index = rules.attributes.findIndex((attribute) => attribute.item && attribute.id === name);
  if (index < 0) return null;
  let mask = 0;
  for (const word of alternatives.map(plainWords)) {
    const state = rules.attributes[index].states.findIndex(({ id, term, also }) => (
      [id, term, ...also].some((form) => plainWords(form) === word)
    ));
    if (state < 0) return null;
    mask |= 1 << state;
  }
  return [[index, mask]];
}

/** Return what words for states of one attribute leave; null if a word is not known. */
function statesNamed(list, name, alternatives) {
  const limits = new Map();
  for (const word of alternatives) {
    const found = list.filter((entry) => entry.name === name && entry.plain === plainWords(word));
    if (!found.length) return null;
    for (const entry of found) {
      for (const [i, mask] of entry.limits) limits.set(i, (limits.get(i) ?? 0) | mask);
    }
  }
  return [...limits];
}

/** Return words joined by a stroke, a comma or `or` one by one. */
function alternativesIn(text) {
  return text.trim().split(/\s*[/,|]\s*|\s+or\s+/).filter(Boolean);
}

/**
 * Return what typed words can mean, best first: entries of the list, and states named together.
 * Every typed word has to begin a word of the term or of its attribute's label.
 */
function searchWords(rules, list, text, most = 12) {
  const wanted = plainWords(text);
  if (!wanted) return [];
  const found = [];
  const several = alternativesIn(text);
  if (several.length > 1) {
    for (const name of new Set(list.map((entry) => entry.name))) {
      const limits = rules.many[name] ? null : statesNamed(list, name, several);
      if (limits?.length) {
        const { label } = list.find((entry) => entry.name === name);
        found.push({ word: several.join(' or '), plain: wanted, name, label, limits, own: true, used: '' });
      }
    }
  }
  const parts = wanted.split(' ');
  const begins = (text, part) => text.split(' ').some((word) => word.startsWith(part));
  const scored = list.flatMap((entry) => {
    const label = plainWords(entry.label);
    if (!parts.every((part) => begins(entry.plain, part) || begins(label, part))) return [];
    let score = 3;
    if (entry.plain === wanted) score = entry.own ? 0 : 1;
    else if (parts.every((part) => begins(entry.plain, part))) score = 2;
    return [{ entry, score }];
  });
  scored.sort((one, other) => one.score - other.score);
  const seen = new Set();
  for (const { entry } of scored) {
    const key = JSON.stringify([entry.name, entry.limits]);
    if (!seen.has(key)) found.push(entry);
    seen.add(key);
  }
  return found.slice(0, most);
}

/** Return one step in path notation. */
function writeStep(rules, step) {
  if (step.couplet !== undefined) {
    return `${step.ahead ? '+' : ''}${rules.couplets[step.couplet].number}${step.choice}`;
  }
  const attribute = rules.attributes[step.attribute];
  return `${attribute.id}=${statesIn(attribute, step.mask).map((state) => state.id).join('/')}`;
}

/** Return steps in path notation. */
function writePath(rules, steps) {
  return steps.map((step) => writeStep(rules, step)).join(' ');
}

/** Read one token of a path: its steps, or an error that says what was expected. */
function readSteps(rules, list, token) {
  const match = /^(\+?)(\d+)([abAB?\-\u2013\u2212])$/.exec(token);
  if (match) {
    const at = rules.couplets.findIndex((couplet) => couplet.number === Number(match[2]));
    if (at < 0) throw new Error(`There is no couplet ${match[2]}.`);
    const letter = match[3].toLowerCase();
    const choice = 'ab?'.includes(letter) ? letter : '-';
    return [{ couplet: at, choice, ahead: Boolean(match[1]) }];
  }
  const [left, right] = token.split(/=(.*)/s);
  if (right === undefined) {
    throw new Error(`“${token}” is not a step: write 12a, 12b, 12?, 12- or attribute=state.`);
  }
  const name = rules.names[plainWords(left)];
  if (!name) throw new Error(`The attribute “${left}” is not known.`);
  const words = alternativesIn(right);
  const limits = itemStates(rules, name, words) ?? statesNamed(list, name, words);
  if (!limits?.length) throw new Error(`“${right}” is not a state of ${name}.`);
  return limits.map(([attribute, mask]) => ({ attribute, mask }));
}

/**
 * Take one step of a written path. An answer that follows anyway changes nothing.
 * Throws an error that says why a step does not fit.
 */
function follow(rules, position, step) {
  if (step.couplet !== undefined && nextCouplet(position) !== step.couplet) {
    const passed = position.trail.find((p) => p.couplet === step.couplet);
    const early = step.ahead && mayBeAsked(rules, position).includes(step.couplet);
    if (passed || !early) {
      readPast(rules, step, passed);
      return position;
    }
  }
  const after = take(rules, position, step);
  if (!after) throw new Error(clashText(rules, position.known, [step]));
  return after;
}

/** Accept an answer to a couplet that was passed and says the same; refuse any other. */
function readPast(rules, step, passed) {
  const { number, part } = rules.couplets[step.couplet];
  if (!passed) throw new Error(`Couplet ${number} is not reached here.`);
  if (passed.why === 'asked') throw new Error(`Couplet ${number} has been answered already.`);
  if (passed.choice === step.choice || step.choice === '?' || step.choice === '-') return;
  if (passed.why === 'gone') {
    throw new Error(`Couplet ${number} asks about the ${rules.parts[part]}, which is gone.`);
  }
  throw new Error(`${number}${passed.choice} follows from the steps before.`);
}

/**
 * Read a written path from the start of the key: {answers, position, edition}, answers as lists of
 * tokens. Throws an error that names the step that cannot be read or does not fit.
 */
function readPath(rules, list, text) {
  const edition = /^\s*([\w.-]+(?: \+ [^:]{1,60})?):(?=\s|$)/.exec(text);
  const body = edition ? text.slice(edition[0].length) : text;
  let position = startWalk(rules);
  const answers = [];
  for (const token of body.split(/[\s,;]+/).filter(Boolean)) {
    const before = position.steps.length;
    try {
      for (const step of readSteps(rules, list, token)) position = follow(rules, position, step);
    } catch (error) {
      throw new Error(`At “${token}”: ${error.message}`);
    }
    const taken = position.steps.slice(before).map((step) => writeStep(rules, step));
    if (taken.length) answers.push(taken);
  }
  return { answers, position, edition: edition?.[1] ?? '' };
}

/** Say what a contradicting answer contradicts. */
function clashText(rules, known, steps) {
  const masks = known.slice();
  const named = steps.filter((step) => step.couplet === undefined);
  for (const { attribute, mask } of named) {
    if (!(masks[attribute] & mask)) {
      const { label } = rules.attributes[attribute];
      return `${label} is settled as ${termsIn(rules.attributes[attribute], masks[attribute])}.`;
    }
    masks[attribute] &= mask;
  }
  const own = named.map((step) => step.attribute);
  const against = conflict(rules, masks).filter((i) => !own.includes(i));
  if (!against.length) return 'That does not fit what was answered before.';
  return `That does not go with: ${inWords(rules, known, against).join('; ')}.`;
}
