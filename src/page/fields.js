
// The keys of a batch file as fields of the form, in the order of the form. Kinds: text, number (bare
// in the file), flag, substance, long; or a list of the words that the file allows.
const fields = (() => {
  const WAYS = ['microwave oven', 'hot plate', 'muffle furnace', 'flame', 'infrared lamp'];
  const HUES = ['red', 'orange', 'yellow', 'green', 'turquoise', 'blue', 'violet', 'pink', 'brown', 'black', 'white'];
  const USES = ['phosphor', 'white', 'pigment', 'ceramic', 'catalyst support', 'magnet', 'conductor'];
  const WATER_TEST = { water: 'text', from: 'text', to: 'text', time: 'text', vessel: 'text', room: 'text' };
  // Groups that are open from the start are what most batches need.
  const GROUPS = [
    { path: '', open: true, keys: { name: 'text', note: 'long' } },
    { path: 'target', open: true,
      keys: { formula: 'text', product_mass: 'text', equivalence_ratio: 'number' },
      rare: { total_mass: 'text', limiting_substance: 'substance', limiting_mass: 'text', oxidiser_to_fuel: 'number',
        lambda: 'number', fuel_per_nitrate: 'number', fuel_per_metal: 'number', percent_of_stoichiometric: 'number',
        share_basis: ['valence', 'amount'], oxygen: ['as written', 'from charges'] } },
    { path: 'ingredient', list: true, open: true,
      keys: { substance: 'substance', mass: 'text', volume: 'text', assay: 'text' },
      rare: { amount: 'text', concentration: 'text', assay_band: 'text', hydrate_x: 'number', hydrate_range: 'text',
        density: 'text', share: 'number', per_product: 'text', dissolves: 'flag',
        grade: ['technical', 'pure', 'for analysis', 'high purity', 'tap', 'distilled', 'deionised'] } },
    { path: 'water', keys: { left_at_ignition: 'text' } },
    { path: 'vessel',
      keys: { name: 'text', cover: ['open', 'mesh', 'lid', 'stopper', 'plug', 'foil'], flame_lasts: 'text' },
      rare: { material: 'text', mouth: 'text', depth: 'text', body: 'text', wall: 'text', outer: 'text', stirrer: ['glass rod', 'steel spatula', 'alumina rod'] } },
    { path: 'heating',
      keys: { way: WAYS, power: 'text', setting: 'number', temperature: 'text', time_limit: 'text' },
      rare: { cycle: 'text', floor: 'text', floor_thickness: 'text', diameter: 'text', room: 'text', peak: 'text' } },
    { path: 'room',
      keys: { place: ['room', 'hood', 'outdoors'], volume: 'text', air_changes: 'number', exhaust: 'text' },
      rare: { opening_width: 'text', opening_height: 'text', face_velocity: 'text' } },
    { path: 'wanted',
      keys: { phase: 'text', temperature: 'text', time: 'text', atmosphere: ['oxidising', 'neutral', 'reducing'],
        colour: HUES, glow: HUES, glow_lasts: ['long', 'short'], use: USES } },
    { path: 'conditions',
      keys: { start: 'text', pressure: 'text', heat_loss: 'text', air_drawn_in: 'text', external_heat: 'text',
        species: ['full', 'fast'], solid_solutions: 'flag' } },
    { path: 'balance', list: true,
      keys: { name: 'text', readability: 'text', capacity: 'text', repeatability: 'text', linearity: 'text', minimum_weight: 'text' } },
    { path: 'glassware', keys: { standard: ['ISO', 'ASTM'], class: ['A', 'B'], flasks: 'list', pipettes: 'list', piston_pipettes: 'list' } },
    { path: 'oxidation_states', free: true },
    { path: 'heating.oven_test', keys: WATER_TEST },
    { path: 'heating.load_test', keys: WATER_TEST },
    { path: 'heating.boil_test', keys: WATER_TEST },
  ];
  const STRENGTH = ['none', 'weak', 'strong'];
  const RUN = {
    path: 'run',
    keys: { date: 'text', peak_temperature: 'text', ignited_after: 'text', flame_lasted: 'text', powder_mass: 'text', remarks: 'long' },
    rare: { ignited: 'flag', by: 'text', label: 'text', vessel: 'text', way: WAYS, setting: 'text', peak_error: 'text',
      instrument: ['thermocouple', 'pyrometer', 'two-colour pyrometer', 'camera'], emissivity: 'number',
      lit_at: ['floor', 'wall', 'middle', 'surface', 'throughout'], fumes: ['none', 'white', 'brown', 'black', 'yellow'],
      froth_height: 'text', loss_on_ignition: 'text', 'powder.colour': 'text', 'powder.magnet': STRENGTH, 'powder.fizz': STRENGTH,
      'powder.surface_area': 'text', 'powder.crystal_density': 'text', 'powder.foam_volume': 'text',
      'powder.under_254_nm': 'text', 'powder.under_365_nm': 'text' },
  };

  const label = path => {
    const name = path.replace(/\.\d+(?=\.|$)/g, '');
    return TEXTS[`field.${name}`] ?? TEXTS[`field.*.${name.split('.').pop()}`] ?? name.split('.').pop();
  };
  const hint = path => TEXTS[`hint.${path.replace(/\.\d+(?=\.|$)/g, '')}`] ?? '';
  const id = path => `field-${path.replace(/[^A-Za-z0-9]+/g, '-')}`;

  // What the form shows of a value: lists as their items with commas between.
  function shown(path, kind) {
    const found = toml.entry(batch.text, path);
    if (!found) return '';
    if (kind !== 'list') return found.shown ?? batch.text.slice(found.from, found.to);
    return [...batch.text.slice(found.from, found.to).matchAll(/"([^"]*)"|'([^']*)'/g)].map(m => m[1] ?? m[2]).join('; ');
  }

  // Writes what a field holds into the text.
  function put(path, kind, value) {
    const tidy = value.trim();
    if (kind === 'list') {
      const items = tidy.split(';').map(item => toml.withPoint(item.trim())).filter(Boolean);
      batch.set(items.length ? toml.setRaw(batch.text, path, `[${items.map(item => JSON.stringify(item)).join(', ')}]`)
        : toml.remove(batch.text, path), 'form');
      return;
    }
    const free = kind === 'long' || kind === 'substance' || /(^|\.)(name|formula|phase|date|by|label|setting|colour|under_\d+_nm)$/.test(path);
    batch.set(toml.set(batch.text, path, free ? value : toml.withPoint(tidy), kind), 'form');
  }

  // One field: label, input, hint, place for its mistake.
  function field(path, kind) {
    const own = id(path), value = shown(path, kind), help = hint(path);
    const common = { id: own, 'data-path': path, 'aria-describedby': `${own}-mistake${help ? ` ${own}-hint` : ''}` };
    let input;
    if (Array.isArray(kind) || kind === 'flag') {
      const words = kind === 'flag' ? ['true', 'false'] : kind;
      const known = value === '' || words.includes(value) ? words : [...words, value];
      input = element('select', common, element('option', { value: '' }, t('form.notSaid')),
        known.map(word => element('option', { value: word, selected: word === value }, worded(word))));
      input.addEventListener('change', () => put(path, kind, input.value));
    } else {
      input = element(kind === 'long' ? 'textarea' : 'input', { ...common, autocomplete: 'off', spellcheck: kind === 'long' });
      input.value = value;
      if (kind === 'number') input.inputMode = 'decimal';
      if (kind === 'long') input.rows = 2;
      input.addEventListener('input', () => put(path, kind, input.value));
    }
    const wrap = element('div', { class: `field ${kind === 'long' ? 'wide' : ''}` }, element('label', { for: own }, label(path)), input,
      help ? element('small', { id: `${own}-hint` }, help) : null, element('p', { class: 'mistake', id: `${own}-mistake`, hidden: true }));
    if (kind === 'substance') substances.attach(input, null);
    return wrap;
  }

  return { GROUPS, RUN, WAYS, HUES, USES, field, label, id };
})();
