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

/** Return something to fill in, under its label. */
function labelled(id, label, tag, attributes, ...children) {
  const common = { id, autocomplete: 'off', spellcheck: 'false' };
  const field = h(tag, { ...common, ...attributes }, ...children);
  return h('div', { class: 'field' }, h('label', { for: id }, label), field);
}

/** Return the regions that can be chosen, and none, as options. */
function regionOptions(rules, chosen) {
  const option = (id, label) => h('option', { value: id, selected: id === chosen }, label);
  const offered = Object.keys(rules.regions).filter((id) => rules.regions[id].offered || id === chosen);
  return [
    ...offered.map((id) => option(id, rules.regions[id].label)),
    option('', 'No region: describe only'),
  ];
}

function regionView(rules, specimen, act) {
  const onchange = (event) => act.region(event.target.value);
  const options = regionOptions(rules, specimen.region);
  return labelled('field-region', 'Research region', 'select', { onchange }, options);
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
    const without = listed(lost.map((part) => rules.parts[part]), 'and');
    const least = without ? `, at least: without the ${without}` : '';
    return [[m.id, `${m.label} (${m.unit}${least})`]];
  });
  return section(
    ui,
    'record',
    'Measurements, context, notes',
    nextCouplet(position) < 0,
    paragraph(
      'Everything here can be left empty. Measurements (34.2, or 34.2+ across a break) settle what ',
      'nobody judged by eye and support types; they never overrule the eye. Published indices are ',
      'worked out by ',
      code('keygen describe'),
      '.',
    ),
    h('h3', {}, 'Measurements'),
    h('div', { class: 'fields figures', onchange: act.measured }, measured.map(field)),
    h('h3', {}, 'Piece and place'),
    paragraph('Site locations are confidential: the record holds every place entered here.'),
    h('div', { class: 'fields' },
      fieldView('label', 'Specimen number', specimen.label, '', change),
      regionView(rules, specimen, act),
      PLAIN_FIELDS.map(field)),
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
  const offered = Object.keys(rules.regions).filter((id) => rules.regions[id].offered);
  const chosen = ui.region === '' || offered.includes(ui.region) ? ui.region : offered[0];
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
      labelled('new-label', 'Specimen number', 'input', { name: 'label' }),
      labelled('new-region', 'Research region', 'select', { name: 'region' }, regionOptions(rules, chosen))),
    h('details', { class: 'help' },
      h('summary', {}, 'Go on from a path in your notebook'),
      labelled('new-path', 'Path', 'textarea', { name: 'path', placeholder: '1a 3a 24a 25?' })),
    h('p', { class: 'actions' }, h('button', { type: 'submit', class: 'main' }, 'Begin')),
  );
}

/** Return one line of the list of pieces. */
function pieceView(rules, ui, specimen, act) {
  const positions = replay(rules, ui.words, specimen.answers);
  const position = positions.at(-1);
  const looked = lookedAt(observations(rules, position));
  const examined = examine(rules, looked, specimen.region, figuresOf(rules, specimen));
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
      ? h(
        'span',
        { class: 'sure' },
        `Delete ${name} for good?`,
        button('Delete', () => act.remove(specimen.id)),
        button('Keep', () => act.ask('')),
      )
      : button('Delete …', () => act.ask(specimen.id), '', { 'aria-label': `Delete ${name}` }),
  );
}

/** Return the list of pieces, with the form for a new one. */
function listView(rules, ui, specimens, others, act) {
  return [
    h('h1', { id: 'question', tabindex: '-1' }, 'Pieces on this device'),
    specimens.length
      ? h('ul', { class: 'pieces' }, specimens.map((specimen) => pieceView(rules, ui, specimen, act)))
      : paragraph('None yet. What you answer stays in this browser, on this device, and is sent nowhere.'),
    others > 0 && paragraph(
      `${plural(others, 'piece')} of other rules ${others === 1 ? 'is' : 'are'} kept on this device too; `,
      'the page made from those rules shows them.',
    ),
    specimens.length > 0 && h(
      'p',
      { class: 'actions' },
      button(`Download all ${specimens.length} (ZIP of YAML records)`, act.downloadAll),
    ),
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
    paragraph(
      `Rules ${rules.edition} (${rules.digest}): ${plural(rules.couplets.length, 'couplet')}, `,
      `${plural(rules.types.length, 'type')}. The page works without a network and keeps every answer `,
      'before it puts the next question.',
    ),
    paragraph(
      'Keys, while the question has the focus: a and b take a lead, u is unsure, n cannot be seen, ',
      'Backspace takes the last answer back.',
    ),
    paragraph(
      'A record that is downloaded is read by ',
      code('keygen describe FILE.yaml'),
      '; all records together come as a ZIP: unpack it, and ',
      code('keygen table FOLDER'),
      ' reads them as one table.',
    ),
    paragraph(
      'A type is an analyst’s construct. Pictures are schematic: drawn from coded attributes, not from ',
      'pieces.',
    ),
    h(
      'details',
      { class: 'help' },
      h('summary', {}, `Works cited (${rules.works.length})`),
      h('ul', { class: 'works' }, rules.works.map((work) => h('li', {}, work))),
    ),
  );
}
