
// The four doors: from the shelf, a wanted powder, a file, an example; and what the browser keeps.
const start = (() => {
  const USUAL_FUEL = 'urea';
  const ML_PER_GRAM = 7.5;   // common practice: about 5 to 10 mL of water for each gram of powder

  // Door 1: salts and fuels with what there is of each.
  let shelfRows = 0;
  function shelfRow(list) {
    const n = ++shelfRows, name = element('input', { id: `shelf-name-${n}` }), mass = element('input', { id: `shelf-mass-${n}`, inputmode: 'decimal', size: 8 });
    const row = element('div', { class: 'shelf-row' },
      element('div', { class: 'field grow' }, element('label', { for: name.id }, t('shelf.substance', { n: list.children.length + 1 })), name),
      element('div', { class: 'field' }, element('label', { for: mass.id }, t('shelf.mass')), mass));
    substances.attach(name, null, () => mass.focus());
    list.append(row);
    return name;
  }

  // "3" or "3,5" are grams; what has a unit stays as it is.
  function quantity(text, unit) {
    const plain = toml.withPoint(text.trim());
    return /^\d+(\.\d+)?$/.test(plain) ? `${plain} ${unit}` : plain;
  }

  function fromShelf(list) {
    const rows = [...list.querySelectorAll('.shelf-row')].map(row => [...row.querySelectorAll('input')].map(input => input.value.trim()))
      .filter(([name]) => name);
    if (rows.length < 2) { say(t('shelf.tooFew')); return; }
    let text = toml.set('', 'name', t('shelf.name'));
    for (const [name, amount] of rows) {
      const isLiquid = /^\s*(water|H2O)\s*$/i.test(name) || /(mL|µL|uL|L)\s*$/.test(amount);
      text = toml.add(text, 'ingredient', { substance: name, ...(amount ? { [isLiquid ? 'volume' : 'mass']: quantity(amount, isLiquid ? 'mL' : 'g') } : {}) });
    }
    batch.open(text, { isNew: true });
    view.open();
  }

  function shelf(box) {
    const list = element('div', {});
    box.append(element('p', {}, t('shelf.how')), list,
      element('div', { class: 'actions' }, button(t('shelf.more'), () => shelfRow(list).focus(), { class: 'quiet' }),
        button(t('shelf.go'), () => fromShelf(list), { class: 'main', id: 'shelf-go' })));
    for (let i = 0; i < 3; i++) shelfRow(list);
  }

  // Door 2: a formula, a mass, a fuel; the usual nitrate of each metal is taken.
  function fromWanted(formula, mass, fuel) {
    const symbols = substances.metals(formula);
    if (symbols.length === 0) { say(t('wanted.noMetal')); at('wanted-formula').focus(); return; }
    const amount = quantity(mass || '1', 'g'), grams = parseFloat(amount) * (/mg\s*$/.test(amount) ? 0.001 : 1) || 1;
    let text = toml.set('', 'name', t('wanted.name', { formula, fuel }));
    text = toml.set(text, 'target.formula', formula);
    text = toml.set(text, 'target.product_mass', amount);
    text = toml.set(text, 'target.equivalence_ratio', '1', 'number');
    const missing = [];
    for (const symbol of symbols) {
      const source = substances.sourceOf(symbol);
      if (source) text = toml.add(text, 'ingredient', { substance: source.formula });
      else missing.push(symbol);
    }
    text = toml.add(text, 'ingredient', { substance: fuel });
    text = toml.add(text, 'ingredient', { substance: 'water', volume: `${Math.max(5, Math.round(grams * ML_PER_GRAM))} mL` });
    batch.open(text, { isNew: true });
    view.open();
    if (missing.length) say(t('wanted.noSource', { list: missing.join(', ') }));
  }

  function wanted(box) {
    const field = (id, label, value, more = {}) => {
      const input = element('input', { id, autocomplete: 'off', spellcheck: 'false', ...more });
      input.value = value;
      return [input, element('div', { class: 'field' }, element('label', { for: id }, t(label)), input)];
    };
    const [formula, formulaField] = field('wanted-formula', 'wanted.formula', '');
    const [mass, massField] = field('wanted-mass', 'wanted.mass', '1 g');
    const [fuel, fuelField] = field('wanted-fuel', 'wanted.fuel', USUAL_FUEL);
    const go = () => fromWanted(formula.value.trim(), mass.value.trim(), fuel.value.trim() || USUAL_FUEL);
    box.append(element('p', {}, t('wanted.how')), element('div', { class: 'fields' }, formulaField, massField, fuelField),
      element('div', { class: 'actions' }, button(t('wanted.go'), go, { class: 'main', id: 'wanted-go' })));
    substances.attach(fuel, ['fuel']);
    formula.addEventListener('keydown', event => { if (event.key === 'Enter') go(); });
    look(box);
  }

  // A look instead of a formula: the program names powders and batches to start from.
  function look(box) {
    const words = { colour: fields.HUES, glow: fields.HUES, use: fields.USES };
    const asked = Object.entries(words).map(([key, list]) => [key, element('select', { id: `look-${key}` },
      element('option', { value: '' }, t('form.notSaid')), list.map(word => element('option', { value: word }, worded(word))))]);
    const output = element('div', { id: 'look-answer' });
    const go = async () => {
      const text = asked.reduce((left, [key, input]) => toml.set(left, `wanted.${key}`, input.value), '');
      if (!text) { say(t('wanted.noLook')); return; }
      answer.showProgress(output);
      const run = format => engine.long.run(['choose', 'wish.toml', '--format', format], [['wish.toml', text]]);
      const said = await run('text'), data = said?.code === 0 ? await run('json') : null;
      if (!said) return;
      const found = data ? JSON.parse(data.stdout).candidates.filter(candidate => candidate.start?.file) : [];
      output.replaceChildren(element('div', { class: 'actions' }, found.map(({ powder: { formula }, start: { file } }) =>
        button(t('wanted.take', { formula }), () => { batch.open(file, { isNew: true }); view.open(); }, { class: 'main' }))), printed(said, t('wanted.answer')));
    };
    box.append(element('h3', {}, t('wanted.look')), element('div', { class: 'fields' }, asked.map(([key, input]) =>
      element('div', { class: 'field' }, element('label', { for: input.id }, t(`wanted.${key}`)), input))),
      element('div', { class: 'actions' }, button(t('wanted.which'), go, { id: 'look-go' })), output);
  }

  // Door 3: a file, or text that is pasted.
  async function openFiles(files) {
    const taken = await keep.take(files);
    for (const { name, problem } of taken.filter(file => file.problem)) say(t(`open.${problem}`, { name }));
    const good = taken.filter(file => !file.problem);
    for (const { text } of good) batch.open(text, { isNew: true });
    if (good.length === 1) view.open();
    else if (good.length > 1) { listKept(); say(t('open.many', { n: good.length })); }
  }

  function open(box) {
    const pick = element('input', { type: 'file', id: 'pick', multiple: true, accept: '.toml,.txt,.zip' });
    pick.addEventListener('change', () => { openFiles(pick.files); pick.value = ''; });
    const paste = element('textarea', { id: 'paste', rows: 4, spellcheck: 'false', class: 'code' });
    box.append(element('div', { class: 'field' }, element('label', { for: 'pick' }, t('open.pick')), pick),
      element('p', {}, t('open.drop')),
      element('div', { class: 'field' }, element('label', { for: 'paste' }, t('open.paste')), paste),
      element('div', { class: 'actions' }, button(t('open.go'), () => {
        if (paste.value.length > keep.LARGEST) { say(t('open.large', { name: t('open.pasted') })); return; }
        if (!paste.value.trim()) { paste.focus(); return; }
        batch.open(paste.value, { isNew: true });
        view.open();
      }, { class: 'main', id: 'paste-go' })));
  }

  // Door 4.
  const EXAMPLES = JSON.parse(at('examples').textContent);
  function examples(box) {
    box.append(element('ul', { class: 'plain' }, Object.entries(EXAMPLES).map(([file, text]) => element('li', {},
      button(toml.value(text, 'name') || file, () => { batch.open(text); view.open(); }, { 'data-example': file, class: 'link' })))));
  }

  function listKept() {
    const kept = keep.list();
    at('kept-list').replaceChildren(...kept.map(saved => element('li', {},
      button(saved.name, () => { batch.open(saved.text, { id: saved.id }); view.open(); }, { class: 'link' }), ' ',
      element('small', {}, new Date(saved.changed).toLocaleString([], { dateStyle: 'short', timeStyle: 'short' })), ' ',
      button(t('keep.file'), () => keep.download(keep.fileName(saved.name), saved.text), { class: 'quiet', 'aria-label': t('keep.fileNamed', { name: saved.name }) }),
      button(t('keep.forget'), event => {
        const self = event.currentTarget;
        if (self.dataset.sure) { keep.forget(saved.id); listKept(); say(t('keep.forgot', { name: saved.name })); return; }
        self.dataset.sure = 'yes';
        self.textContent = t('keep.sure');
      }, { class: 'quiet', 'aria-label': t('keep.forgetNamed', { name: saved.name }) }))));
    at('keep-none').hidden = kept.length > 0;
    at('keep-all').hidden = kept.length === 0;
  }

  function downloadAll() {
    const names = new Map();
    const files = keep.list().map(({ name, text }) => {
      const base = keep.fileName(name), n = names.get(base) ?? 0;
      names.set(base, n + 1);
      return [n ? base.replace(/\.toml$/, `-${n + 1}.toml`) : base, text];
    });
    keep.download('emberpot-batches.zip', keep.zip(files), 'application/zip');
  }

  function build() {
    const doors = { shelf, wanted, open, examples };
    for (const [name, fill] of Object.entries(doors)) {
      const box = element('div', { class: 'inside' });
      const handle = element('summary', {}, element('b', {}, t(`door.${name}`)), element('span', {}, t(`door.${name}.says`)));
      const door = element('details', { class: 'door', name: 'door', id: `door-${name}` }, handle, box);
      // Opened here and not by the browser, whose news of it comes late: what is typed at once has its field.
      handle.addEventListener('click', event => {
        event.preventDefault();
        door.open = !door.open;
        if (!door.open) return;
        if (!box.hasChildNodes()) fill(box);
        box.querySelector('input:not([type=file])')?.focus();
      });
      at('doors').append(door);
    }
    at('keep-all').addEventListener('click', downloadAll);
    document.addEventListener('dragover', event => { if (event.dataTransfer.types.includes('Files')) event.preventDefault(); });
    document.addEventListener('drop', event => {
      if (event.dataTransfer.files.length === 0) return;
      event.preventDefault();
      openFiles(event.dataTransfer.files);
    });
  }

  return { build, listKept, EXAMPLES };
})();
