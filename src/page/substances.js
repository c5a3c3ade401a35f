
// The substances that go into a pot, as the program lists them, and a field that finds them by
// formula, name or CAS number.
const substances = (() => {
  const KINDS = ['oxidiser', 'fuel', 'fuel-like salt', 'metal source', 'flux', 'acid', 'solvent'];
  let rows = [];

  const plain = text => text.normalize('NFKC').toLowerCase().replace(/[·.*∙⋅•\s-]/g, '');

  async function load() {
    const kinds = KINDS.flatMap(kind => ['--kind', kind]);
    const { stdout } = await engine.quick.run(['substance', '--list', ...kinds, '--format', 'json'], []);
    rows = JSON.parse(stdout).substances
      .map(row => ({ ...row, keys: [row.name, row.formula, row.cas ?? '', ...row.other_names].map(plain) }));
  }

  // Letters to change, add or take away to get from one word to the other; more than 2 counts as 3.
  function distance(a, b) {
    if (Math.abs(a.length - b.length) > 2) return 3;
    let above = Array.from({ length: b.length + 1 }, (_, i) => i);
    for (let i = 1; i <= a.length; i++) {
      const line = [i];
      for (let j = 1; j <= b.length; j++) {
        line[j] = Math.min(line[j - 1] + 1, above[j] + 1, above[j - 1] + (a[i - 1] === b[j - 1] ? 0 : 1));
      }
      above = line;
    }
    return Math.min(above[b.length], 3);
  }

  // What is sold with its water comes before the same salt without.
  function score(row, wanted) {
    const late = row.kind === 'oxidiser' && /anhydrous/.test(row.name) ? 0.5 : 0;
    return late + Math.min(...row.keys.map(key => {
      if (!key) return 9;
      if (key === wanted) return 0;
      if (key.startsWith(wanted)) return 1;
      if (key.includes(wanted)) return 2;
      return wanted.length > 3 ? 3 + distance(key.slice(0, wanted.length + 2), wanted) : 9;
    }));
  }

  // The best matches, at most eight; `kinds` are preferred, if given.
  function matches(text, kinds = null) {
    const wanted = plain(text);
    const allowed = kinds ? rows.filter(row => kinds.includes(row.kind)) : rows;
    if (!wanted) return allowed.slice(0, 8);
    return allowed.map(row => [score(row, wanted), row]).filter(([points]) => points < 6)
      .sort((a, b) => a[0] - b[0]).slice(0, 8).map(([, row]) => row);
  }

  const VOLATILE = new Set(['C', 'H', 'N', 'O', 'S', 'Cl']);
  // The elements of a formula that need a supplier.
  const metals = formula => [...new Set(formula.match(/[A-Z][a-z]?/g) ?? [])].filter(symbol => !VOLATILE.has(symbol));
  // The usual source of an element: a nitrate with it alone, else any other salt with it alone.
  function sourceOf(symbol) {
    const only = row => { const own = metals(row.formula); return own.length === 1 && own[0] === symbol; };
    const kinds = ['oxidiser', 'metal source', 'fuel-like salt', 'flux'];
    for (const kind of kinds) {
      const found = rows.filter(row => row.kind === kind && only(row));
      const best = found.find(row => /H2O|·/.test(row.formula)) ?? found[0];
      if (best) return best;
    }
    return null;
  }
  const fuels = () => rows.filter(row => row.kind === 'fuel');

  let listNumber = 0;
  // Gives `input` a list of matches below it (WAI-ARIA combobox); `choose(row)` follows a choice.
  function attach(input, kinds, choose = () => {}) {
    const box = document.createElement('ul');
    box.id = `matches-${++listNumber}`;
    box.className = 'matches';
    box.setAttribute('role', 'listbox');
    box.setAttribute('aria-label', t('substances.matches'));
    box.hidden = true;
    input.after(box);
    for (const [name, value] of [['role', 'combobox'], ['aria-autocomplete', 'list'], ['aria-controls', box.id],
      ['aria-expanded', 'false'], ['autocomplete', 'off'], ['autocapitalize', 'off'], ['spellcheck', 'false']]) {
      input.setAttribute(name, value);
    }
    let found = [], marked = -1;
    const close = () => {
      box.hidden = true;
      marked = -1;
      input.setAttribute('aria-expanded', 'false');
      input.removeAttribute('aria-activedescendant');
    };
    const take = row => {
      input.value = row.formula.length > 1 && row.kind !== 'fuel' && row.kind !== 'solvent' ? row.formula : row.name;
      close();
      input.dispatchEvent(new Event('input', { bubbles: true }));
      choose(row);
    };
    const mark = at => {
      marked = at;
      [...box.children].forEach((item, i) => item.setAttribute('aria-selected', String(i === at)));
      box.children[at]?.scrollIntoView({ block: 'nearest' });
      input.setAttribute('aria-activedescendant', box.children[at]?.id ?? '');
    };
    const show = () => {
      found = matches(input.value, kinds);
      box.replaceChildren(...found.map((row, i) => element('li', { role: 'option', id: `${box.id}-${i}`, 'aria-selected': 'false' },
        element('b', {}, row.formula), ` ${row.name}`, element('small', {}, [row.kind, row.cas].filter(Boolean).join(', ')))));
      box.hidden = found.length === 0;
      input.setAttribute('aria-expanded', String(!box.hidden));
      marked = -1;
    };
    input.addEventListener('input', event => { if (event.isTrusted) show(); });
    input.addEventListener('blur', () => setTimeout(close, 150));
    box.addEventListener('pointerdown', event => event.preventDefault());
    box.addEventListener('click', event => {
      const item = event.target.closest('li');
      if (item) take(found[[...box.children].indexOf(item)]);
    });
    input.addEventListener('keydown', event => {
      if (event.key === 'ArrowDown' && box.hidden) show();
      if (box.hidden) return;
      const step = { ArrowDown: 1, ArrowUp: -1 }[event.key];
      if (step) { event.preventDefault(); mark((marked + step + found.length) % found.length); }
      if (event.key === 'Enter' && marked >= 0) { event.preventDefault(); take(found[marked]); }
      if (event.key === 'Escape') { event.stopPropagation(); close(); }
    });
  }

  return { load, attach, matches, metals, sourceOf, fuels };
})();
