/*
 * Walking the key. A walk is its steps; a position is what follows from them.
 *
 * A step is {couplet, choice, ahead} or {attribute, mask}: a couplet by its place in the key, one of
 * a, b, ? (unsure) and - (cannot be seen); or states named outright. A position is {steps, branches,
 * trail, known}: a branch {at, boxes} stands before a couplet (-1 at the end of the key) with the
 * pieces still possible on its way. An answer narrows every branch; unsure and cannot be seen follow
 * both leads. What only came along as a consequence of a lead that was doubted is left alone by
 * later answers.
 */

const LETTERS = ['a', 'b'];

/** Return the lead of a couplet by its letter. */
function leadOf(couplet, letter) {
  return couplet.leads[LETTERS.indexOf(letter)];
}

/** Return the parts of the piece that are certainly gone, as a set. */
function goneParts(rules, known) {
  const gone = new Set();
  for (const loss of rules.losses) {
    const met = loss.when.every(([i, mask]) => (known[i] & mask) && !(known[i] & ~mask));
    const spared = !loss.unless.length || loss.unless.some(([i, mask]) => !(known[i] & mask));
    if (met && spared) loss.parts.forEach((part) => gone.add(part));
  }
  return gone;
}

/** Tell whether what is known, attribute by attribute, leaves a lead possible. */
function isOpen(lead, known) {
  return lead.leaves.some((limits) => limits.every(([i, mask]) => known[i] & mask));
}

function choiceTakes(choice, letter) {
  return choice === letter || choice === '?' || choice === '-';
}

/** Return the leads since the first doubt, whose consequences later answers leave alone. */
function guardsOf(rules, steps) {
  const guards = [];
  let doubted = false;
  for (const step of steps) {
    if (step.couplet === undefined) continue;
    const couplet = rules.couplets[step.couplet];
    doubted = doubted || step.choice === '?';
    if (!doubted) continue;
    couplet.leads.forEach((lead, k) => {
      const limits = lead.leaves[0];
      const followed = limits.filter(([i]) => !couplet.decides.includes(i));
      if (followed.length && (step.choice === LETTERS[k] || step.choice === '?')) {
        guards.push({ limits, followed: new Map(followed) });
      }
    });
  }
  return guards;
}

/** Tell whether a claim contradicts, on a guarded lead, what only follows from the lead. */
function spares(guard, claim) {
  return claim.some(([i, mask]) => guard.followed.has(i) && !(guard.followed.get(i) & mask));
}

/** Narrow pieces to what an answer leaves of them, and to what the guards spare. */
function claimed(boxes, alternatives, guards = []) {
  const sparing = guards.filter((guard) => alternatives.every((claim) => spares(guard, claim)));
  const options = [...alternatives, ...sparing.map((guard) => guard.limits)];
  const left = [];
  for (const box of boxes) {
    for (const limits of options) {
      const narrowed = narrow(box, limits);
      if (narrowed) left.push(narrowed);
    }
  }
  return left;
}

function claimBranches(branches, alternatives, guards = []) {
  return branches
    .map(({ at, boxes }) => ({ at, boxes: claimed(boxes, alternatives, guards) }))
    .filter((branch) => branch.boxes.length);
}

/** Join branches that stand before the same couplet. */
function joined(rules, branches, trail) {
  const together = new Map();
  for (const { at, boxes } of branches) {
    together.set(at, [...(together.get(at) ?? []), boxes]);
  }
  const over = new Set();
  if ([...together.values()].some((lists) => lists.length > 1)) {
    for (const passed of trail) {
      if (passed.choice === '?' || passed.choice === '-') {
        const { leads } = rules.couplets[passed.couplet];
        leads.forEach((lead) => lead.leaves.flat().forEach(([i]) => over.add(i)));
      }
    }
  }
  return [...together].map(([at, lists]) => (
    { at, boxes: lists.length === 1 ? lists[0] : merge(lists.flat(), over) }
  ));
}

/** Return the couplet that comes next, by its place in the key; -1 at the end. */
function nextCouplet(position) {
  const places = position.branches.map((branch) => branch.at).filter((at) => at >= 0);
  return places.length ? Math.min(...places) : -1;
}

/** Move the branches that stand before a couplet along the leads that a choice leaves. */
function passOn(rules, branches, at, choice) {
  const moved = branches.filter((branch) => branch.at !== at);
  rules.couplets[at].leads.forEach((lead, k) => {
    if (!choiceTakes(choice, LETTERS[k])) return;
    for (const branch of branches) {
      if (branch.at !== at) continue;
      const boxes = claimed(branch.boxes, lead.leaves);
      if (boxes.length) moved.push({ at: lead.go, boxes });
    }
  });
  return moved;
}

function positionOf(steps, branches, trail) {
  const known = branches.length ? spread(...branches.map((branch) => branch.boxes)) : [];
  return { steps, branches, trail, known };
}

/** Pass every couplet that needs no asking, up to the next one that does. */
function settle(rules, position) {
  let { branches, trail } = position;
  const asked = new Map(
    trail.filter((passed) => passed.why === 'asked').map((p) => [p.couplet, p.choice]),
  );
  for (;;) {
    const at = nextCouplet({ branches });
    if (at < 0) break;
    if (asked.has(at)) {
      branches = joined(rules, passOn(rules, branches, at, asked.get(at)), trail);
      continue;
    }
    const couplet = rules.couplets[at];
    const here = branches.filter((branch) => branch.at === at);
    const open = LETTERS.filter((letter) => {
      const { leaves } = leadOf(couplet, letter);
      return here.some(({ boxes }) => boxes.some((b) => leaves.some((l) => within(b, l))));
    });
    let passed = { couplet: at, choice: '-', why: 'gone' };
    if (open.length === 1) passed = { couplet: at, choice: open[0], why: 'implied' };
    else if (!goneParts(rules, positionOf([], branches, trail).known).has(couplet.part)) break;
    trail = [...trail, passed];
    branches = joined(rules, passOn(rules, branches, at, passed.choice), trail);
  }
  return positionOf(position.steps, branches, trail);
}

/** Return the position before the first couplet. */
function startWalk(rules) {
  const branch = { at: rules.start, boxes: rules.universe };
  return settle(rules, positionOf([], [branch], []));
}

/**
 * Return the places of the couplets that can be asked now: the next one, and those ahead of their
 * turn that stand on every way to the end that is still open.
 */
function mayBeAsked(rules, position) {
  const coming = nextCouplet(position);
  if (coming < 0) return [];
  const { known } = position;
  const gone = goneParts(rules, known);
  const passed = new Set(position.trail.map((p) => p.couplet));
  const common = (sets) => sets.reduce((one, other) => new Set([...one].filter((x) => other.has(x))));
  const onEveryWay = new Map([[-1, new Set()]]);
  for (let at = rules.couplets.length - 1; at >= 0; at -= 1) {
    const open = rules.couplets[at].leads.filter((lead) => isOpen(lead, known));
    const ways = open.map((lead) => onEveryWay.get(lead.go));
    onEveryWay.set(at, new Set([...(ways.length ? common(ways) : []), at]));
  }
  const sure = common(position.branches.map((branch) => onEveryWay.get(branch.at)));
  const ahead = [...sure].sort((one, other) => one - other).filter((at) => (
    at !== coming && !passed.has(at) && !gone.has(rules.couplets[at].part)
    && rules.couplets[at].leads.every((lead) => isOpen(lead, known))
  ));
  return [coming, ...ahead];
}

/** Return the position after one more step, or null if the step leaves nothing possible. */
function take(rules, position, step) {
  const guards = guardsOf(rules, position.steps);
  let { trail, branches } = position;
  if (step.couplet === undefined) {
    branches = claimBranches(branches, [[[step.attribute, step.mask]]]);
  } else {
    const at = step.couplet;
    const early = step.ahead && mayBeAsked(rules, position).includes(at);
    if (at !== nextCouplet(position) && !early) return null;
    trail = [...trail, { couplet: at, choice: step.choice, why: 'asked' }];
    if (LETTERS.includes(step.choice)) {
      // Ahead of its turn every branch is still to come to it, and has to follow the lead.
      const { leaves } = leadOf(rules.couplets[at], step.choice);
      const follows = (branch) => at !== nextCouplet(position) || branch.at === at;
      branches = [
        ...claimBranches(branches.filter(follows), leaves),
        ...claimBranches(branches.filter((branch) => !follows(branch)), leaves, guards),
      ];
    }
    branches = passOn(rules, branches, at, step.choice);
  }
  if (!branches.length) return null;
  const steps = [...position.steps, step];
  const after = settle(rules, positionOf(steps, joined(rules, branches, trail), trail));
  return after.branches.length ? after : null;
}

/** Return how many couplets can still be asked if each is answered a or b. */
function leftAtMost(rules, position) {
  const { known } = position;
  const gone = goneParts(rules, known);
  const answered = new Set(position.trail.map((passed) => passed.couplet));
  const longest = new Map([[-1, 0]]);
  const reach = new Map([[-1, new Set()]]);
  for (let at = rules.couplets.length - 1; at >= 0; at -= 1) {
    const couplet = rules.couplets[at];
    let ways = couplet.leads.filter((lead) => isOpen(lead, known));
    if (!ways.length) ways = couplet.leads;
    const asked = ways.length === 2 && !gone.has(couplet.part) && !answered.has(at);
    longest.set(at, Number(asked) + Math.max(...ways.map((lead) => longest.get(lead.go))));
    const further = ways.flatMap((lead) => [...reach.get(lead.go)]);
    reach.set(at, new Set(asked ? [at, ...further] : further));
  }
  const places = [...new Set(position.branches.map((branch) => branch.at))];
  const together = new Set(places.flatMap((at) => [...reach.get(at)]));
  return Math.min(together.size, places.reduce((sum, at) => sum + longest.get(at), 0));
}

/** Return how many couplets will be asked if every answer is lead a, the commoner one. */
function leftIfPlain(rules, position) {
  let asked = 0;
  for (let now = position, at = nextCouplet(now); at >= 0; at = nextCouplet(now)) {
    now = take(rules, now, { couplet: at, choice: 'a' }) ?? take(rules, now, { couplet: at, choice: 'b' });
    asked += 1;
  }
  return asked;
}
