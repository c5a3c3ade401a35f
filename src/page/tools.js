
// Sums beside a batch: a salt made purer, a dopant counted, a carbonate made into nitrate. What is
// entered goes to the program as it stands.
const tools = (() => {
  const given = (values, ...keys) => keys.flatMap(key => values[key] ? [`--${key}`, values[key]] : []);
  const TOOLS = [
    { id: 'recrystallise', needs: ['salt', 'mass'], fields: { salt: 'substance', mass: '50 g', hot: '', cold: '', water: '', impurity: '', times: '' },
      command: values => ['recrystallise', values.salt, ...given(values, 'mass', 'hot', 'cold', 'water', 'times'),
        ...values.impurity.split(';').map(one => one.trim()).filter(Boolean).flatMap(one => ['--impurity', one])] },
    { id: 'dope', needs: ['host', 'with', 'on', 'level'], fields: { host: '', with: '', on: '', level: '2 %', counted: ['site', 'mass', 'oxide'] },
      command: values => ['dope', values.host, ...given(values, 'with', 'on'), `--${values.counted}`, values.level] },
    { id: 'convert', needs: ['substance', 'mass'], fields: { substance: 'substance', mass: '10 g', acid: '65 %', excess: '5 %' },
      command: values => ['convert', values.substance, ...given(values, 'mass', 'acid', 'excess')] },
  ];

  function field(tool, key, kind, changed) {
    const id = `tool-${tool.id}-${key}`, label = t(`tool.${tool.id}.${key}`);
    const input = Array.isArray(kind)
      ? element('select', { id }, kind.map(word => element('option', { value: word }, worded(word))))
      : element('input', { id, autocomplete: 'off', spellcheck: 'false' });
    if (typeof kind === 'string' && kind !== 'substance') input.value = kind;
    input.addEventListener(Array.isArray(kind) ? 'change' : 'input', changed);
    const wrap = element('div', { class: 'field' }, element('label', { for: id }, label), input);
    if (kind === 'substance') substances.attach(input, null);
    return [key, input, wrap];
  }

  function fill(tool, box) {
    const output = element('div', { class: 'output' });
    const work = async () => {
      const values = Object.fromEntries(inputs.map(([key, input]) => [key, toml.withPoint(input.value.trim())]));
      if (tool.needs.some(key => !values[key])) { output.replaceChildren(); return; }
      const result = await engine.quick.run(tool.command(values), [], `tool ${tool.id}`);
      if (result) output.replaceChildren(printed(result, t(`tool.${tool.id}`)));
    };
    const inputs = Object.entries(tool.fields).map(([key, kind]) => field(tool, key, kind, calmly(200, work)));
    box.append(element('div', { class: 'fields' }, inputs.map(([, , wrap]) => wrap)), output);
  }

  for (const tool of TOOLS) {
    const box = element('div', { class: 'inside' });
    const door = element('details', { class: 'door', id: `tool-${tool.id}` },
      element('summary', {}, element('b', {}, t(`tool.${tool.id}`)), element('span', {}, t(`tool.${tool.id}.says`))), box);
    door.addEventListener('toggle', () => { if (door.open && !box.hasChildNodes()) fill(tool, box); });
    at('tool-list').append(door);
  }
})();
