/* The page as elements: each function returns one part of it, made anew from the data. */

/** Return the couplet that is asked, with its two leads as buttons. */
function coupletView(rules, ui, at, position, act) {
  const couplet = rules.couplets[at];
  const left = leftAtMost(rules, position);
  const plain = leftIfPlain(rules, position);
  const count = left === plain ? `${plural(left, 'couplet')} left.`
    : `At most ${plural(left, 'couplet')} left; ${plain} if nothing is unusual.`;
  const leads = LETTERS.map((letter) => {
    const picture = pictureOf(`${couplet.number}${letter}`);
    return h(
      'button',
      { type: 'button', class: 'lead', 'aria-keyshortcuts': letter, onclick: () => act.answer(letter) },
      h('span', { class: 'letter' }, letter),
      h('span', { class: 'say' }, leadOf(couplet, letter).say),
      picture && h('span', { class: 'picture', 'aria-hidden': 'true' }, picture),
    );
  });
  return [
    h('h1', { id: 'question', tabindex: '-1' },
      h('span', { class: 'number' }, h('span', { class: 'unseen' }, 'Couplet '), `${couplet.number}`),
      h('span', { class: 'asks' }, couplet.ask)),
    h('div', { class: 'leads' }, leads),
    h('div', { class: 'others' },
      button('Unsure', () => act.answer('?'), 'u'),
      button('Cannot be seen', () => act.answer('-'), 'n')),
    h('p', { class: 'count' }, count),
    h(
      'details',
      { class: 'help', ...folding(ui, 'help', false) },
      h('summary', {}, 'How to look'),
      ...helpView(rules, couplet, position.known),
    ),
  ];
}

/** Return how to look at a couplet, with the words that it uses and what they rest on. */
function helpView(rules, couplet, known) {
  const about = couplet.about.map((i) => {
    const attribute = rules.attributes[i];
    if (attribute.item) {
      const [, present] = attribute.states;
      return h('p', {}, h('b', {}, attribute.label), present.means && `: ${present.means}`);
    }
    const states = statesIn(attribute, known[i]).map((state) => h(
      'li',
      {},
      h('b', {}, state.term),
      state.means && `: ${state.means}`,
      state.also.length > 0 && ` (also: ${state.also.join(', ')})`,
    ));
    return [
      paragraph(bold(attribute.label), `: ${attribute.definition} `, h('small', {}, attribute.basis)),
      h('ul', {}, states),
    ];
  });
  return [h('p', {}, couplet.look), ...about.flat()];
}

/** Return the field in which a term is looked for, and what is found. */
function termView(rules, ui, position, act) {
  const results = h('ul', { class: 'found', id: 'found' });
  const show = (text) => {
    const found = searchWords(rules, ui.words, text);
    results.replaceChildren(...found.map((entry) => {
      const means = entry.limits.map(([i, mask]) => termsIn(rules.attributes[i], mask));
      const settled = entry.limits.every(([i, mask]) => !(position.known[i] & ~mask));
      const label = rules.many[entry.name] && entry.limits.length > 1 ? [] : means;
      const others = [...new Set(label)].filter((m) => plainWords(m) !== entry.plain);
      const told = [entry.label, others.join('; ')];
      return h('li', {}, h(
        'button',
        { type: 'button', onclick: () => act.term(entry) },
        h('b', {}, entry.word),
        h('span', {}, told.filter(Boolean).join(': ')),
        settled && h('small', {}, 'settled already'),
        entry.used && h('small', {}, `used: ${entry.used}`),
      ));
    }));
    if (text.trim() && !found.length) results.append(h('li', {}, 'No term begins like this.'));
    ui.say(text.trim() ? plural(found.length, 'term') : '');
  };
  return h(
    'div',
    { class: 'term' },
    h('label', { for: 'term' }, 'Or give a term'),
    h('input', {
      id: 'term',
      type: 'search',
      autocomplete: 'off',
      autocapitalize: 'none',
      spellcheck: 'false',
      placeholder: 'corner-notched, base straight …',
      oninput: (event) => show(event.target.value),
      onkeydown: (event) => {
        if (event.key === 'Enter') results.querySelector('button')?.click();
      },
    }),
    results,
  );
}

/** Return what measurements settle, and what they do not bear out: [title, entries] each. */
function measuredSoFar(rules, { known, measured, otherwise }) {
  const told = otherwise.map((o) => {
    const attribute = rules.attributes[o.attribute];
    const by = `by eye ${termsIn(attribute, o.seen)}, by measurement ${termsIn(attribute, o.measured)}`;
    return `${attribute.label}: ${by}`;
  });
  const groups = [
    ['Measured', inWords(rules, known, [...measured.keys()])],
    ['Measured otherwise than seen', told],
  ];
  return groups.filter(([, entries]) => entries.length);
}

/** Return what is settled so far as a list of terms. */
function settledView(rules, ui, position, examined) {
  const groups = [...soFar(rules, position), ...measuredSoFar(rules, examined)];
  const count = groups.reduce((sum, [, entries]) => sum + entries.length, 0);
  return section(
    ui,
    'settled',
    'Described so far',
    ui.wide,
    count ? groups.map(([title, entries]) => [
      h('h3', {}, title),
      h('ul', { class: 'terms' }, entries.map((entry) => h('li', {}, entry))),
    ]) : h('p', {}, 'Nothing yet.'),
  );
}

/** Return the age of a type in a region, with sources and basis. */
function ageView(kind, region) {
  const [period, age, local] = kind.known[region];
  return `${period}: ${age}${local ? `. Locally ${local}` : ''}`;
}

/** Return a criterion in short words: `stem shape straight or expanding`. */
function criterion(rules, [i, allowed]) {
  const short = (text) => text.replace(/\s*\([^)]*\)/g, '');
  const { label } = rules.attributes[i];
  const terms = statesIn(rules.attributes[i], allowed).map((state) => short(state.term));
  return `${short(label)}: ${listed(terms, 'or')}`;
}

function criteriaLine(rules, title, criteria) {
  const told = criteria.map((c) => criterion(rules, c)).join('; ');
  return told && paragraph(h('i', {}, `${title} `), `${told}.`);
}

function rangesLine(rules, title, ranges) {
  const told = ranges.map(([id, low, high]) => {
    const { label, unit } = rules.measurements.find((m) => m.id === id);
    return `${label} ${low}-${high} ${unit}`;
  });
  return told.length > 0 && paragraph(h('i', {}, `${title} `), `${told.join('; ')}.`);
}

/** Return one candidate: its standing in brief, and on request the reasons, age and sources. */
function candidateView(rules, ui, region, judgement, others) {
  const kind = rules.types[judgement.number];
  const all = judgement.met.length + judgement.open.length;
  const standing = judgement.standing === CONSISTENT ? `consistent, all ${all} met`
    : `possible, ${judgement.met.length} of ${all} met`;
  const [period] = kind.known[region];
  const own = judgement.number;
  const tells = rules.tells.filter(([one, other]) => (
    (one === own && others.has(other)) || (other === own && others.has(one))
  ));
  const name = `type ${kind.id}`;
  return h('li', {}, h(
    'details',
    folding(ui, name, others.size < 3),
    h('summary', { class: 'type' },
      h('span', { class: 'icon', 'aria-hidden': 'true' }, pictureOf(`type ${kind.id}`)),
      h('span', { class: 'name' }, bold(kind.name), h('span', {}, standing), h('small', {}, period))),
    h('div', { class: 'reasons' },
      h('p', {}, h('i', {}, 'Age here '), `${ageView(kind, region)}.`),
      h('p', {}, h('i', {}, 'Definition '), `${kind.grounds}.`),
      criteriaLine(rules, 'Still open', judgement.open),
      criteriaLine(rules, 'Usual, but not seen', judgement.usualAgainst),
      tells.map(([one, other, tell]) => h(
        'p',
        {},
        h('i', {}, `Beside ${rules.types[one === own ? other : one].name} `),
        tell.endsWith('.') ? tell : `${tell}.`,
      )),
      rangesLine(rules, 'Outside the range recorded', judgement.outside),
      rangesLine(rules, 'Within the range recorded', judgement.inside),
      criteriaLine(rules, 'Met', judgement.met),
      criteriaLine(rules, 'Usual and seen', judgement.usualMet)),
  ));
}

/** Return the types that fit, those that fail by one thing, and the call. */
function typesView(rules, ui, specimen, examined) {
  const { call } = examined;
  if (!call) {
    const told = 'No region was chosen, so there is no call. Other regions are told of below.';
    return section(ui, 'types', 'Types', ui.wide, paragraph(told));
  }
  const { place } = rules.regions[specimen.region];
  const { candidates, near } = call;
  const title = `${plural(candidates.length, 'type')} ${candidates.length === 1 ? 'fits' : 'fit'}`;
  const others = new Set(candidates.map((judgement) => judgement.number));
  const candidate = (j) => candidateView(rules, ui, specimen.region, j, others);
  const nearMiss = (j) => h(
    'li',
    {},
    bold(rules.types[j.number].name),
    `, which would have ${criterion(rules, j.against[0])}`,
  );
  return section(
    ui,
    'types',
    title,
    ui.wide,
    h('p', {}, `The key’s call ${place}: `, h('b', {}, callLine(rules, call)), '.'),
    h('ul', { class: 'types' }, candidates.map(candidate)),
    near.length > 0 && h(
      'details',
      { class: 'help' },
      h('summary', {}, `${plural(near.length, 'type')} ruled out by one thing only`),
      h('ul', {}, near.map(nearMiss)),
    ),
  );
}

const ELSEWHERE = 'All that defines these types is met. The same form bears other names and ages '
  + 'elsewhere; neighbouring regions come first.';

/** Return which types the same piece would be in other regions, with their ages there. */
function elsewhereView(rules, ui, specimen, examined) {
  const near = rules.regions[specimen.region]?.near ?? [];
  const byType = new Map();
  for (const { region, judgement } of examined.elsewhere) {
    byType.set(judgement.number, [...(byType.get(judgement.number) ?? []), region]);
  }
  const nearFirst = (one, other) => near.includes(other) - near.includes(one);
  const types = [...byType].map(([number, regions]) => [number, regions.sort(nearFirst)]);
  types.sort((one, other) => near.includes(other[1][0]) - near.includes(one[1][0]));
  return section(
    ui,
    'elsewhere',
    `In other regions: ${plural(types.length, 'type')}`,
    false,
    paragraph(types.length ? ELSEWHERE : 'No type of another region has all its criteria met yet.'),
    h('ul', { class: 'away' }, types.map(([number, regions]) => h(
      'li',
      {},
      bold(rules.types[number].name),
      h('ul', {}, regions.map((region) => (
        h('li', {}, `${rules.regions[region].label}: ${ageView(rules.types[number], region)}.`)
      ))),
    ))),
  );
}

/** Return the cautions that belong to the piece; that on locations stands where they are entered. */
function cautionsView(rules, ui, examined) {
  const told = examined.cautions.filter((caution) => caution.id !== 'location');
  const list = h('ul', {}, told.map((caution) => h('li', {}, caution.text)));
  return section(ui, 'cautions', 'Cautions', ui.wide, list);
}

/** Return the path as one writes it down, to be copied. */
function pathView(rules, ui, position, act) {
  const path = writePath(rules, position.steps);
  const whole = path && `${rules.edition}: ${path}`;
  return section(
    ui,
    'path',
    'Path, as written in a notebook',
    false,
    paragraph(
      'Couplet and lead; ? unsure, - cannot be seen. ',
      code('keygen describe --path'),
      ' reads it too.',
    ),
    h('p', { class: 'path', id: 'path-text', tabindex: '0' }, whole || 'No step yet.'),
    path && button('Copy the path', () => act.copy(whole)),
  );
}
