/* The page as elements: each function returns one part of it, made anew from the data. */

/** Return an element with attributes, listeners (`onclick`) and children; empty ones are left out. */
function h(tag, attributes = {}, ...children) {
  const element = document.createElement(tag);
  for (const [name, value] of Object.entries(attributes)) {
    if (name.startsWith('on')) element.addEventListener(name.slice(2), value);
    else if (value === true) element.setAttribute(name, '');
    else if (value !== false && value !== undefined) element.setAttribute(name, value);
  }
  element.append(...children.flat(Infinity).filter((child) => child || child === 0));
  return element;
}

/** Return a copy of one of the pictures in the page, or nothing. */
function pictureOf(name) {
  const found = document.getElementById('pictures').content.querySelector(`[data-of="${name}"]`);
  return found ? found.firstElementChild.cloneNode(true) : null;
}

function plural(count, one, many = `${one}s`) {
  return `${count} ${count === 1 ? one : many}`;
}

/** Return a part that opens and closes; it stays as the reader left it. */
function section(ui, name, title, open, ...children) {
  const isOpen = ui.opened.get(name) ?? open;
  const ontoggle = (event) => ui.opened.set(name, event.target.open);
  const summary = h('summary', {}, h('h2', {}, title));
  return h('details', { class: 'part', id: name, open: isOpen, ontoggle }, summary, ...children);
}

/** Return a button: what it says, the key that does the same, and what it does. */
function button(text, onclick, key = '', more = {}) {
  const shown = key ? h('kbd', { 'aria-hidden': 'true' }, key) : null;
  return h('button', { type: 'button', onclick, 'aria-keyshortcuts': key || undefined, ...more }, text, shown);
}

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
    h('details', { class: 'help', open: ui.help, ontoggle: (event) => { ui.help = event.target.open; } },
      h('summary', {}, 'How to look'), ...helpView(rules, couplet, position.known)),
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
      h('p', {}, h('b', {}, attribute.label), `: ${attribute.definition} `, h('small', {}, attribute.basis)),
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
      const told = [entry.label, [...new Set(label)].filter((m) => plainWords(m) !== entry.plain).join('; ')];
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

/** Return what is settled so far as a list of terms. */
function settledView(rules, ui, position) {
  const groups = soFar(rules, position);
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
  return criteria.length > 0 && h('p', {}, h('i', {}, `${title} `), criteria.map((c) => criterion(rules, c)).join('; '), '.');
}

/** Return one candidate: its standing in brief, and on request the reasons, age and sources. */
function candidateView(rules, ui, region, judgement, others) {
  const kind = rules.types[judgement.number];
  const all = judgement.met.length + judgement.open.length;
  const standing = judgement.standing === CONSISTENT ? `consistent, all ${all} met`
    : `possible, ${judgement.met.length} of ${all} met`;
  const [period] = kind.known[region];
  const tells = rules.tells.filter(([one, other]) => (
    (one === judgement.number && others.has(other)) || (other === judgement.number && others.has(one))
  ));
  const name = `type ${kind.id}`;
  return h('li', {}, h(
    'details',
    { open: ui.opened.get(name) ?? others.size < 3, ontoggle: (event) => ui.opened.set(name, event.target.open) },
    h('summary', { class: 'type' },
      h('span', { class: 'icon', 'aria-hidden': 'true' }, pictureOf(`type ${kind.id}`)),
      h('span', { class: 'name' }, h('b', {}, kind.name), h('span', {}, standing), h('small', {}, period))),
    h('div', { class: 'reasons' },
      h('p', {}, h('i', {}, 'Age here '), `${ageView(kind, region)}.`),
      h('p', {}, h('i', {}, 'Defined by '), `${kind.grounds}.`),
      criteriaLine(rules, 'Still open', judgement.open),
      criteriaLine(rules, 'Not as usual', judgement.usualAgainst),
      tells.map(([one, other, tell]) => h(
        'p',
        {},
        h('i', {}, `Beside ${rules.types[one === judgement.number ? other : one].name} `),
        tell.endsWith('.') ? tell : `${tell}.`,
      )),
      criteriaLine(rules, 'Met', judgement.met),
      criteriaLine(rules, 'Usual and seen', judgement.usualMet)),
  ));
}

/** Return the types that fit, those that fail by one thing, and the call. */
function typesView(rules, ui, specimen, examined) {
  const { call } = examined;
  if (!call) {
    return section(ui, 'types', 'Types', ui.wide, h('p', {}, 'No region was chosen, so there is no call. Other regions are told of below.'));
  }
  const { place } = rules.regions[specimen.region];
  const { candidates, near } = call;
  const title = `${plural(candidates.length, 'type')} ${candidates.length === 1 ? 'fits' : 'fit'}`;
  const others = new Set(candidates.map((judgement) => judgement.number));
  return section(
    ui,
    'types',
    title,
    ui.wide,
    h('p', {}, `The key’s call ${place}: `, h('b', {}, callLine(rules, call)), '.'),
    h('ul', { class: 'types' }, candidates.map((j) => candidateView(rules, ui, specimen.region, j, others))),
    near.length > 0 && h(
      'details',
      { class: 'help' },
      h('summary', {}, `${plural(near.length, 'type')} ruled out by one thing only`),
      h('ul', {}, near.map((j) => h('li', {}, h('b', {}, rules.types[j.number].name), `, which would have ${criterion(rules, j.against[0])}`))),
    ),
  );
}

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
    types.length ? h('p', {}, 'All that defines these types is met. The same form bears other names and ages elsewhere; neighbouring regions come first.')
      : h('p', {}, 'Nothing that was seen of the haft meets a type of another region yet.'),
    h('ul', { class: 'away' }, types.map(([number, regions]) => h(
      'li',
      {},
      h('b', {}, rules.types[number].name),
      h('ul', {}, regions.map((region) => h('li', {}, `${rules.regions[region].label}: `, h('span', {}, `${ageView(rules.types[number], region)}.`)))),
    ))),
  );
}

/** Return the cautions that belong to the piece. */
function cautionsView(rules, ui, examined) {
  const list = h('ul', {}, examined.cautions.map((caution) => h('li', {}, caution.text)));
  return section(ui, 'cautions', 'Cautions', ui.wide, list);
}

/** Return the path as one writes it down, to be copied. */
function pathView(rules, ui, position, act) {
  const path = writePath(rules, position.steps);
  return section(
    ui,
    'path',
    'Path, as written in a notebook',
    false,
    h('p', {}, 'Couplet and lead; ? unsure, - cannot be seen. The printed key and ', h('code', {}, 'keygen describe --path'), ' read it too.'),
    h('p', { class: 'path', id: 'path-text', tabindex: '0' }, path ? `${rules.edition}: ${path}` : 'No step yet.'),
    path && button('Copy the path', () => act.copy(`${rules.edition}: ${path}`)),
  );
}
