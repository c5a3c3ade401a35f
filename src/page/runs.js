
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

  // Two short answers on the runs of this batch.
  const SAID = { outcome: file => ['burn', file, '--show', 'run'], judged: file => ['judge', file] };
  async function showSaid(id) {
    const result = toml.section(batch.text, path()) ? await engine.quick.run(SAID[id](batch.file), batch.files, id) : { code: 0, stdout: '' };
    if (!result || !at(id)) return;
    at(id).replaceChildren(result.code > 1 || result.stdout ? printed(result, t(`runs.${id}`)) : t('runs.none'));
  }

  // Work on this batch and the picked ones, which may take seconds.
  const TOGETHER = { compare: files => ['compare', ...files], next: files => ['next', ...files], learn: files => ['learn', '--show-only', ...files] };
  async function together(what, box, picked) {
    // The last file is the one that `next` changes.
    const files = new Map();
    for (const { name, text } of [...picked, { name: batch.name, text: batch.text }]) {
      let file = keep.fileName(name);
      for (let n = 2; files.has(file); n++) file = keep.fileName(name).replace(/\.toml$/, `-${n}.toml`);
      files.set(file, text);
    }
    const names = [...files.keys()];
    if (what === 'compare') names.unshift(names.pop());
    answer.showProgress(box);
    const result = await engine.long.run(TOGETHER[what](names), files, 'together');
    if (result) box.replaceChildren(printed(result, t(`runs.${what}`)));
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
    if (typing) { Object.keys(SAID).forEach(showSaid); return; }
    const result = element('div', { id: 'together' });
    const others = keep.list().filter(kept => kept.id !== batch.id && kept.text !== batch.text);
    const boxes = others.map((other, i) => [element('input', { type: 'checkbox', id: `compare-${i}` }), other]);
    const picked = () => boxes.filter(([box]) => box.checked).map(([, other]) => other);
    const many = toml.count(batch.text, 'run');
    panel.output.replaceChildren(element('h3', {}, many > 1 ? t('runs.seenIn', { n: many }) : t('runs.seen')),
      element('p', { class: 'mistake', id: `${fields.id(path())}-mistake`, hidden: true }), ...form.fieldsOf(fields.RUN, path()),
      element('div', { class: 'actions' }, button(t('runs.another'), another, { class: 'quiet', disabled: path() === 'run' && !toml.section(batch.text, 'run') })),
      ...Object.keys(SAID).map(id => [element('h3', {}, t(`runs.${id}`)), element('div', { id }, t('answer.working'))]).flat(), element('h3', {}, t('runs.beside')),
      others.length ? element('ul', { class: 'plain' }, boxes.map(([box, other]) => element('li', {}, box, element('label', { for: box.id }, other.name))))
        : element('p', {}, t('runs.noOthers')),
      element('div', { class: 'actions' }, Object.keys(TOGETHER).map(what => button(t(`runs.${what}`), () => together(what, result, picked()),
        { class: 'quiet', id: `runs-${what}`, disabled: what === 'compare' && others.length === 0 }))), result);
    Object.keys(SAID).forEach(showSaid);
  }

  section.refresh = refresh;
  return { path };
})();
