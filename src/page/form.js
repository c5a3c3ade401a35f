
// The form: one group for each section of the file. It is built anew when the text changed elsewhere;
// while one types in it, only the text follows.
const form = (() => {
  const opened = new Set();

  function group(group) {
    const titled = element('summary', {}, t(`group.${group.path || 'top'}`));
    const isUsed = group.list ? toml.count(batch.text, group.path) > 0 : Boolean(toml.section(batch.text, group.path)?.entries.length);
    const box = element('details', { class: 'group', 'data-group': group.path, open: group.open || opened.has(group.path) }, titled);
    if (isUsed && !group.open) titled.append(element('span', { class: 'used' }, t('form.used')));
    box.addEventListener('toggle', () => box.open ? opened.add(group.path) : opened.delete(group.path));
    box.append(element('p', { class: 'mistake', id: `${fields.id(group.path || 'top')}-mistake`, hidden: true }));
    if (group.list) box.append(...rowsOf(group));
    else if (group.free) box.append(...statesOf(group));
    else box.append(...fieldsOf(group, group.path));
    return box;
  }

  function fieldsOf(group, path) {
    const join = key => path ? `${path}.${key}` : key;
    const make = keys => Object.entries(keys).map(([key, kind]) => fields.field(join(key), kind));
    const parts = [element('div', { class: 'fields' }, make(group.keys))];
    if (group.rare) {
      const used = Object.keys(group.rare).some(key => toml.entry(batch.text, join(key)));
      const name = `${path} rare`;
      const rare = element('details', { class: 'rare', open: used || opened.has(name) }, element('summary', {}, t('form.rare')),
        element('div', { class: 'fields' }, make(group.rare)));
      rare.addEventListener('toggle', () => rare.open ? opened.add(name) : opened.delete(name));
      parts.push(rare);
    }
    return parts;
  }

  function rowsOf(group) {
    const many = toml.count(batch.text, group.path);
    const rows = Array.from({ length: many }, (_, i) => {
      const path = `${group.path}.${i}`;
      const name = toml.value(batch.text, `${path}.substance`) || toml.value(batch.text, `${path}.name`) || String(i + 1);
      return element('fieldset', { class: 'row' }, element('legend', {}, t(`row.${group.path}`, { n: i + 1 })),
        element('p', { class: 'mistake', id: `${fields.id(path)}-mistake`, hidden: true }), fieldsOf(group, path),
        button(t('form.remove'), () => { batch.set(toml.drop(batch.text, path), 'form'); build(); say(t('form.removed', { name })); },
          { 'aria-label': t('form.removeNamed', { name }), class: 'quiet' }));
    });
    const add = button(t(`add.${group.path}`), () => {
      batch.set(toml.add(batch.text, group.path, group.path === 'ingredient' ? { substance: '' } : { name: '' }), 'form');
      build();
      at(fields.id(`${group.path}.${many}.${group.path === 'ingredient' ? 'substance' : 'name'}`)).focus();
    });
    return [...rows, add];
  }

  // Keys that are names of elements.
  function statesOf(group) {
    const entries = toml.section(batch.text, group.path)?.entries ?? [];
    const list = element('div', { class: 'fields' }, entries.map(entry => fields.field(entry.path, 'number')));
    const symbol = element('input', { id: 'new-state', size: 4, autocomplete: 'off', spellcheck: 'false' });
    const add = button(t('add.oxidation_states'), () => {
      if (!/^[A-Z][a-z]?$/.test(symbol.value.trim())) { say(t('form.symbol')); symbol.focus(); return; }
      const path = `${group.path}.${symbol.value.trim()}`;
      batch.set(toml.set(batch.text, path, '3', 'number'), 'form');
      build();
      at(fields.id(path)).focus();
    });
    return [list, element('div', { class: 'field' }, element('label', { for: 'new-state' }, t('form.element')), symbol, add)];
  }

  // Puts each mistake at its field, or at its group or row if the key is not there.
  function showMistakes() {
    const box = at('form');
    for (const line of box.querySelectorAll('.mistake')) { line.hidden = true; line.textContent = ''; }
    for (const input of box.querySelectorAll('[aria-invalid]')) input.removeAttribute('aria-invalid');
    for (const mistake of batch.mistakes) {
      let path = toml.pathAtLine(batch.text, mistake.line);
      let place = at(`${fields.id(path || 'top')}-mistake`);
      while (!place && path) {
        path = path.includes('.') ? path.slice(0, path.lastIndexOf('.')) : '';
        place = at(`${fields.id(path || 'top')}-mistake`);
      }
      if (!place) continue;
      at(fields.id(path))?.setAttribute('aria-invalid', 'true');
      place.append(place.textContent ? ' ' : '', mistake.message);
      place.hidden = false;
      for (let outer = place.closest('details'); outer; outer = outer.parentElement.closest('details')) outer.open = true;
    }
  }

  let isOld = true;
  function build() {
    isOld = false;
    const focused = document.activeElement?.dataset?.path;
    at('form').replaceChildren(...fields.GROUPS.map(group));
    showMistakes();
    if (focused) at(fields.id(focused))?.focus();
  }

  batch.changed(from => {
    if (from === 'mistakes') showMistakes();
    else if (from !== 'form' && at('form').hidden) isOld = true;
    else if (from !== 'form') build();
  });
  return { show: () => { if (isOld) build(); }, fieldsOf };
})();
