
// The text view: the file with its line numbers, the lines with mistakes marked.
const editor = (() => {
  const box = at('text'), gutter = at('gutter');
  const MOST_NUMBERED = 5000;

  function numbers() {
    const lines = batch.text.split('\n').length;
    const wrong = new Set(batch.mistakes.map(mistake => mistake.line));
    gutter.replaceChildren(...Array.from({ length: Math.min(lines, MOST_NUMBERED) }, (_, i) =>
      wrong.has(i + 1) ? element('b', {}, `${i + 1}\n`) : `${i + 1}\n`));
    gutter.scrollTop = box.scrollTop;
  }

  // The mistakes as a list below: each leads to its line.
  function listMistakes() {
    const list = batch.mistakes.slice(0, 40).map(mistake => element('li', {},
      button(t('text.place', { line: mistake.line, column: mistake.column }), () => goTo(mistake), { class: 'quiet' }), ' ', mistake.message));
    at('mistakes').replaceChildren(...list);
    at('mistake-count').textContent = batch.mistakes.length ? t('text.mistakes', { n: batch.mistakes.length }) : t('text.none');
    box.toggleAttribute('aria-invalid', false);
    if (batch.mistakes.length) box.setAttribute('aria-invalid', 'true');
  }

  function goTo({ line, column }) {
    view.edit('text');
    const before = batch.text.split('\n').slice(0, line - 1).join('\n').length + (line > 1 ? 1 : 0);
    box.focus();
    box.setSelectionRange(before + column - 1, before + column - 1);
    const height = parseFloat(getComputedStyle(box).lineHeight);
    box.scrollTop = Math.max(0, (line - 4) * height);
  }

  box.addEventListener('input', () => batch.set(box.value, 'text'));
  box.addEventListener('scroll', () => { gutter.scrollTop = box.scrollTop; });
  batch.changed(from => {
    if (from !== 'text' && box.value !== batch.text) box.value = batch.text;
    numbers();
    listMistakes();
  });
  return { goTo };
})();
