
// What can be varied, with a range to start from.
const FACTORS = { 'fuel-ratio': ['0.6', '2'], water: ['5 mL', '30 mL'], 'water-left': ['0 %', '60 %'], loss: ['0 %', '50 %'],
  air: ['0 %', '100 %'], start: ['25 °C', '110 °C'], size: ['0.5 g', '5 g'], 'fuel-share': ['20 %', '80 %'],
  dopant: ['0 %', '10 %'], flux: ['0 %', '10 %'] };

// What a section asks above its result, as it stands.
const ASKED = {
  vary: { over: 'fuel-ratio', from: '0.6', to: '2', steps: '11' },
  series: { over: 'fuel-ratio=0.9, 1, 1.1', and: '', repeat: '2' },
};
const asked = id => Object.fromEntries(Object.entries(ASKED[id]).map(([key, value]) => [key, value.trim()]));

function vary(file) {
  const { over, from, to, steps } = asked('vary');
  const point = toml.withPoint;
  return ['vary', file, '--over', over, '--from', point(from), '--to', point(to), '--steps', steps];
}

// Commas part the levels here, so a decimal takes a point.
function series(file) {
  const { over, and, repeat } = asked('series');
  return ['series', file, '--over', over, ...(and ? ['--and', and] : []), '--repeat', repeat];
}

function askFor(id, { list = null, follow = () => {} } = {}) {
  const values = ASKED[id];
  return changed => {
    const inputs = Object.keys(values).map(key => [key, element('input', { id: `${id}-${key}`, autocomplete: 'off', spellcheck: 'false' })]);
    const fill = () => inputs.forEach(([key, input]) => { input.value = values[key]; });
    for (const [key, input] of inputs) {
      if (key === 'over' && list) input.setAttribute('list', `${id}-list`);
      input.addEventListener('change', () => {
        values[key] = input.value;
        follow(key, values);
        fill();
        changed();
      });
    }
    fill();
    return [list ? element('datalist', { id: `${id}-list` }, list.map(name => element('option', { value: name }))) : null,
      element('div', { class: 'fields narrow' }, inputs.map(([key, input]) =>
        element('div', { class: 'field' }, element('label', { for: input.id }, t(`${id}.${key}`)), input)))];
  };
}

const askVary = askFor('vary', { list: Object.keys(FACTORS), follow: (key, values) => {
  if (key === 'over' && FACTORS[values.over]) [values.from, values.to] = FACTORS[values.over];
} });

// The sections of the answer, each with the commands of the program that fill it.
const SECTIONS = [
  { id: 'first', title: 'section.first', command: file => ['burn', file], data: ['json'] },
  { id: 'sheet', title: 'section.sheet', command: file => ['weigh', file], data: ['json', 'csv'], prints: true },
  { id: 'heating', title: 'section.heating', command: file => ['ignite', file, '--all-ways'], data: ['json', 'csv'],
    picture: file => ['ignite', file, '--all-ways', '--format', 'svg'] },
  { id: 'burn', title: 'section.burn', command: file => ['burn', file, '--show', 'weigh,ratio,equation,heat,equilibrium,oxygen,cooling,colour,purity,sources'] },
  { id: 'people', title: 'section.people', command: file => ['burn', file, '--show', 'gas,safety'] },
  { id: 'whatif', title: 'section.whatif' },
  { id: 'choose', title: 'section.choose', command: file => ['choose', file], data: ['json', 'csv'], long: true },
  { id: 'vary', title: 'section.vary', command: vary, data: ['json', 'csv'], long: true, asks: askVary },
  { id: 'series', title: 'section.series', command: series, data: ['json'], long: true, prints: true, asks: askFor('series') },
  { id: 'runs', title: 'section.runs' },
  { id: 'report', title: 'section.report', command: file => ['report', file], isPage: true, prints: true },
  { id: 'class', title: 'section.class', command: file => ['report', '--class', file], isPage: true, prints: true },
];
