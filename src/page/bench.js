
// The bench: one step after the other for hands in gloves, with what was really weighed, the running
// total, a timer, and the ratio that follows from the true masses.
const bench = (() => {
  let lines = [], planned = null, ticks = {}, awake = null, ticking = null;

  const digits = (grams, readability) => grams.toFixed(Math.max(0, Math.min(6, Math.round(-Math.log10(readability || 0.001)))));

  // What a line asks for: words, the planned number, its unit, grams per unit.
  function task(line) {
    const { weigh, draw, stock_solution: stock } = line.measure;
    if (draw) {
      return { unit: 'mL', planned: draw.volume_ml, gramsPer: line.mass_g / draw.volume_ml,
        words: t('bench.draw', { amount: `${+draw.volume_ml.toPrecision(4)} mL`, with: draw.with, nominal: `${+draw.nominal_ml.toPrecision(4)} mL` }) };
    }
    if (stock?.stock) {
      return { unit: 'mL', planned: stock.stock.carried_ml, gramsPer: line.mass_g / stock.stock.carried_ml,
        words: t('bench.stock', { amount: `${+stock.stock.carried_ml.toPrecision(4)} mL` }) };
    }
    const weighing = weigh ?? stock.direct;
    return { unit: 'g', planned: weighing.mass_g, gramsPer: 1,
      words: t('bench.weigh', { amount: `${digits(weighing.mass_g, weighing.readability_g)} g`, with: weighing.balance }) };
  }

  const entered = i => {
    const value = parseFloat(toml.withPoint(ticks[i]?.true ?? ''));
    return Number.isFinite(value) && value > 0 ? value : null;
  };
  const gramsOf = (line, i) => (entered(i) ?? task(line).planned) * task(line).gramsPer;

  // Path of the ingredient that each line of the sheet weighs; the sheet has an order of its own.
  function paths() {
    const free = planned.ingredients.map((ingredient, i) => ({ ...ingredient, i }));
    return lines.map(line => {
      const found = free.findIndex(other => other.name === line.name && Math.abs(other.amount_mol - line.amount_mol) <= 1e-9 * line.amount_mol);
      return found < 0 ? null : `ingredient.${free.splice(found, 1)[0].i}`;
    });
  }

  // The batch with what really went in: masses instead of a target, the same oxidation states.
  function trueText() {
    const places = paths();
    let text = toml.drop(batch.text, 'target');
    lines.forEach((line, n) => {
      const path = places[n], { unit, planned: asked } = task(line);
      if (!path) return;
      for (const key of ['mass', 'volume', 'amount', 'share', 'per_product']) text = toml.remove(text, `${path}.${key}`);
      const isVolume = unit === 'mL' && !line.measure.stock_solution;
      if (isVolume) text = toml.set(text, `${path}.volume`, `${(entered(n) ?? asked).toPrecision(6)} mL`);
      else text = toml.set(toml.remove(text, `${path}.concentration`), `${path}.mass`, `${gramsOf(line, n).toPrecision(7)} g`);
    });
    const states = new Map(planned.valence_sum.flatMap(row => row.terms).map(term => [term.element, term.oxidation_state]));
    for (const [symbol, state] of states) {
      const path = `oxidation_states.${symbol}`;
      if (!['C', 'H', 'N', 'O', 'S', 'Cl'].includes(symbol) && !toml.entry(text, path)) text = toml.set(text, path, String(state), 'number');
    }
    return toml.set(text, 'name', t('bench.weighedName', { name: batch.name }));
  }

  function showPlanned() {
    at('bench-ratio').textContent = t('bench.ratioPlanned', { phi: planned.equivalence_ratio.toFixed(3) });
  }
  const workOut = calmly(250, async () => {
    if (!lines.some((_, i) => entered(i) !== null)) { showPlanned(); return; }
    const result = await engine.quick.run(['burn', 'weighed.toml', '--format', 'json'], [['weighed.toml', trueText()]], 'weighed');
    if (!result) return;
    let found = null;
    try { found = JSON.parse(result.stdout); } catch { /* told below */ }
    const verdict = t(['verdict.plan', 'verdict.decide'][result.code] ?? 'verdict.stop');
    at('bench-ratio').textContent = found && !found.refused
      ? t('bench.ratioTrue', { planned: planned.equivalence_ratio.toFixed(3), phi: found.equivalence_ratio.toFixed(3), verdict })
      : found ? verdict : result.stderr;
  });

  function totals() {
    let sum = 0;
    lines.forEach((line, i) => { if (ticks[i]?.done) sum += gramsOf(line, i); });
    const done = lines.filter((_, i) => ticks[i]?.done).length;
    at('bench-total').textContent = t('bench.total', { done, all: lines.length, sum: sum.toFixed(3) });
  }

  function remember() {
    if (!keep.saveTicks(batch.id, ticks)) say(t('keep.notKept'));
    totals();
  }

  function step(line, i) {
    const { words, unit } = task(line), own = ticks[i] ??= {};
    const tick = button('', () => {
      own.done = !own.done;
      mark();
      remember();
      if (own.done) item.nextElementSibling?.scrollIntoView({ block: 'center', behavior: calm() ? 'auto' : 'smooth' });
    }, { class: 'tick', 'aria-pressed': 'false' });
    const field = element('input', { id: `true-${i}`, inputmode: 'decimal', autocomplete: 'off', input: () => { own.true = field.value; remember(); workOut(); } });
    field.value = own.true ?? '';
    const item = element('li', { class: 'step' }, tick,
      element('div', { class: 'what' }, element('b', {}, words), element('span', {}, `${line.name}, ${line.formula}`)),
      element('div', { class: 'field' }, element('label', { for: field.id }, t('bench.true', { unit, name: line.name })), field));
    const mark = () => {
      tick.setAttribute('aria-pressed', String(Boolean(own.done)));
      tick.textContent = own.done ? '✓' : String(i + 1);
      tick.setAttribute('aria-label', `${tick.textContent} ${t(own.done ? 'bench.done' : 'bench.tick', { name: line.name })}`);
      item.classList.toggle('done', Boolean(own.done));
    };
    mark();
    return item;
  }
  const calm = () => matchMedia('(prefers-reduced-motion: reduce)').matches;

  // The timer goes by the clock, so that a reload or a sleeping screen does not stop it.
  const seconds = () => (ticks.spent ?? 0) + (ticks.since ? (Date.now() - ticks.since) / 1000 : 0);
  const clock = total => `${Math.floor(total / 60)}:${String(Math.floor(total % 60)).padStart(2, '0')}`;
  function showTime() {
    at('bench-time').textContent = clock(seconds());
    at('timer-go').textContent = t(ticks.since ? 'bench.pause' : 'bench.start');
  }
  function timer() {
    if (ticks.since) { ticks.spent = seconds(); delete ticks.since; } else ticks.since = Date.now();
    remember();
    showTime();
  }
  // The true masses go into the notes of the run, by the names that the file uses.
  function noteMasses() {
    const places = paths(), path = runs.path();
    const masses = lines.flatMap((line, i) => entered(i) === null || !places[i] ? []
      : [`${JSON.stringify(toml.value(batch.text, `${places[i]}.substance`))} = "${+gramsOf(line, i).toPrecision(7)} g"`]);
    if (masses.length === 0) { say(t('bench.noMasses')); return; }
    batch.set(toml.setRaw(toml.drop(batch.text, `${path}.masses`), `${path}.masses`, `{ ${masses.join(', ')} }`), 'bench');
    say(t('bench.massesNoted', { n: masses.length }));
  }
  function note(key, value) {
    batch.set(toml.set(batch.text, `${runs.path()}.${key}`, `${Math.max(1, Math.round(value))} s`), 'bench');
    say(t('bench.noted', { what: fields.label(`run.${key}`), value: clock(value) }));
  }

  async function stayAwake() {
    try { awake = await navigator.wakeLock.request('screen'); } catch { awake = null; }
    at('bench-awake').textContent = t(awake ? 'bench.awake' : 'bench.sleeps');
  }

  function build() {
    at('bench-steps').replaceChildren(...lines.map(step));
    at('bench-title').textContent = batch.name;
    at('bench-verdict').textContent = at('verdict').textContent;
    totals();
    showTime();
    showPlanned();
    workOut();
  }

  async function open() {
    const [sheet, burn, page] = await Promise.all([engine.quick.run(['weigh', batch.file, '--format', 'json'], batch.files, 'bench sheet'),
      engine.quick.run(['burn', batch.file, '--format', 'json'], batch.files, 'bench burn'),
      engine.quick.run(['weigh', batch.file], batch.files, 'bench page')]);
    if (!sheet || !burn || !page) return;
    if (sheet.code > 1 || burn.code > 1) { say(sheet.stderr || t('verdict.stop')); return; }
    lines = JSON.parse(sheet.stdout).lines;
    planned = JSON.parse(burn.stdout);
    ticks = keep.ticks(batch.id);
    at('bench-sheet').textContent = page.stdout;
    build();
    view.show('bench');
    clearInterval(ticking);
    ticking = setInterval(showTime, 500);
    stayAwake();
  }

  function close() {
    clearInterval(ticking);
    awake?.release();
    awake = null;
    view.show('work');
  }

  at('to-bench').addEventListener('click', open);
  at('timer-go').addEventListener('click', timer);
  at('timer-lit').addEventListener('click', () => { ticks.lit = seconds(); remember(); note('ignited_after', ticks.lit); });
  at('timer-out').addEventListener('click', () => note('flame_lasted', seconds() - (ticks.lit ?? 0)));
  at('timer-reset').addEventListener('click', () => { delete ticks.since; ticks.spent = 0; delete ticks.lit; remember(); showTime(); });
  at('bench-clear').addEventListener('click', () => { ticks = {}; remember(); build(); });
  at('bench-note').addEventListener('click', noteMasses);
  at('bench-keep').addEventListener('click', () => { const text = trueText(); close(); batch.open(text, { isNew: true }); });
  at('bench-close').addEventListener('click', close);
  document.addEventListener('visibilitychange', () => { if (!document.hidden && !at('bench').hidden) stayAwake(); });
  return { open };
})();
