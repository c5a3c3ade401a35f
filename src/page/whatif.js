
// What if: a few sliders on a copy of the batch, worked out anew each time, beside the batch as it is.
const whatIf = (() => {
  const FACTORS = {
    ratio: { low: 0.5, high: 3, step: 0.05, digits: 2 },
    water: { low: 0, high: 100, step: 1, digits: 0, path: 'water.left_at_ignition', unit: ' %' },
    loss: { low: 0, high: 80, step: 1, digits: 0, path: 'conditions.heat_loss', unit: ' %' },
    air: { low: 0, high: 100, step: 5, digits: 0, path: 'conditions.air_drawn_in', unit: ' %' },
    start: { low: 20, high: 150, step: 1, digits: 0, path: 'conditions.start', unit: ' °C' },
  };
  const OTHER_RATIOS = ['oxidiser_to_fuel', 'lambda', 'fuel_per_nitrate', 'fuel_per_metal', 'percent_of_stoichiometric'];
  const chosen = {};
  let planned = null, plannedText = null;

  const number = (value, digits = 0) => value === null || value === undefined ? '–' : value.toFixed(digits).replace('-', '−');

  // More or less fuel: by the target's ratio, or where masses are given by weighing another mass.
  function withRatio(text, ratio) {
    if (toml.section(text, 'target')) {
      const cleared = OTHER_RATIOS.reduce((left, key) => toml.remove(left, `target.${key}`), text);
      return toml.set(cleared, 'target.equivalence_ratio', ratio.toFixed(3), 'number');
    }
    const factor = ratio / planned.equivalence_ratio;
    return planned.ingredients.reduce((left, ingredient, i) => {
      if (ingredient.role !== 'fuel') return left;
      for (const key of ['mass', 'volume', 'amount']) {
        const path = `ingredient.${i}.${key}`;
        const parts = toml.value(left, path).match(/^([\d.]+(?:[eE][+-]?\d+)?)(.*)$/);
        if (parts) return toml.set(left, path, `${(parseFloat(parts[1]) * factor).toPrecision(6)}${parts[2]}`);
      }
      return left;
    }, text);
  }

  function changedText() {
    let text = batch.text;
    for (const [key, value] of Object.entries(chosen)) {
      const factor = FACTORS[key];
      text = factor.path ? toml.set(text, factor.path, value.toFixed(factor.digits) + factor.unit) : withRatio(text, value);
    }
    return text;
  }

  async function estimate(text, purpose) {
    const result = await engine.quick.run(['burn', batch.file, '--format', 'json'], [[batch.file, text]], purpose);
    if (!result) return null;
    try { return { ...JSON.parse(result.stdout), code: result.code }; } catch { return { problem: result.stderr }; }
  }

  const celsius = kelvin => kelvin === null || kelvin === undefined ? t('whatif.noFlame') : `${number(kelvin - 273.15)} °C`;
  const verdict = estimate => estimate.refused ? t('verdict.stop') : t(['verdict.plan', 'verdict.decide'][estimate.code] ?? 'verdict.stop');

  // Rows of the comparison: what it is called, and its value in an estimate.
  function rows(estimate) {
    const list = [[t('whatif.verdict'), verdict(estimate)]];
    if (estimate.refused) return list;
    list.push([t('whatif.phi'), number(estimate.equivalence_ratio, 3)]);
    for (const state of estimate.water_states ?? []) {
      list.push([t('whatif.flame', { state: state.name }), celsius(state.complete_combustion?.temperature_k)]);
      list.push([t('whatif.equilibrium', { state: state.name }), celsius(state.equilibrium?.temperature_k)]);
    }
    const last = estimate.water_states?.[estimate.water_states.length - 1];
    if (last) list.push([t('whatif.gas', { state: last.name }), `${number(last.gas.volume_25c_l, 2)} L`]);
    return list;
  }

  function table(changed) {
    const before = rows(planned), after = changed ? new Map(rows(changed)) : null;
    const names = [...before.map(([name]) => name), ...(after ? [...after.keys()].filter(name => !before.some(([other]) => other === name)) : [])];
    const old = new Map(before);
    const cell = (map, name) => map?.get(name) ?? '–';
    return element('div', { class: 'scroll', tabindex: 0, role: 'region', 'aria-label': t('section.whatif') }, element('table', {},
      element('thead', {}, element('tr', {}, element('td'), element('th', { scope: 'col' }, t('whatif.planned')), element('th', { scope: 'col' }, t('whatif.changed')))),
      element('tbody', {}, names.map(name => element('tr', {}, element('th', { scope: 'row' }, name), element('td', {}, cell(old, name)),
        element('td', {}, after ? cell(after, name) : cell(old, name)))))));
  }

  async function follow() {
    const changed = Object.keys(chosen).length ? await estimate(changedText(), 'what if') : null;
    if (changed === null && Object.keys(chosen).length) return;
    at('whatif-result').replaceChildren(changed?.problem ? element('pre', { class: 'result problem', tabindex: 0 }, changed.problem) : table(changed));
    at('whatif-take').disabled = !changed || Boolean(changed.problem);
  }

  function row(key) {
    const { low, high, step, digits, path, unit } = FACTORS[key];
    const now = path ? parseFloat(toml.value(batch.text, path)) : planned.equivalence_ratio;
    const value = Number.isFinite(now) ? now : { water: 20, start: 25 }[key] ?? 0;
    const slider = element('input', { type: 'range', min: low, max: high, step, id: `whatif-${key}`, value });
    const box = element('input', { inputmode: 'decimal', size: 6, 'aria-label': t('whatif.exact', { factor: t(`whatif.${key}`) }) });
    const show = n => { box.value = n.toFixed(digits); };
    show(value);
    const choose = n => {
      if (!Number.isFinite(n)) return;
      chosen[key] = n;
      soon();
    };
    slider.addEventListener('input', () => { show(slider.valueAsNumber); choose(slider.valueAsNumber); });
    box.addEventListener('change', () => {
      const n = parseFloat(toml.withPoint(box.value));
      slider.value = n;
      choose(n);
    });
    return element('div', { class: 'slider' }, element('label', { for: slider.id }, t(`whatif.${key}`)), slider, box, element('span', {}, unit ?? ''));
  }
  const soon = calmly(80, follow);

  async function refresh() {
    const panel = SECTIONS.find(section => section.id === 'whatif').panel;
    if (plannedText === batch.text && panel.shown === batch.text) return;
    for (const key of Object.keys(chosen)) delete chosen[key];
    const text = batch.text;
    planned = await estimate(text, 'planned');
    if (!planned || text !== batch.text) return;
    plannedText = panel.shown = text;
    if (planned.problem) {
      panel.output.replaceChildren(element('pre', { class: 'result problem', tabindex: 0 }, planned.problem));
      return;
    }
    panel.output.replaceChildren(element('p', {}, t('whatif.how')), element('div', {}, Object.keys(FACTORS).map(row)),
      element('div', { id: 'whatif-result' }, table(null)),
      element('div', { class: 'actions' }, button(t('whatif.take'), () => { batch.set(changedText(), 'what if'); say(t('whatif.taken')); },
        { id: 'whatif-take', class: 'main', disabled: true })));
  }

  SECTIONS.find(section => section.id === 'whatif').refresh = refresh;
})();
