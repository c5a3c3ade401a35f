
// Runs: what was seen each time the batch was burnt, the latest held against the estimate, and batches
// side by side.
const runs = (() => {
  const section = SECTIONS.find(candidate => candidate.id === 'runs');
  const today = () => new Date().toISOString().slice(0, 10);

  // Where the latest run stands in the file.
  const path = () => {
    const many = toml.count(batch.text, 'run');
    return many ? `run.${many - 1}` : 'run';
  };

  async function showOutcome(box) {
    const result = toml.section(batch.text, path())
      ? await engine.quick.run(['burn', batch.file, '--show', 'run'], batch.files, 'outcome') : { code: 0, stdout: '' };
    if (!result || result.code > 1) return;
    box.replaceChildren(result.stdout ? element('pre', { class: 'result', tabindex: 0, role: 'region', 'aria-label': t('runs.outcome') }, result.stdout) : t('runs.none'));
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

  function another() {
    batch.set(toml.add(toml.asList(batch.text, 'run'), 'run', { date: today() }), 'runs');
    section.panel.shown = null;
    refresh();
    at(fields.id(`${path()}.date`)).focus();
  }

  function refresh() {
    const { panel } = section;
    const typing = panel.shown !== null && panel.output.contains(document.activeElement);
    panel.output.classList.remove('stale');
    panel.shown = batch.text;
    if (typing) { showOutcome(at('outcome')); return; }
    const outcome = element('div', { id: 'outcome' }), compared = element('div', { id: 'compared' });
    showOutcome(outcome);
    const others = keep.list().filter(kept => kept.id !== batch.id && kept.text !== batch.text);
    const boxes = others.map((other, i) => [element('input', { type: 'checkbox', id: `compare-${i}` }), other]);
    const choose = () => compare(compared, boxes.filter(([box]) => box.checked).map(([, other]) => other));
    const many = toml.count(batch.text, 'run');
    panel.output.replaceChildren(element('h3', {}, many > 1 ? t('runs.seenIn', { n: many }) : t('runs.seen')),
      element('p', { class: 'mistake', id: `${fields.id(path())}-mistake`, hidden: true }), ...form.fieldsOf(fields.RUN, path()),
      element('div', { class: 'actions' }, button(t('runs.another'), another, { class: 'quiet', disabled: path() === 'run' && !toml.section(batch.text, 'run') })),
      element('h3', {}, t('runs.outcome')), outcome, element('h3', {}, t('runs.beside')),
      others.length ? element('ul', { class: 'plain' }, boxes.map(([box, other]) => element('li', {}, box, element('label', { for: box.id }, other.name))))
        : element('p', {}, t('runs.noOthers')),
      element('div', { class: 'actions' }, button(t('runs.compare'), choose, { class: 'quiet', disabled: others.length === 0 })), compared);
  }

  section.refresh = refresh;
  return { path };
})();
