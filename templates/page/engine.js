/* A specimen under way: its answers, and all that follows from them. */

/** Return the positions of a specimen, the start first, and how many of its answers fit. */
function replay(rules, list, answers) {
  const positions = [startWalk(rules)];
  for (const tokens of answers) {
    let position = positions.at(-1);
    try {
      for (const token of tokens) {
        for (const step of readSteps(rules, list, token)) position = position && take(rules, position, step);
      }
    } catch {
      position = null;
    }
    if (!position) break;
    positions.push(position);
  }
  return positions;
}

/**
 * Return all that the page shows of a specimen, as plain data: what the tests hold against the
 * core.
 */
function summary(rules, specimen, position) {
  const found = observations(rules, position);
  const examined = examine(rules, lookedAt(found), specimen.region, figuresOf(rules, specimen));
  const criteria = (pairs) => pairs.map(([i]) => rules.attributes[i].id);
  const told = (judgement) => ({
    type: judgement.id,
    standing: ['consistent', 'possible', 'excluded'][judgement.standing],
    met: criteria(judgement.met),
    open: criteria(judgement.open),
    against: criteria(judgement.against),
    usual_met: criteria(judgement.usualMet),
    usual_against: criteria(judgement.usualAgainst),
    inside: judgement.inside.map(([id]) => id),
    outside: judgement.outside.map(([id]) => id),
  });
  const at = nextCouplet(position);
  return {
    couplet: at < 0 ? null : rules.couplets[at].number,
    known: position.known,
    observations: found.map((o) => [o.mask, o.how, o.at.map((place) => rules.couplets[place].id)]),
    settled: soFar(rules, position),
    left: leftAtMost(rules, position),
    path: writePath(rules, position.steps),
    judged: examined.observations.map((o) => [o.mask, o.how]),
    otherwise: examined.otherwise.map((o) => measuredWord(rules, o.attribute, o.measured)),
    status: examined.call?.status ?? '',
    reason: examined.call?.reason ?? '',
    candidates: (examined.call?.candidates ?? []).map(told),
    near: (examined.call?.near ?? []).map(told),
    elsewhere: examined.elsewhere.map(({ region, judgement }) => [region, judgement.id]),
    cautions: examined.cautions.map((caution) => caution.id),
    record: recordText(rules, specimen, position),
  };
}
