/*
 * The specimen record as YAML text, which `keygen describe` reads; and the form of what is entered
 * by hand.
 */

const RECORD_FORMAT = '1';
const CONTEXT = ['site', 'unit', 'level', 'feature', 'provenience'];
const TAKEN = ['y', 'n', 'yes', 'no', 'on', 'off', 'true', 'false', 'null', 'nan', 'inf'];
const SAFE = /^\p{L}(?:[\p{L}\p{N}_ ./+()-]*[\p{L}\p{N}_./+()-])?$/u;
const UNPRINTABLE = /[\p{C}\p{Z}]/u;
const ENTRY = /^(\()?\s*(\d+(?:[.,]\d+)?)\s*(mm|cm|in|g|oz|deg|°)?\s*(\))?\s*(\+)?$/;
const KIND = { mm: 'mm', cm: 'mm', in: 'mm', g: 'g', oz: 'g', deg: 'deg', '°': 'deg' };

/** Return text as one YAML scalar, quoted wherever a reader could take it for something else. */
function scalar(text) {
  if (SAFE.test(text) && !TAKEN.includes(text.toLowerCase())) return text;
  const hex = (code, digits) => code.toString(16).padStart(digits, '0');
  const inside = Array.from(text.toWellFormed?.() ?? text, (character) => {
    if (character === '"' || character === '\\') return `\\${character}`;
    if (character === ' ' || !UNPRINTABLE.test(character)) return character;
    const code = character.codePointAt(0);
    return code > 0xffff ? `\\U${hex(code, 8)}` : `\\u${hex(code, 4)}`;
  });
  return `"${inside.join('')}"`;
}

/** Return text, a list or an object on one line. */
function flow(value) {
  if (Array.isArray(value)) return `[${value.map(flow).join(', ')}]`;
  if (typeof value === 'object') {
    return `{${Object.entries(value).map(([k, v]) => `${scalar(k)}: ${flow(v)}`).join(', ')}}`;
  }
  return scalar(value);
}

/** Return an object as YAML: one line an entry, objects at the top opened up by one level. */
function block(entries) {
  const lines = [];
  for (const [key, value] of Object.entries(entries)) {
    if (typeof value === 'object' && !Array.isArray(value) && !['rules', 'key_call'].includes(key)) {
      lines.push(`${key}:`);
      for (const [name, inner] of Object.entries(value)) lines.push(`  ${scalar(name)}: ${flow(inner)}`);
    } else lines.push(`${key}: ${flow(value)}`);
  }
  return `${lines.join('\n')}\n`;
}

/** Return the entries that say something. */
function filled(entries) {
  return Object.fromEntries(Object.entries(entries).filter(([, value]) => (
    typeof value === 'object' ? Object.keys(value).length : value
  )));
}

/** Return observations as they stand in a record, in the order of the vocabulary. */
function writeObserved(rules, looked) {
  const written = {};
  const places = (found) => found.map((at) => rules.couplets[at].id);
  rules.attributes.forEach((attribute, i) => {
    if (attribute.item) {
      if (!written[attribute.item]) {
        const items = rules.attributes.flatMap((a, j) => (a.item === attribute.item
          ? [[a.id.split('.')[1], looked.get(j)]] : []));
        if (items.some(([, o]) => o)) written[attribute.item] = writeItems(items, places);
      }
      return;
    }
    const found = looked.get(i);
    if (!found) return;
    const entry = {};
    if (found.mask !== fullOf(attribute)) entry.states = statesIn(attribute, found.mask).map((s) => s.id);
    entry.how = found.how;
    if (found.at.length) entry.at = places(found.at);
    written[attribute.id] = entry;
  });
  return written;
}

function writeItems(items, places) {
  const named = (mask, how) => items
    .filter(([, o]) => o && o.mask === mask && (!how || o.how === how)).map(([name]) => name);
  const entry = {};
  if (named(PRESENT).length || named(ABSENT).length) {
    entry.states = named(PRESENT).length ? named(PRESENT) : ['none'];
  }
  for (const how of ['unsure', 'missing']) {
    if (named(ABSENT | PRESENT, how).length) entry[how] = named(ABSENT | PRESENT, how);
  }
  const open = items.filter(([, o]) => !o).map(([name]) => name);
  if (open.length) entry.open = open;
  const at = new Set(items.flatMap(([, o]) => (o ? places(o.at) : [])));
  if (at.size) entry.at = [...at].sort();
  return entry;
}

/** Return what is wrong with a measurement as entered, or nothing. */
function measureFault(entered, unit) {
  const text = entered.trim();
  if (!text) return '';
  const match = text.length > 60 ? null : ENTRY.exec(text);
  const example = { deg: '80', g: '5.2' }[unit] ?? '34.2, or 34.2+ across a break';
  if (!match || Boolean(match[1]) !== Boolean(match[4])) return `Write a figure as in ${example}.`;
  if (KIND[match[3] ?? unit] !== unit) return `This is measured in ${unit}.`;
  return Number(match[2].replace(',', '.')) > 0 ? '' : 'The figure has to be above zero.';
}

/** Return a measurement as it is kept: a figure across a part that is gone is at least that. */
function measureKept(entered, lost) {
  const text = entered.trim();
  if (!text || !lost || text.endsWith('+') || text.includes('(')) return text;
  return `${text}+`;
}

/** Return what is wrong with a date (2026, 2026-05 or 2026-05-02), or nothing. */
function dateFault(text) {
  if (!text) return '';
  const whole = `${text}-01-01`.slice(0, 10);
  const day = /^\d{4}(-\d{2}(-\d{2})?)?$/.test(text) ? new Date(`${whole}T00:00:00Z`) : null;
  const real = day && !Number.isNaN(day.getTime()) && day.toISOString().startsWith(whole);
  return real && !text.startsWith('0000') ? '' : 'Write the date as in 2026-05-02.';
}

/** Return everything that keeps a specimen from being written as a record: [field, what]. */
function recordFaults(rules, specimen) {
  const { fields } = specimen;
  const faults = rules.measurements.map((m) => [m.id, measureFault(fields[m.id] ?? '', m.unit)]);
  faults.push(['date', dateFault(fields.date ?? '')]);
  const own = (fields.call ?? '').trim();
  const reason = (fields.reason ?? '').trim();
  if (own && !reason) faults.push(['reason', 'A call of your own needs its reason.']);
  if (reason && !own) faults.push(['call', 'A reason is given without a call.']);
  return faults.filter(([, what]) => what);
}

/** Return states that were measured as a record has them: `size_class=medium,large`. */
function measuredWord(rules, i, mask) {
  const attribute = rules.attributes[i];
  return `${attribute.id}=${statesIn(attribute, mask).map((state) => state.id).join(',')}`;
}

/** Return a specimen as the text of a record, with the key's call. */
function recordText(rules, specimen, position) {
  const field = (name) => (specimen.fields[name] ?? '').trim();
  const looked = lookedAt(observations(rules, position));
  const gone = goneParts(rules, position.known);
  const measurements = filled(Object.fromEntries(rules.measurements.map((m) => (
    [m.id, measureKept(field(m.id), m.parts.some((part) => gone.has(part)))]
  ))));
  const found = examine(rules, looked, specimen.region, figuresOf(rules, specimen));
  const call = found?.call ? {
    status: found.call.status,
    types: found.call.reason ? [] : found.call.candidates.map((judgement) => judgement.id),
    region: specimen.region,
    edition: rules.edition,
    digest: rules.digest,
    measured_otherwise: found.otherwise.map((o) => measuredWord(rules, o.attribute, o.measured)),
  } : {};
  const analyst = field('call') ? {
    call: field('call'), reason: field('reason'), by: field('observer'), date: field('date'),
  } : {};
  return `keygen_record: ${RECORD_FORMAT}\n${block(filled({
    specimen: specimen.label,
    region: specimen.region,
    rules: { edition: rules.edition, digest: rules.digest },
    observer: field('observer'),
    date: field('date'),
    observed: writeObserved(rules, looked),
    measurements,
    material: field('material'),
    colour: field('colour'),
    context: filled(Object.fromEntries(CONTEXT.map((name) => [name, field(name)]))),
    path: writePath(rules, position.steps),
    key_call: filled(call),
    analyst: filled(analyst),
    notes: field('notes'),
  }))}`;
}

/** Return a name for the file of a specimen, made of what any disk takes. */
function fileName(label, number) {
  const name = label.replace(/[^\p{L}\p{N}_.-]+/gu, '_').replace(/^[._]+|[._]+$/g, '');
  return name || `point-${number}`;
}
