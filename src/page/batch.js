
// The batch at hand: one text, of which form and text view are two views.
const batch = (() => {
  const listeners = [];
  const state = { id: null, text: '', name: '', mistakes: [] };
  let isPending = false;

  const nameOf = text => toml.value(text, 'name') || t('batch.unnamed');
  const tell = from => listeners.forEach(listener => listener(from));
  const saveSoon = calmly(300, () => save());

  function save() {
    state.id ??= keep.newId();
    const isKept = keep.save(state);
    isPending = false;
    at('kept').textContent = isKept ? t('keep.kept') : t('keep.notKept');
    at('kept').classList.toggle('problem', !isKept);
    return isKept;
  }

  return {
    get text() { return state.text; },
    get name() { return state.name; },
    get id() { return state.id ??= keep.newId(); },
    get file() { return keep.fileName(state.name); },
    get files() { return [[keep.fileName(state.name), state.text]]; },
    get mistakes() { return state.mistakes; },
    // `from` names the view in which the change was made.
    set(text, from) {
      if (text === state.text) return;
      state.text = text;
      state.name = nameOf(text);
      isPending = true;
      at('kept').textContent = t('keep.saving');
      saveSoon();
      tell(from);
    },
    setMistakes(list) {
      state.mistakes = list;
      tell('mistakes');
    },
    // Opens a text; `isNew` says that it is to be kept at once.
    open(text, { id = null, isNew = false } = {}) {
      Object.assign(state, { id, text, name: nameOf(text), mistakes: [] });
      at('kept').textContent = '';
      if (isNew) save();
      tell('open');
    },
    save,
    // What waits to be kept is kept now.
    flush() { if (isPending) save(); },
    changed: listener => listeners.push(listener),
  };
})();
