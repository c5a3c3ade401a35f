
// The sections of the answer, each with the commands of the program that fill it.
const SECTIONS = [
  { id: 'first', title: 'section.first', command: file => ['burn', file], data: ['json'] },
  { id: 'sheet', title: 'section.sheet', command: file => ['weigh', file], data: ['json', 'csv'], prints: true },
  { id: 'heating', title: 'section.heating', command: file => ['ignite', file, '--all-ways'], data: ['json'] },
  { id: 'burn', title: 'section.burn', command: file => ['burn', file, '--show', 'weigh,ratio,equation,heat,equilibrium,oxygen,cooling,colour,purity,sources'] },
  { id: 'people', title: 'section.people', command: file => ['burn', file, '--show', 'gas,safety'] },
  { id: 'whatif', title: 'section.whatif' },
  { id: 'choose', title: 'section.choose', command: file => ['choose', file], data: ['json', 'csv'], long: true },
  { id: 'vary', title: 'section.vary', command: file => vary(file), data: ['json', 'csv'], long: true, asks: askVary },
  { id: 'runs', title: 'section.runs' },
  { id: 'report', title: 'section.report', command: file => ['report', file], isPage: true, prints: true },
  { id: 'class', title: 'section.class', command: file => ['report', '--class', file], isPage: true, prints: true },
];

const LEVERS = ['fuel-ratio', 'water', 'water-left', 'loss', 'air', 'start', 'size', 'fuel-share', 'dopant', 'flux'];
const LEVER_RANGES = { 'fuel-ratio': ['0.6', '2'], water: ['5 mL', '30 mL'], 'water-left': ['0 %', '60 %'], loss: ['0 %', '50 %'],
  air: ['0 %', '100 %'], start: ['25 °C', '110 °C'], size: ['0.5 g', '5 g'], 'fuel-share': ['20 %', '80 %'],
  dopant: ['0 %', '10 %'], flux: ['0 %', '10 %'] };
const varied = { over: 'fuel-ratio', from: '0.6', to: '2', steps: '11' };

function vary(file) {
  const { over, from, to, steps } = Object.fromEntries(Object.entries(varied).map(([key, value]) => [key, toml.withPoint(value.trim())]));
  return ['vary', file, '--over', over, '--from', from, '--to', to, '--steps', steps];
}

// What is varied: asked above the result.
function askVary(changed) {
  const lever = element('input', { id: 'vary-over', list: 'levers', autocomplete: 'off' });
  const inputs = { over: lever, from: element('input', { id: 'vary-from' }), to: element('input', { id: 'vary-to' }),
    steps: element('input', { id: 'vary-steps', inputmode: 'numeric', size: 4 }) };
  const fill = () => Object.entries(inputs).forEach(([key, input]) => { input.value = varied[key]; });
  for (const [key, input] of Object.entries(inputs)) {
    input.addEventListener('change', () => {
      varied[key] = input.value;
      if (key === 'over' && LEVER_RANGES[input.value]) { [varied.from, varied.to] = LEVER_RANGES[input.value]; fill(); }
      changed();
    });
  }
  fill();
  return [element('datalist', { id: 'levers' }, LEVERS.map(name => element('option', { value: name }))),
    element('div', { class: 'fields narrow' }, Object.entries(inputs).map(([key, input]) =>
      element('div', { class: 'field' }, element('label', { for: input.id }, t(`vary.${key}`)), input)))];
}
