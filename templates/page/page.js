/* The page itself: what is shown now, and what each button does. */

/** Begin: read the rules out of the page, show the pieces, and listen to keys. */
function begin() {
  const rules = JSON.parse(document.getElementById('rules').textContent);
  const store = openStore();
  const main = document.getElementById('main');
  const live = document.getElementById('live');
  const ui = {
    words: wordList(rules),
    opened: new Map(),
    region: store.all().at(-1)?.region ?? null,
    deleting: '',
    wide: window.matchMedia('(min-width: 60rem)').matches,
    say: (text) => { live.textContent = text; },
  };
  let specimen = null;
  let positions = [];
  let doing = [];
  let fault = '';

  const nameOf = (one) => one.label || `Piece ${one.number}`;
  const position = () => positions.at(-1);

  const pieces = () => store.all().filter((one) => !one.region || rules.regions[one.region]);

  function keep() {
    store.save(specimen);
    document.getElementById('unkept').hidden = store.kept;
  }

  /** Show the page as it is now; the question gets the focus unless it is wanted elsewhere. */
  function show(focus = '#question') {
    document.title = specimen ? `${nameOf(specimen)}: key to points` : 'Key to points: pieces';
    main.className = specimen ? 'piece' : 'list';
    const others = store.all().length - pieces().length;
    const parts = specimen ? pieceParts() : listView(rules, ui, pieces(), others, act);
    main.replaceChildren(...parts.filter(Boolean));
    document.getElementById('unkept').hidden = store.kept;
    document.getElementById('home').hidden = !specimen;
    document.getElementById('which').textContent = specimen
      ? `${nameOf(specimen)}, ${rules.regions[specimen.region]?.label ?? 'no region'}` : '';
    if (focus) document.querySelector(focus)?.focus({ preventScroll: focus !== '#question' });
    if (focus === '#question') window.scrollTo(0, 0);
  }

  function examinedNow() {
    const looked = lookedAt(observations(rules, position()));
    return examine(rules, looked, specimen.region, figuresOf(rules, specimen));
  }

  /** Return the parts of the page that measurements change. */
  function weighedParts(examined) {
    return [
      settledView(rules, ui, position(), examined),
      typesView(rules, ui, specimen, examined),
      elsewhereView(rules, ui, specimen, examined),
      cautionsView(rules, ui, examined),
    ];
  }

  function pieceParts() {
    const now = position();
    const examined = examinedNow();
    const at = nextCouplet(now);
    const ask = h(
      'section',
      { class: 'ask', 'aria-labelledby': 'question', onkeydown: onKey },
      trailView(now),
      specimen.unfit.length > 0 && h(
        'p',
        { class: 'doing' },
        'The rules have changed since this piece was begun. These answers no longer fit and are ',
        `left out: ${specimen.unfit.flat().join(' ')}`,
      ),
      doing.length > 0 && h(
        'div',
        { class: 'doing' },
        h('h2', {}, 'Do this'),
        h('ul', {}, doing.map((text) => h('li', {}, text))),
      ),
      fault && h('p', { class: 'fault', role: 'alert' }, fault),
      ...(at >= 0 ? coupletView(rules, ui, at, now, act) : endView(examined)),
      at >= 0 && termView(rules, ui, now, act),
    );
    const rest = h(
      'div',
      { class: 'rest' },
      ...weighedParts(examined),
      pathView(rules, ui, now, act),
      recordView(rules, ui, specimen, now, act),
    );
    return [ask, rest];
  }

  function trailView(now) {
    const last = now.steps.slice(-5).map((step) => writeStep(rules, step));
    const text = `${now.steps.length > 5 ? '… ' : ''}${last.join(' ')}`;
    const count = specimen.answers.length;
    return h(
      'div',
      { class: 'trail' },
      h('p', {}, text || 'First question'),
      button('Back', act.back, 'Backspace', count ? {} : { disabled: true }),
    );
  }

  const callText = (examined) => h('span', { class: 'call' }, callLine(rules, examined.call));

  function endView(examined) {
    return [
      h('h1', { id: 'question', tabindex: '-1' }, 'The key has ended'),
      h('p', { class: 'verdict' }, 'The key’s call: ', callText(examined), '.'),
      h('div', { class: 'others' },
        button('Measurements and notes', () => {
          ui.opened.set('record', true);
          show('#record summary');
          document.getElementById('record').scrollIntoView();
        }),
        button('Next piece', act.home)),
      h('p', { class: 'actions' }, button('Download this record (YAML)', act.download)),
    ];
  }

  function onKey(event) {
    const typing = event.target.matches('input, textarea, select');
    if (typing || event.ctrlKey || event.metaKey || event.altKey) return;
    const choice = { a: 'a', b: 'b', u: '?', n: '-' }[event.key.toLowerCase()];
    if (event.key === 'Backspace') act.back();
    else if (choice && nextCouplet(position()) >= 0) act.answer(choice);
    else return;
    event.preventDefault();
  }

  /** Take the steps of one answer, keep it, and put the next question. */
  function takeSteps(steps, instructions) {
    const before = position();
    const after = steps.reduce((now, step) => now && take(rules, now, step), before);
    if (!after) {
      fault = clashText(rules, before.known, steps);
      show();
      return;
    }
    specimen.answers.push(steps.map((step) => writeStep(rules, step)));
    specimen.edition = rules.edition;
    specimen.digest = rules.digest;
    keep();
    positions.push(after);
    doing = instructions;
    fault = '';
    ui.say(newlySettled(rules, before.known, after.known));
    show();
  }

  const act = {
    nameOf,
    answer(choice) {
      const at = nextCouplet(position());
      const taken = rules.couplets[at].leads.filter((_, k) => choiceTakes(choice, LETTERS[k]));
      takeSteps([{ couplet: at, choice }], taken.flatMap((lead) => lead.do));
    },
    term(entry) {
      if (entry.limits.every(([i, mask]) => !(position().known[i] & ~mask))) {
        ui.say('That is settled already.');
        return;
      }
      takeSteps(entry.limits.map(([attribute, mask]) => ({ attribute, mask })), []);
    },
    back() {
      if (!specimen.answers.length) return;
      specimen.answers.pop();
      keep();
      positions.pop();
      doing = [];
      fault = '';
      ui.say('Taken back.');
      show();
    },
    begin(label, region, path) {
      let answers = [];
      if (path.trim()) {
        try {
          ({ answers } = readPath(rules, ui.words, path));
        } catch (error) {
          ui.say(error.message);
          const field = document.getElementById('new-path');
          field.parentElement.querySelector('.fault')?.remove();
          field.after(h('p', { class: 'fault' }, error.message));
          field.focus();
          return;
        }
      }
      const number = Math.max(0, ...store.all().map((one) => one.number)) + 1;
      const id = `${Date.now().toString(36)}-${number}`;
      const now = new Date();
      const date = [now.getFullYear(), now.getMonth() + 1, now.getDate()]
        .map((part) => String(part).padStart(2, '0')).join('-');
      const before = store.all().at(-1)?.fields ?? {};
      const fields = { date, ...(before.observer ? { observer: before.observer } : {}) };
      const { edition, digest } = rules;
      specimen = { id, number, label, region, edition, digest, answers, fields };
      ui.region = region;
      keep();
      act.open(id);
    },
    open(id) {
      const stored = store.get(id);
      positions = replay(rules, ui.words, stored.answers);
      const fitting = positions.length - 1;
      specimen = {
        ...stored,
        answers: stored.answers.slice(0, fitting),
        unfit: [...stored.answers.slice(fitting), ...(stored.unfit ?? [])],
      };
      doing = [];
      fault = '';
      ui.deleting = '';
      ui.opened.delete('record');
      show();
    },
    home() {
      specimen = null;
      show();
    },
    field(name, value) {
      if (name === 'label') specimen.label = value.trim();
      else specimen.fields[name] = value;
      keep();
    },
    /** Show what a measurement changes, and leave the reader at the field. */
    measured() {
      const examined = examinedNow();
      for (const part of weighedParts(examined)) document.getElementById(part.id).replaceWith(part);
      const told = document.querySelector('.verdict .call');
      if (told) told.textContent = callLine(rules, examined.call);
      ui.say(`The key’s call: ${callLine(rules, examined.call)}.`);
    },
    region(id) {
      specimen.region = id;
      keep();
      show('#field-region');
    },
    ask(id) {
      ui.deleting = id;
      show(id ? '.sure button' : '#question');
    },
    remove(id) {
      store.remove(id);
      ui.deleting = '';
      show();
    },
    copy(text) {
      copyText(text).then((done) => ui.say(done ? 'Copied.' : 'Select the path and copy it by hand.'));
    },
    download() {
      const faults = recordFaults(rules, specimen);
      if (faults.length) {
        ui.opened.set('record', true);
        show(`#field-${faults[0][0]}`);
        ui.say(faults[0][1]);
        return;
      }
      const text = recordText(rules, specimen, position());
      const name = `${fileName(specimen.label, specimen.number)}.yaml`;
      saveFile(name, new Blob([text], { type: 'application/yaml' }));
    },
    downloadAll() {
      const faulty = pieces().find((one) => recordFaults(rules, one).length);
      if (faulty) {
        act.open(faulty.id);
        act.download();
        return;
      }
      const taken = new Set();
      const files = pieces().map((one) => {
        let name = fileName(one.label, one.number);
        if (taken.has(name.toLowerCase())) name = `${name}-${one.number}`;
        taken.add(name.toLowerCase());
        const at = replay(rules, ui.words, one.answers).at(-1);
        return [`${name}.yaml`, recordText(rules, one, at)];
      });
      saveFile('points.zip', zipOf(files, new Date()));
    },
  };

  document.getElementById('home').addEventListener('click', act.home);
  window.addEventListener('storage', (event) => {
    store.refresh();
    if (!specimen) show('');
    else if (event.key === PREFIX + specimen.id) {
      if (store.get(specimen.id)) act.open(specimen.id);
      else act.home();
    }
  });
  window.keygenPage = {
    /** Return all that the page knows of the piece that is open, as plain data. */
    state: () => (specimen ? summary(rules, specimen, position()) : null),
    /** Return the same of any path, read as from a notebook, and measurements by their ids. */
    read(region, path, fields = {}) {
      const read = readPath(rules, ui.words, path);
      return summary(rules, { label: '', region, fields }, read.position);
    },
    /** Return the steps that each meaning of some words takes. */
    find: (words) => searchWords(rules, ui.words, words, 99)
      .map((entry) => [entry.name, entry.limits]),
  };
  show('');
}

begin();
