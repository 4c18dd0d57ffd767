/* What is entered by hand: the rest of the record, the list of pieces, and a new piece. */

const PLAIN_FIELDS = [
  ['material', 'Material'],
  ['colour', 'Munsell colour (as in 10YR 5/3)'],
  ['site', 'Site'],
  ['unit', 'Unit'],
  ['level', 'Level'],
  ['feature', 'Feature'],
  ['provenience', 'Provenience'],
  ['observer', 'Observer'],
  ['date', 'Date (as in 2026-05-02)'],
];
const OWN_FIELDS = [['call', 'Your own call of a type, if it differs'], ['reason', 'Your reason']];

function fieldView(name, label, value, fault, onchange, area = false) {
  const id = `field-${name}`;
  const told = h('p', { class: 'fault', id: `${id}-fault` }, fault);
  const input = h(area ? 'textarea' : 'input', {
    id,
    name,
    autocomplete: 'off',
    'aria-describedby': `${id}-fault`,
    'aria-invalid': fault ? 'true' : undefined,
    oninput: (event) => onchange(name, event.target.value),
  });
  input.value = value ?? '';
  return h('div', { class: 'field' }, h('label', { for: id }, label), input, told);
}

/** Return the rest of the record: measurements, material, context, an own call, notes. */
function recordView(rules, ui, specimen, position, act) {
  const gone = goneParts(rules, position.known);
  const faults = new Map(recordFaults(rules, specimen));
  const change = (name, value) => {
    act.field(name, value);
    showFaults(rules, specimen);
  };
  const field = ([name, label, area]) => (
    fieldView(name, label, specimen.fields[name], faults.get(name), change, area)
  );
  const measured = rules.measurements.flatMap((m) => {
    const lost = m.parts.filter((part) => gone.has(part));
    if (m.parts.length && lost.length === m.parts.length && !specimen.fields[m.id]) return [];
    const least = lost.length ? `, at least: without the ${listed(lost.map((part) => rules.parts[part]), 'and')}` : '';
    return [[m.id, `${m.label} (${m.unit}${least})`]];
  });
  return section(
    ui,
    'record',
    'Measurements, context, notes',
    nextCouplet(position) < 0,
    h('p', {}, 'Everything here can be left empty. Measurements are kept as entered (34.2, or 34.2+ across a break) and are not weighed on this page: ', h('code', {}, 'keygen describe'), ' weighs them.'),
    h('h3', {}, 'Measurements'),
    h('div', { class: 'fields figures' }, measured.map(field)),
    h('h3', {}, 'Piece and place'),
    h('div', { class: 'fields' }, PLAIN_FIELDS.map(field)),
    h('h3', {}, 'Own call and notes'),
    h('div', { class: 'fields' }, OWN_FIELDS.map(field), field(['notes', 'Notes', true])),
    h('p', { class: 'actions' }, button('Download this record (YAML)', act.download)),
  );
}

/** Show beside each field what is wrong with it, without making the form anew. */
function showFaults(rules, specimen) {
  const faults = new Map(recordFaults(rules, specimen));
  for (const input of document.querySelectorAll('#record input, #record textarea')) {
    const fault = faults.get(input.name) ?? '';
    input.toggleAttribute('aria-invalid', Boolean(fault));
    if (fault) input.setAttribute('aria-invalid', 'true');
    document.getElementById(`field-${input.name}-fault`).textContent = fault;
  }
}

/** Return the form for a new piece. */
function newView(rules, ui, act) {
  const offered = Object.entries(rules.regions).filter(([, region]) => region.offered);
  const options = [...offered.map(([id, region]) => [id, region.label]), ['', 'No region: describe only']];
  const chosen = options.some(([id]) => id === ui.region) ? ui.region : options[0][0];
  return h(
    'form',
    {
      class: 'new',
      onsubmit: (event) => {
        event.preventDefault();
        const { label, region, path } = event.target.elements;
        act.begin(label.value.trim(), region.value, path.value);
      },
    },
    h('h2', {}, 'New piece'),
    h('div', { class: 'fields' },
      h('div', { class: 'field' }, h('label', { for: 'new-label' }, 'Specimen number'), h('input', { id: 'new-label', name: 'label', autocomplete: 'off' })),
      h('div', { class: 'field' }, h('label', { for: 'new-region' }, 'Research region'), h('select', { id: 'new-region', name: 'region' }, options.map(([id, label]) => h('option', { value: id, selected: id === chosen }, label))))),
    h('details', { class: 'help' },
      h('summary', {}, 'Go on from a path in your notebook'),
      h('div', { class: 'field' }, h('label', { for: 'new-path' }, 'Path'), h('textarea', { id: 'new-path', name: 'path', autocomplete: 'off', spellcheck: 'false', placeholder: '1a 3a 24a 25?' }))),
    h('p', { class: 'actions' }, h('button', { type: 'submit', class: 'main' }, 'Begin')),
  );
}

/** Return one line of the list of pieces. */
function pieceView(rules, ui, specimen, act) {
  const positions = replay(rules, ui.words, specimen.answers);
  const position = positions.at(-1);
  const examined = examine(rules, lookedAt(observations(rules, position)), specimen.region);
  const region = rules.regions[specimen.region]?.label ?? 'no region';
  const state = nextCouplet(position) < 0 ? 'key finished' : plural(specimen.answers.length, 'answer');
  const name = act.nameOf(specimen);
  const asked = ui.deleting === specimen.id;
  return h(
    'li',
    {},
    h('button', { type: 'button', class: 'open', onclick: () => act.open(specimen.id) },
      h('b', {}, name),
      h('span', {}, specimen.region ? capital(callLine(rules, examined.call)) : 'Described only'),
      h('small', {}, `${region}; ${state}`)),
    asked
      ? h('span', { class: 'sure' }, `Delete ${name} for good?`, button('Delete', () => act.remove(specimen.id)), button('Keep', () => act.ask('')))
      : button('Delete …', () => act.ask(specimen.id), '', { 'aria-label': `Delete ${name}` }),
  );
}

/** Return the list of pieces, with the form for a new one. */
function listView(rules, ui, specimens, act) {
  return [
    h('h1', { id: 'question', tabindex: '-1' }, 'Pieces on this device'),
    specimens.length
      ? h('ul', { class: 'pieces' }, specimens.map((specimen) => pieceView(rules, ui, specimen, act)))
      : h('p', {}, 'None yet. Everything that you answer stays in this browser, on this device, and is sent nowhere.'),
    specimens.length > 0 && h('p', { class: 'actions' }, button(`Download all ${specimens.length} (ZIP of YAML records)`, act.downloadAll)),
    newView(rules, ui, act),
    aboutView(rules),
  ];
}

/** Return what the page is, how it is used, and the works that it cites. */
function aboutView(rules) {
  return h(
    'details',
    { class: 'part', id: 'about' },
    h('summary', {}, h('h2', {}, 'About this page')),
    h('p', {}, `Rules ${rules.edition} (${rules.digest}): ${plural(rules.couplets.length, 'couplet')}, ${plural(rules.types.length, 'type')}. The page works without a network and keeps every answer before it puts the next question.`),
    h('p', {}, 'Keys, while the question has the focus: a and b take a lead, u is unsure, n cannot be seen, Backspace takes the last answer back.'),
    h('p', {}, 'A record that is downloaded is read by ', h('code', {}, 'keygen describe FILE.yaml'), '; all records together come as a ZIP: unpack it, and ', h('code', {}, 'keygen table FOLDER'), ' reads them as one table.'),
    h('p', {}, 'A type is an analyst’s construct. Pictures are schematic: drawn from coded attributes, not from pieces.'),
    h('details', { class: 'help' }, h('summary', {}, `Works cited (${rules.works.length})`), h('ul', { class: 'works' }, rules.works.map((work) => h('li', {}, work)))),
  );
}
