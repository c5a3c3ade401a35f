
// Runs: what was seen when the batch was burnt, held against the estimate, and batches side by side.
const runs = (() => {
  const section = SECTIONS.find(candidate => candidate.id === 'runs');

  async function showOutcome(box) {
    const result = await engine.quick.run(['report', batch.file], batch.files, 'outcome');
    if (!result || result.code > 1) return;
    const page = new DOMParser().parseFromString(result.stdout, 'text/html');
    const words = page.getElementById('run')?.querySelector('pre')?.textContent;
    box.replaceChildren(words ? element('pre', { class: 'result', tabindex: 0, role: 'region', 'aria-label': t('runs.outcome') }, words) : t('runs.none'));
  }

  async function compare(box, picked) {
    const files = new Map([[batch.file, batch.text]]);
    for (const { name, text } of picked) {
      let file = keep.fileName(name);
      for (let n = 2; files.has(file); n++) file = keep.fileName(name).replace(/\.toml$/, `-${n}.toml`);
      files.set(file, text);
    }
    const result = await engine.quick.run(['compare', ...files.keys()], files, 'compare');
    if (!result) return;
    box.replaceChildren(element('pre', { class: result.code > 1 ? 'result problem' : 'result', tabindex: 0, role: 'region', 'aria-label': t('runs.compared') },
      result.code > 1 ? result.stderr : result.stdout));
  }

  // A copy of the batch with what was seen, kept under the day's date.
  function keepRun() {
    const day = new Date().toISOString().slice(0, 10);
    const text = toml.set(batch.text, 'name', t('runs.copyName', { name: batch.name, day }));
    const kept = keep.save({ id: keep.newId(), name: toml.value(text, 'name'), text }) && batch.save();
    say(t(kept ? 'runs.saved' : 'keep.notKept'));
    section.panel.shown = null;
    refresh();
  }

  function refresh() {
    const { panel } = section;
    const hasFocus = panel.output.contains(document.activeElement);
    const outcome = element('div', { id: 'outcome' }), compared = element('div', { id: 'compared' });
    showOutcome(panel.shown === null || !hasFocus ? outcome : at('outcome'));
    panel.output.classList.remove('stale');
    panel.shown = batch.text;
    if (hasFocus) return;
    const others = keep.list().filter(kept => kept.id !== batch.id && kept.text !== batch.text);
    const boxes = others.map((other, i) => [element('input', { type: 'checkbox', id: `compare-${i}` }), other]);
    const choose = () => compare(compared, boxes.filter(([box]) => box.checked).map(([, other]) => other));
    panel.output.replaceChildren(element('h3', {}, t('runs.seen')),
      element('div', { class: 'fields' }, Object.entries(fields.RUN.keys).map(([key, kind]) => fields.field(`run.${key}`, kind))),
      element('div', { class: 'actions' }, button(t('runs.keep'), keepRun, { class: 'main' })),
      element('h3', {}, t('runs.outcome')), outcome, element('h3', {}, t('runs.beside')),
      others.length ? element('ul', { class: 'plain' }, boxes.map(([box, other]) => element('li', {}, box, element('label', { for: box.id }, other.name))))
        : element('p', {}, t('runs.noOthers')),
      element('div', { class: 'actions' }, button(t('runs.compare'), choose, { class: 'quiet', disabled: others.length === 0 })), compared);
  }

  section.refresh = refresh;
})();
