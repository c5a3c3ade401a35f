
// The answer beside the batch: a verdict, and sections of which the open one follows the text at once.
const answer = (() => {
  const WAIT = 200;
  const panels = new Map();
  let openId = 'first', verdictText = null;

  // A frame without scripts that shows a page of the program.
  function framed(panel, html) {
    const frame = element('iframe', { class: 'page', sandbox: 'allow-same-origin allow-modals', title: t(panel.section.title), srcdoc: html });
    frame.addEventListener('load', () => {
      const inside = frame.contentDocument;
      const fit = () => { frame.style.height = `${inside.documentElement.scrollHeight + 8}px`; };
      fit();
      new ResizeObserver(fit).observe(inside.body);
    });
    return frame;
  }

  function show(panel, result) {
    const isFailed = result.code > 1;
    const words = isFailed ? result.stderr : result.stdout;
    panel.output.replaceChildren(panel.section.isPage && !isFailed ? framed(panel, words) : printed(result, t(panel.section.title)));
    panel.output.classList.remove('stale');
    panel.shown = batch.text;
    panel.code = result.code;
    panel.progress.replaceChildren();
    for (const control of panel.controls) control.disabled = isFailed;
  }

  // Seconds so far, and a button that stops the work.
  function showProgress(box) {
    const seconds = element('span', {}, ''), started = performance.now();
    const ticking = setInterval(() => {
      if (!seconds.isConnected) { clearInterval(ticking); return; }
      seconds.textContent = t('answer.seconds', { n: ((performance.now() - started) / 1000).toFixed(1) });
    }, 200);
    box.replaceChildren(element('progress', { 'aria-label': t('answer.working') }), t('answer.working'), ' ', seconds,
      button(t('answer.stop'), () => { engine.long.stop(); box.replaceChildren(t('answer.stopped')); }, { class: 'quiet' }));
  }

  async function run(panel) {
    const { section } = panel, text = batch.text;
    if (!text) return; // No batch is open yet.
    if (!section.command) { section.refresh?.(); return; }
    if (panel.shown !== null) panel.output.classList.add('stale');
    if (section.long) showProgress(panel.progress);
    const lane = section.long ? engine.long : engine.quick;
    const result = await lane.run(section.command(batch.file), batch.files, section.id);
    if (!result || text !== batch.text) return;
    show(panel, result);
    if (section.picture && result.code <= 1) draw(panel, text);
  }

  // The picture of a section below its text: the program's own drawing.
  async function draw(panel, text) {
    const { section } = panel;
    const { code, stdout } = await engine.quick.run(section.picture(batch.file), batch.files, `${section.id} picture`) ?? {};
    if (!stdout || code > 1 || text !== batch.text) return;
    panel.output.append(element('img', { class: 'drawing', alt: t('answer.drawing'), src: `data:image/svg+xml,${encodeURIComponent(stdout)}` }));
  }

  const setVerdict = (kind, key, values) => {
    const line = at('verdict');
    line.className = kind;
    line.textContent = t(key, values);
  };

  // The verdict is that of `burn`; its text is the first section, so it is not worked out twice.
  async function judge() {
    const text = batch.text, files = batch.files, file = batch.file;
    const result = await engine.quick.run(['burn', file], files, 'first');
    if (!result || text !== batch.text) return;
    let mistakes = [];
    if (result.code > 1) {
      const checked = await engine.quick.run(['check', file, '--format', 'json'], files, 'check');
      if (!checked || text !== batch.text) return;
      try { mistakes = JSON.parse(checked.stdout).mistakes; } catch { /* no file to be checked: the text says why */ }
    }
    if (mistakes.length) setVerdict('mend', 'verdict.mistakes', { n: mistakes.length });
    else setVerdict(...[['plan', 'verdict.plan'], ['decide', 'verdict.decide']][result.code] ?? ['stop', 'verdict.stop']);
    if (verdictText !== at('verdict').textContent) say(at('verdict').textContent);
    verdictText = at('verdict').textContent;
    batch.setMistakes(mistakes);
    show(panels.get('first'), result);
    at('took').textContent = t('answer.took', { n: Math.round(result.took) });
  }

  async function downloadData(section, format) {
    const lane = section.long ? engine.long : engine.quick;
    const result = await lane.run([...section.command(batch.file), '--format', format], batch.files);
    if (result && result.code <= 1) keep.download(batch.file.replace(/toml$/, `${section.id}.${format}`), result.stdout);
    else if (result) say(result.stderr);
  }

  function print(panel) {
    const frame = panel.output.querySelector('iframe');
    if (frame) { frame.contentWindow.print(); return; }
    document.body.dataset.print = panel.section.id;
    window.print();
    delete document.body.dataset.print;
  }

  function open(id) {
    openId = id;
    for (const [other, panel] of panels) {
      panel.tab.setAttribute('aria-selected', String(other === id));
      panel.tab.tabIndex = other === id ? 0 : -1;
      panel.box.hidden = other !== id;
    }
    const panel = panels.get(id);
    panel.tab.scrollIntoView({ block: 'nearest', inline: 'nearest' });
    if (panel.shown !== batch.text) run(panel);
  }

  function build() {
    for (const section of SECTIONS) {
      const tab = button(t(section.title), () => open(section.id), { role: 'tab', id: `tab-${section.id}`, 'aria-controls': `section-${section.id}` });
      const panel = { section, tab, output: element('div', { class: 'output' }), progress: element('p', { class: 'progress' }), controls: [], shown: null };
      const rerun = () => { panel.shown = null; if (openId === section.id) run(panel); };
      panel.controls = (section.data ?? []).map(format => button(t(`answer.${format}`), () => downloadData(section, format), { class: 'quiet' }));
      if (section.command && !section.isPage) {
        panel.controls.push(button(t('answer.text'), () => keep.download(batch.file.replace(/toml$/, `${section.id}.txt`), panel.output.textContent), { class: 'quiet' }));
      }
      if (section.isPage) {
        panel.controls.push(button(t('answer.html'), async () => {
          const { stdout } = await engine.quick.run(section.command(batch.file), batch.files);
          keep.download(batch.file.replace(/toml$/, 'html'), stdout, 'text/html;charset=utf-8');
        }, { class: 'quiet' }));
      }
      if (section.prints) panel.controls.push(button(t('answer.print'), () => print(panel), { class: 'quiet' }));
      panel.box = element('div', { role: 'tabpanel', id: `section-${section.id}`, 'aria-labelledby': tab.id, hidden: true },
        section.asks ? section.asks(rerun) : null, panel.controls.length ? element('div', { class: 'actions' }, element('span', { class: 'soft' }, t('answer.take')), panel.controls) : null, panel.progress, panel.output);
      section.panel = panel;
      panels.set(section.id, panel);
      at('tabs').append(tab);
      at('sections').append(panel.box);
    }
    at('tabs').addEventListener('keydown', event => {
      const step = { ArrowRight: 1, ArrowLeft: -1 }[event.key];
      if (!step) return;
      const ids = [...panels.keys()], next = ids[(ids.indexOf(openId) + step + ids.length) % ids.length];
      open(next);
      panels.get(next).tab.focus();
    });
    open('first');
  }

  const follow = calmly(WAIT, () => {
    judge();
    if (openId !== 'first') run(panels.get(openId));
  });
  batch.changed(from => {
    if (from === 'mistakes') return;
    for (const panel of panels.values()) panel.output.classList.toggle('stale', panel.shown !== null && panel.shown !== batch.text);
    if (from === 'open') { judge(); open('first'); } else follow();
  });
  return { build, open, showProgress };
})();
