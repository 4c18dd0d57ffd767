/*
 * Measurements as intervals, and the states that follow from them. An interval is half a unit of
 * the last digit to either side; a figure across a break is at least that. What was judged by eye
 * is never overruled: where a measurement says otherwise, both are told.
 */

const FACTOR = { mm: 1, cm: 10, in: 25.4, g: 1, oz: 28.349523125, deg: 1, '°': 1 };

/** Return a measurement as {low, high} in its unit of record; null for what is none. */
function readFigure(entered, unit) {
  const text = entered.trim();
  if (!text || measureFault(text, unit)) return null;
  const [, open, number, named, , plus] = ENTRY.exec(text);
  const digits = number.replace(',', '.');
  const factor = FACTOR[named ?? unit];
  const half = 0.5 * Number(`1e-${(digits.split('.')[1] ?? '').length}`) * factor;
  const value = Number(digits) * factor;
  return { low: Math.max(value - half, 0), high: open || plus ? Infinity : value + half };
}

/** Return what was measured of a specimen: a map by measurement. */
function figuresOf(rules, specimen) {
  const found = rules.measurements.map((m) => [m.id, readFigure(specimen.fields[m.id] ?? '', m.unit)]);
  return new Map(found.filter(([, figure]) => figure));
}

/** Tell whether everything that is known lies within some limits. */
function isMet(known, limits) {
  return limits.every(([i, mask]) => (known[i] & mask) && !(known[i] & ~mask));
}

/** Return the figures to work with: without an upper end where what they need may be lost. */
function surviving(rules, known, figures) {
  const gone = goneParts(rules, known);
  const cut = new Set(rules.cuts.filter(({ when }) => isMet(known, when)).flatMap((c) => c.measurements));
  const parts = new Map(rules.measurements.map((m) => [m.id, m.parts]));
  const short = (id) => cut.has(id) || parts.get(id).some((part) => gone.has(part));
  return new Map([...figures].map(([id, figure]) => (
    [id, short(id) ? { ...figure, high: Infinity } : figure]
  )));
}

/** Return the interval of a gauge's figure; null where a measurement is wanting. */
function gauged({ figure, terms }, figures) {
  if (terms.some((term) => !figures.has(term))) return null;
  const [one, other] = terms.map((term) => figures.get(term));
  if (!other) return one;
  if (figure === 'sum') return { low: one.low + other.low, high: one.high + other.high };
  if (figure === 'difference') return { low: one.low - other.high, high: one.high - other.low };
  return { low: one.low / other.high, high: other.low > 0 ? one.high / other.low : Infinity };
}

/** Return the states that a rule leaves; 0 where it says nothing. */
function statesBy(rule, figures) {
  let left = null;
  for (const gauge of rule.by) {
    const found = gauged(gauge, figures);
    if (!found) continue;
    let mask = 0;
    for (const [states, low, high] of gauge.bands) {
      if (found.low <= (high ?? Infinity) && found.high >= (low ?? -Infinity)) mask |= states;
    }
    left = left === null ? mask : left & mask;
  }
  return left ?? 0;
}

/** Return the states that measurements leave: a map by attribute, the first rule that speaks. */
function derive(rules, figures, known) {
  const found = new Map();
  for (const rule of rules.derivations) {
    if (found.has(rule.attribute) || !isMet(known, rule.when)) continue;
    const mask = statesBy(rule, figures);
    if (mask) found.set(rule.attribute, mask);
  }
  return found;
}

/**
 * Return what is known from the eye first, and from measurements where it is silent: {known,
 * measured, otherwise}; null if no piece has the states judged by eye together.
 */
function settleFigures(rules, byEye, figures) {
  let known = close(rules, byEye);
  if (!known) return null;
  const measured = new Map();
  const otherwise = [];
  const found = derive(rules, surviving(rules, known, figures), known);
  for (const [attribute, mask] of found) {
    const seen = byEye[attribute];
    if (seen !== fullOf(rules.attributes[attribute])) {
      if (!(seen & mask)) otherwise.push({ attribute, seen, measured: mask });
      continue;
    }
    const narrowed = known.map((m, i) => (i === attribute ? m & mask : m));
    const closed = close(rules, narrowed);
    if (closed) {
      known = closed;
      measured.set(attribute, mask);
    } else otherwise.push({ attribute, seen: known[attribute], measured: mask });
  }
  return { known, measured, otherwise };
}

/** Return the ranges of a type in which measurements can lie, and those in which they cannot. */
function rangesOf(kind, figures) {
  const taken = kind.ranges.filter(([id]) => figures.has(id));
  const may = ([id, low, high]) => figures.get(id).low <= high && figures.get(id).high >= low;
  return { inside: taken.filter(may), outside: taken.filter((range) => !may(range)) };
}
