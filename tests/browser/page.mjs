// The offline page in Chromium at two widths: every example through every section against the native
// program, mistakes, keeping, links, hostile text, the bench, accessibility; and no request at all.
// Usage: node page.mjs PROGRAM PAGE EXAMPLES
import { chromium } from 'playwright-core';
import { execFileSync, spawn } from 'node:child_process';
import { mkdtempSync, readFileSync, readdirSync, rmSync, statSync, writeFileSync } from 'node:fs';
import { createServer } from 'node:http';
import { createRequire } from 'node:module';
import { tmpdir } from 'node:os';
import { dirname, join, resolve } from 'node:path';
import { pathToFileURL } from 'node:url';

const [program, pageFile, examplesFolder] = process.argv.slice(2).map(path => resolve(path));
const axeSource = readFileSync(createRequire(import.meta.url).resolve('axe-core/axe.min.js'), 'utf8');
const address = pathToFileURL(pageFile).href;
const examples = readdirSync(examplesFolder).filter(name => name.endsWith('.toml')).sort();
const folder = mkdtempSync(join(tmpdir(), 'emberpot-page-'));
let problems = 0;
const flags = ['--no-sandbox', '--disable-gpu', '--disable-quic', '--no-first-run',
  '--disable-background-networking', '--disable-component-update', '--disable-sync'];
const browser = await chromium.launch({ executablePath: process.env.CHROMIUM ?? '/usr/bin/chromium', args: flags });
const PATIENCE = 240_000;

let place = '';
const expect = (isTrue, text) => {
  if (isTrue) return;
  problems += 1;
  console.error(`${place}: ${text}`);
};
const same = (found, wanted, what) => {
  if (found === wanted) return;
  let at = 0;
  while (found[at] === wanted[at]) at++;
  expect(false, `${what} differs at ${at}: page ${JSON.stringify(found.slice(at, at + 60))}, native ${JSON.stringify(wanted.slice(at, at + 60))}`);
};

// A course over an hour long hangs on the last digit of exp and ln, which differ between the machines:
// the points of its chart lie on the same curve, some at times a thousandth apart.
const COURSE = /"t":\[[^\]]*\],"places":\[(?:\[[^\]]*\],?){3}\],"water":\[[^\]]*\]/g;
const sameCourses = (found, wanted, what) => {
  same(found.replace(COURSE, 'a course'), wanted.replace(COURSE, 'a course'), what);
  const courses = text => (text.match(COURSE) ?? []).map(course => JSON.parse(`{${course}}`));
  const [here, there] = [courses(found), courses(wanted)];
  const near = (a, b, apart) => a.length === b.length && a.every((value, at) => Math.abs(value - b[at]) <= apart(b[at]));
  here.forEach((course, at) => {
    const other = there[at];
    const alike = near(course.t, other.t, t => 0.002 * t) && near(course.water, other.water, () => 1)
      && course.places.every((place, k) => near(place, other.places[k], () => 1));
    expect(alike, `${what}: course ${at} differs: page ${JSON.stringify(course)}, native ${JSON.stringify(other)}`);
  });
};

// What the program says in so many columns: one command after the other, beside the page.
const said = new Map();
let queue = Promise.resolve(), columns = 80;
function native(args, file, text) {
  const asked = JSON.stringify([args, file, text, columns]);
  if (!said.has(asked)) {
    const width = columns;
    queue = queue.then(() => run(args, file, text, width));
    said.set(asked, queue);
  }
  return said.get(asked);
}
function run(args, file, text, width) {
  writeFileSync(join(folder, file), text);
  return new Promise((done, failed) => {
    const child = spawn(program, args, { cwd: folder, env: { NO_COLOR: '1', COLUMNS: width }, stdio: ['ignore', 'pipe', 'pipe'] });
    const kept = { stdout: '', stderr: '' };
    for (const name of ['stdout', 'stderr']) child[name].setEncoding('utf8').on('data', text => { kept[name] += text; });
    child.on('error', failed);
    child.on('close', code => done({ code, ...kept }));
  });
}

async function open(width, { before = null, url = address } = {}) {
  const context = await browser.newContext({ viewport: { width, height: 900 }, acceptDownloads: true });
  if (before) await context.addInitScript(before);
  const tab = await context.newPage();
  tab.setDefaultTimeout(PATIENCE);
  // That a report in its frame may not run its script is as it should be.
  tab.on('console', message => expect(/^Blocked script execution in 'about:srcdoc'/.test(message.text()), `console: ${message.text()}`));
  tab.on('pageerror', error => expect(false, `error: ${error}`));
  tab.on('dialog', dialog => { expect(false, `dialog: ${dialog.message()}`); dialog.dismiss(); });
  tab.on('request', request => {
    const own = request.url().split('#')[0] === address || /^(blob|data|about):/.test(request.url());
    expect(own, `asks for ${request.url()}`);
  });
  await tab.goto(url);
  await tab.waitForFunction(() => document.body.dataset.ready);
  return { tab, context };
}

const side = async (tab, name) => { if (await tab.locator('#sides').isVisible()) await tab.locator(`#side-${name}`).click(); };
async function section(tab, id) {
  await side(tab, 'answer');
  await tab.locator(`#tab-${id}`).click();
  await tab.waitForFunction(id => {
    const output = document.querySelector(`#section-${id} .output`);
    return output.hasChildNodes() && !output.classList.contains('stale') && !document.querySelector(`#section-${id} progress`);
  }, id);
}
const shown = (tab, id) => tab.locator(`#section-${id} .output`).evaluate(output =>
  output.querySelector('iframe')?.getAttribute('srcdoc') ?? output.textContent);
async function openText(tab, text) {
  await tab.locator('#go-start').click();
  if (!await tab.locator('#paste').isVisible()) await tab.locator('#door-open > summary').click();
  await tab.locator('#paste').fill(text);
  await tab.locator('#paste-go').click();
}
async function openExample(tab, file) {
  await tab.locator('#go-start').click();
  if (!await tab.locator('[data-example]').first().isVisible()) await tab.locator('#door-examples > summary').click();
  await tab.locator(`[data-example="${file}"]`).click();
}

// Sections whose output is a command's own.
const COMMANDS = { first: file => ['burn', file], sheet: file => ['weigh', file], heating: file => ['ignite', file, '--all-ways'],
  burn: file => ['burn', file, '--show', 'weigh,ratio,equation,heat,equilibrium,oxygen,cooling,colour,purity,sources'], people: file => ['burn', file, '--show', 'gas,safety'],
  choose: file => ['choose', file], vary: file => ['vary', file, '--over', 'fuel-ratio', '--from', '0.6', '--to', '2', '--steps', '11'],
  series: file => ['series', file, '--over', 'fuel-ratio=0.9, 1, 1.1', '--repeat', '2'],
  report: file => ['report', file], class: file => ['report', '--class', file] };

// Numbers agree if they round alike: the last digits depend on the library of logarithms, and counts
// of iterations and residuals on them.
const EFFORT = /iterations|residual|minimisations|imbalance/;
const NUMBER = /-?\d+(?:\.\d+)?(?:e[+-]?\d+)?/gi;
function alike(found, wanted, what) {
  const tidy = text => text.split('\n').filter(line => !EFFORT.test(line));
  const [a, b] = [tidy(found), tidy(wanted)];
  expect(a.length === b.length, `${what}: ${a.length} lines, native ${b.length}`);
  for (let i = 0; i < Math.min(a.length, b.length); i++) {
    const [m, n] = [a[i].match(NUMBER) ?? [], b[i].match(NUMBER) ?? []].map(list => list.map(Number));
    const close = m.length === n.length && m.every((x, k) => Math.abs(x - n[k]) <= 1e-6 * Math.max(Math.abs(x), Math.abs(n[k])) + 1e-12);
    if (close && a[i].replace(NUMBER, '#') === b[i].replace(NUMBER, '#')) continue;
    expect(false, `${what}, line ${i + 1}: page ${a[i].trim().slice(0, 80)}, native ${b[i].trim().slice(0, 80)}`);
    return;
  }
}

// Commands whose data are compared beside the sections.
const DATA = [['burn', 'FILE', '--format', 'json'], ['weigh', 'FILE', '--format', 'json'], ['weigh', 'FILE', '--format', 'csv'],
  ['ignite', 'FILE', '--all-ways', '--format', 'json'], ['choose', 'FILE', '--format', 'csv'],
  ['vary', 'FILE', '--over', 'fuel-ratio', '--from', '0.8', '--to', '1.6', '--steps', '3', '--threads', '2', '--format', 'csv']];

async function everyExample(tab, withData, files) {
  for (const file of files) {
    const text = readFileSync(join(examplesFolder, file), 'utf8');
    await openExample(tab, file);
    const own = await tab.evaluate(() => document.title && window.emberpot.file());
    const sections = Object.entries(COMMANDS).map(([id, command]) => [id, native(command(own), own, text)]);
    const data = (withData ? DATA : []).map(words => words.map(word => word === 'FILE' ? own : word));
    const answers = data.map(args => [args, native(args, own, text)]);
    for (const [id, answer] of sections) {
      await section(tab, id);
      const wanted = await answer;
      sameCourses(await shown(tab, id), wanted.code > 1 ? wanted.stderr : wanted.stdout, `${file}, ${id}`);
      const extra = await tab.locator(`#section-${id} .output`).evaluate(output => Math.max(0,
        ...[...output.querySelectorAll('.result')].map(text => text.scrollWidth - text.clientWidth)));
      expect(extra === 0, `${file}, ${id}: the text is ${extra} px wider than its place`);
    }
    for (const [args, answer] of answers) {
      const found = await tab.evaluate(([args, files]) => window.emberpot.run(args, files), [args, [[own, text]]]);
      const wanted = await answer;
      expect(found.code === wanted.code, `${args.join(' ')}: exit ${found.code}, native ${wanted.code}`);
      alike(found.stdout, wanted.stdout, args.join(' '));
    }
  }
}

async function mistakes(tab) {
  await openExample(tab, 'zinc-aluminate.toml');
  await side(tab, 'edit');
  await tab.locator('#edit-form').click();
  const mass = tab.locator('[data-path="target.product_mass"]');
  await mass.fill('1,5 mL');
  const message = tab.locator('#field-target-product-mass-mistake');
  await message.filter({ hasText: 'product_mass' }).waitFor();
  expect(await mass.getAttribute('aria-invalid') === 'true', 'the field with the mistake is not marked');
  await tab.locator('#edit-text').click();
  await tab.locator('#mistakes li').first().waitFor();
  const text = await tab.locator('#text').inputValue();
  const line = text.split('\n').findIndex(row => row.startsWith('product_mass')) + 1;
  expect((await tab.locator('#gutter b').allTextContents()).join('').trim() === String(line), 'the line with the mistake is not marked');
  await tab.locator('#text').fill(text.replace('1.5 mL', '1.5 g'));
  await tab.waitForFunction(() => document.querySelectorAll('#mistakes li').length === 0 && document.getElementById('verdict').className !== 'mend');
  await tab.locator('#edit-form').click();
  expect(await mass.inputValue() === '1.5 g', 'the form does not follow the text');
  expect(await mass.getAttribute('aria-invalid') === null, 'the mended field is still marked');
}

async function shelfToBench(tab) {
  let taps = 0;
  const tap = async locator => { taps++; await locator.click(); };
  await tab.locator('#go-start').click();
  await tap(tab.locator('#door-shelf > summary'));
  const name = n => tab.locator('#door-shelf .shelf-row').nth(n).locator('input').nth(0);
  for (const [n, word, mass] of [[0, 'aluminium nitrate nona', '7,5'], [1, '57-13-6', '3 g'], [2, 'water', '15']]) {
    if (n > 0) await tap(name(n));
    await tab.keyboard.type(word);
    await tap(tab.locator('.matches:visible li').first());
    await tab.keyboard.type(mass);
  }
  await tap(tab.locator('#shelf-go'));
  await side(tab, 'answer');
  await tap(tab.locator('#to-bench'));
  await tab.locator('#bench .step').first().waitFor();
  expect(taps < 10, `${taps} taps from the shelf to the bench sheet`);
  expect(await tab.locator('#bench .step').count() === 3, 'not three steps at the bench');
}

async function benchWork(tab) {
  const planned = parseFloat((await tab.locator('#bench-ratio').textContent()).match(/[\d.]+/)[0]);
  const urea = tab.locator('.step', { hasText: 'urea' });
  await urea.locator('.tick').click();
  expect(await urea.locator('.tick').getAttribute('aria-pressed') === 'true', 'the tick does not stay');
  const box = await urea.locator('.tick').boundingBox();
  expect(box.width >= 64 && box.height >= 64, 'the tick is too small for gloves');
  await urea.locator('input').fill('3,3');
  await tab.locator('#bench-ratio').filter({ hasText: 'as weighed' }).waitFor();
  const weighed = parseFloat((await tab.locator('#bench-ratio').textContent()).match(/as weighed ([\d.]+)/)[1]);
  expect(Math.abs(weighed / planned - 1.1) < 0.002, `10 % more urea moves φ from ${planned} to ${weighed}`);
  expect((await tab.locator('#bench-total').textContent()).includes('3.300 g'), 'the running total is not the true mass');
  await tab.locator('#timer-go').click();
  await tab.locator('#bench-time', { hasText: '0:01' }).waitFor();
  await tab.locator('#bench-note').click();
  await tab.locator('#bench-close').click();
  await side(tab, 'edit');
  await tab.locator('#edit-text').click();
  expect(/masses = \{ "urea" = "3.3 g" \}/.test(await tab.locator('#text').inputValue()), 'the true masses are not noted in the run');
  await tab.locator('#edit-form').click();
  await side(tab, 'answer');
  await tab.waitForFunction(() => ['plan', 'decide'].includes(document.getElementById('verdict').className));
  await tab.locator('#to-bench').click();
  await tab.locator('#bench .step').first().waitFor();
  expect(await tab.locator('.step', { hasText: 'urea' }).locator('input').inputValue() === '3,3', 'the true mass is forgotten');
  await tab.locator('#bench-close').click();
}

async function keeping(tab) {
  await openExample(tab, 'zinc-aluminate.toml');
  await side(tab, 'edit');
  await tab.locator('#edit-form').click();
  await tab.locator('[data-path="target.product_mass"]').fill('1,75 g');
  await tab.locator('#kept').filter({ hasText: 'Kept' }).waitFor();
  await tab.reload();
  await tab.waitForFunction(() => document.body.dataset.ready);
  await side(tab, 'edit');
  expect(await tab.locator('[data-path="target.product_mass"]').inputValue() === '1.75 g', 'a reload loses the work');
  const [download] = await Promise.all([tab.waitForEvent('download'), tab.locator('#save-file').click()]);
  const text = readFileSync(await download.path(), 'utf8');
  expect(text.includes('product_mass = "1.75 g"') && text.includes('# '), 'the file is not the text, remarks included');
  await section(tab, 'first');
  same(await shown(tab, 'first'), (await native(['burn', download.suggestedFilename()], download.suggestedFilename(), text)).stdout, 'the exported file');
  await tab.locator('#go-start').click();
  expect(await tab.locator('#kept-list li').count() > 0, 'the kept batch is not listed');
  const [all] = await Promise.all([tab.waitForEvent('download'), tab.locator('#keep-all').click()]);
  const zip = await all.path();
  execFileSync('python3', ['-c', 'import sys, zipfile; z = zipfile.ZipFile(sys.argv[1]); assert z.testzip() is None and z.namelist()', zip]);
  await tab.locator('#door-open > summary').click();
  const before = await tab.locator('#kept-list li').count();
  await tab.locator('#pick').setInputFiles({ name: 'all.zip', mimeType: 'application/zip', buffer: readFileSync(zip) });
  await tab.waitForFunction(before => document.body.dataset.place === 'work' || document.querySelectorAll('#kept-list li').length > before, before);
}

async function links(tab, width) {
  await openExample(tab, 'yttria-europium.toml');
  await side(tab, 'edit');
  await tab.locator('#share').click();
  await tab.locator('#link-box').waitFor();
  const link = await tab.locator('#link').inputValue();
  const other = await open(width, { url: link });
  await side(other.tab, 'edit');
  await other.tab.locator('#edit-text').click();
  same(await other.tab.locator('#text').inputValue(), readFileSync(join(examplesFolder, 'yttria-europium.toml'), 'utf8'), 'the text of the link');
  expect(!other.tab.url().includes('#batch'), 'the fragment stays in the address');
  await other.context.close();
  const broken = await open(width, { url: `${address}#batch=${'A'.repeat(50_000)}` });
  await broken.tab.locator('#status', { hasText: 'no batch' }).waitFor();
  await broken.context.close();
}

async function hostile(tab) {
  const markup = 'name = "</script><img src=x onerror=\\"alert(1)\\"><b id=planted>"\nnote = "\\u001b[31m \\u0000"\n'
    + '[target]\nformula = "<svg onload=alert(2)>"\n[[ingredient]]\nsubstance = "javascript:alert(3) \u202e <script>alert(4)</script>"\n';
  await openText(tab, markup);
  await tab.waitForFunction(() => ['mend', 'stop'].includes(document.getElementById('verdict').className));
  expect(await tab.locator('#planted, main img:not(.drawing)').count() === 0, 'markup of a batch becomes part of the page');
  await openText(tab, readFileSync(join(examplesFolder, 'zinc-aluminate.toml'), 'utf8').replace(/name = .*/, 'name = "<b id=planted>&amp;</b><script>alert(5)</script>"'));
  for (const id of ['first', 'people', 'report', 'class', 'runs']) await section(tab, id);
  const frames = await tab.locator('iframe').evaluateAll(list => list.reduce((sum, frame) => sum + frame.contentDocument.querySelectorAll('#planted').length, 0));
  expect(await tab.locator('#planted').count() + frames === 0, 'markup of a name becomes part of a report');
  await openText(tab, `name = "long"\n# ${'x'.repeat(999_000)}\n`);
  await tab.waitForFunction(() => document.getElementById('verdict').className === 'mend');
  await openText(tab, `${'[['.repeat(200_000)}\n`);
  await tab.waitForFunction(() => document.querySelector('#section-first pre')?.textContent.length > 0);
}

async function forbiddenStore(width) {
  const { tab, context } = await open(width, { before: () => { Storage.prototype.setItem = () => { throw new DOMException('full', 'QuotaExceededError'); }; } });
  await openExample(tab, 'zinc-aluminate.toml');
  await side(tab, 'edit');
  await tab.locator('[data-path="target.product_mass"]').fill('1.6 g');
  await tab.locator('#kept.problem').waitFor();
  const [download] = await Promise.all([tab.waitForEvent('download'), tab.locator('#save-file').click()]);
  expect(readFileSync(await download.path(), 'utf8').includes('"1.6 g"'), 'without a store the work is lost');
  await context.close();
}

async function whatIf(tab) {
  await openExample(tab, 'zinc-aluminate.toml');
  await section(tab, 'whatif');
  await tab.locator('#whatif-loss').focus();
  const flame = () => tab.locator('#whatif-result tr', { hasText: 'Flame, dried' }).locator('td').allTextContents();
  await tab.keyboard.press('End');
  await tab.waitForFunction(() => !document.getElementById('whatif-take').disabled);
  const [planned, changed] = (await flame()).map(parseFloat);
  expect(changed < planned - 200, `with most of the heat lost the flame goes from ${planned} to ${changed} °C`);
  await tab.locator('#whatif-take').click();
  await section(tab, 'first');
  await side(tab, 'edit');
  await tab.locator('#edit-text').click();
  expect((await tab.locator('#text').inputValue()).includes('heat_loss = "80 %"'), 'the change is not taken over');
  await tab.locator('#edit-form').click();
}

// What is beside the batch: a look, a purer salt, a dopant, acid for a carbonate.
async function beside(tab) {
  await tab.locator('#go-tools').click();
  const fill = async (tool, values) => {
    await tab.locator(`#tool-${tool} > summary`).click();
    for (const [key, value] of Object.entries(values)) await tab.locator(`#tool-${tool}-${key}`).fill(value);
  };
  const says = async (tool, args) => {
    const wanted = await native(args, 'none.toml', '');
    const output = tab.locator(`#tool-${tool} .output`);
    const text = wanted.code > 1 ? wanted.stderr.split('\n\nFor more')[0] + '\n' : wanted.stdout;
    // Each field that is filled asks anew: the answer to the last one counts.
    for (let wait = 0; wait < 50 && await output.textContent() !== text; wait++) await tab.waitForTimeout(200);
    same(await output.textContent(), text, args.join(' '));
  };
  await fill('recrystallise', { salt: 'Al(NO3)3·9H2O', mass: '50,0 g', impurity: 'Fe=50ppm; Cu=20ppm' });
  await says('recrystallise', ['recrystallise', 'Al(NO3)3·9H2O', '--mass', '50.0 g', '--impurity', 'Fe=50ppm', '--impurity', 'Cu=20ppm']);
  await fill('dope', { host: 'ZnAl2O4', with: 'Co', on: 'Zn', level: '20 %' });
  await says('dope', ['dope', 'ZnAl2O4', '--with', 'Co', '--on', 'Zn', '--site', '20 %']);
  await tab.locator('#tool-dope-level').fill('20');
  await says('dope', ['dope', 'ZnAl2O4', '--with', 'Co', '--on', 'Zn', '--site', '20']);
  await fill('convert', { substance: 'SrCO3' });
  await says('convert', ['convert', 'SrCO3', '--mass', '10 g', '--acid', '65 %', '--excess', '5 %']);
  await tab.locator('#go-start').click();
  await tab.locator('#door-wanted > summary').click();
  await tab.locator('#look-colour').selectOption('blue');
  await tab.locator('#look-go').click();
  const wish = await native(['choose', 'wish.toml'], 'wish.toml', '[wanted]\ncolour = "blue"\n');
  await tab.locator('#look-answer pre').waitFor();
  same(await tab.locator('#look-answer pre').textContent(), wish.stdout, 'a wish for blue');
  await tab.locator('#look-answer button').first().click();
  await section(tab, 'first');
  expect(['plan', 'decide'].includes(await tab.locator('#verdict').getAttribute('class')), 'the batch of a wish has no plan');
}

// The notebook: what the powders say, the next change, what the pots do.
async function notebook(tab) {
  const text = readFileSync(join(examplesFolder, 'zinc-aluminate-two-runs.toml'), 'utf8');
  await openExample(tab, 'zinc-aluminate-two-runs.toml');
  const own = await tab.evaluate(() => window.emberpot.file());
  await section(tab, 'runs');
  for (const [id, args] of [['outcome', ['burn', own, '--show', 'run']], ['judged', ['judge', own]]]) {
    await tab.locator(`#${id} pre`).waitFor();
    same(await tab.locator(`#${id} pre`).textContent(), (await native(args, own, text)).stdout, args.join(' '));
  }
  for (const [what, args] of [['next', ['next', own]], ['learn', ['learn', '--show-only', own]]]) {
    await tab.locator(`#runs-${what}`).click();
    await tab.locator('#together pre').waitFor();
    same(await tab.locator('#together pre').textContent(), (await native(args, own, text)).stdout, args.join(' '));
    await tab.locator('#together').evaluate(box => box.replaceChildren());
  }
}

async function stopping(tab) {
  await openExample(tab, 'nickel-zinc-ferrite.toml');
  await side(tab, 'answer');
  await tab.locator('#tab-choose').click();
  await tab.locator('#section-choose .progress button').click();
  await tab.locator('#section-choose', { hasText: 'Stopped' }).waitFor();
  await section(tab, 'sheet');
  await tab.locator('#tab-sheet').press('ArrowRight');
  expect(await tab.locator('#tab-heating').getAttribute('aria-selected') === 'true', 'the arrow keys do not move between sections');
  await openExample(tab, 'zinc-aluminate.toml');
  await section(tab, 'choose');
}

// Each state of the page in both colour schemes.
async function accessible(width) {
  const { tab, context } = await open(width);
  await tab.evaluate(axeSource);
  const check = async what => {
    for (const colorScheme of ['light', 'dark']) {
      await tab.emulateMedia({ colorScheme });
      const found = await tab.evaluate(() => window.axe.run(document, { iframes: false, resultTypes: ['violations'] }));
      for (const { id, nodes } of found.violations) expect(false, `${what}, ${colorScheme}: axe ${id}: ${nodes[0].target} ${nodes[0].failureSummary.split('\n').slice(0, 3).join(' ')}`);
    }
    const extra = await tab.evaluate(() => document.documentElement.scrollWidth - window.innerWidth);
    expect(extra <= 0, `${what}: ${extra} px too wide`);
  };
  await check('start');
  for (const door of ['shelf', 'wanted', 'open', 'examples']) {
    await tab.locator(`#door-${door} > summary`).click();
    await check(`door ${door}`);
  }
  await tab.locator('#go-tools').click();
  for (const tool of ['recrystallise', 'dope', 'convert']) await tab.locator(`#tool-${tool} > summary`).click();
  await tab.locator('#tool-convert-substance').fill('SrCO3');
  await tab.locator('#tool-convert .output pre').waitFor();
  await check('tools');
  await openExample(tab, 'garnet-bench-sheet.toml');
  for (const id of [...Object.keys(COMMANDS), 'whatif', 'runs']) { await section(tab, id); await check(`section ${id}`); }
  await side(tab, 'edit');
  await tab.locator('[data-path="target.product_mass"]').fill('1 mL');
  await tab.locator('#field-target-product-mass-mistake').filter({ hasText: 'product_mass' }).waitFor();
  await check('form');
  await tab.locator('#edit-text').click();
  await check('text');
  await openExample(tab, 'garnet-bench-sheet.toml');
  await side(tab, 'answer');
  await tab.locator('#to-bench').click();
  await tab.locator('#bench .step').first().waitFor();
  await check('bench');
  await context.close();
}

// On paper stands the bench sheet alone.
async function printed(tab) {
  await openExample(tab, 'garnet-bench-sheet.toml');
  await section(tab, 'sheet');
  await tab.emulateMedia({ media: 'print' });
  expect(await tab.locator('#section-sheet pre').isVisible(), 'the sheet is not printed');
  for (const hidden of ['#edit', '#tabs', 'header', 'footer', '#section-sheet .actions']) {
    expect(!await tab.locator(hidden).first().isVisible(), `${hidden} is printed with the sheet`);
  }
  await tab.emulateMedia({ media: 'screen' });
}

// From a server the page is kept for use without one; nothing but its own files is asked for.
async function served() {
  const kinds = { html: 'text/html', js: 'text/javascript', svg: 'image/svg+xml', webmanifest: 'application/manifest+json' };
  const server = createServer((request, response) => {
    const name = request.url.slice(1).replace(/[?#].*$/, '');
    if (!/^emberpot[\w-]*\.(html|js|svg|webmanifest)$/.test(name)) {
      if (name !== 'favicon.ico') expect(false, `asks the server for ${request.url}`);
      response.writeHead(404).end();
      return;
    }
    response.writeHead(200, { 'content-type': kinds[name.split('.').pop()] }).end(readFileSync(join(dirname(pageFile), name)));
  });
  await new Promise(resolve => server.listen(0, '127.0.0.1', resolve));
  const context = await browser.newContext();
  const tab = await context.newPage();
  const own = `http://127.0.0.1:${server.address().port}/`;
  tab.on('pageerror', error => expect(false, `error: ${error}`));
  tab.on('request', request => expect(request.url().startsWith(own) || request.url().startsWith('blob:'), `asks for ${request.url()}`));
  await tab.goto(`${own}emberpot.html`);
  await tab.waitForFunction(() => document.body.dataset.ready);
  await tab.evaluate(() => navigator.serviceWorker.ready.then(found => found.active.state === 'activated'
    || new Promise(resolve => found.active.addEventListener('statechange', resolve))));
  server.closeAllConnections();
  await new Promise(resolve => server.close(resolve));
  await tab.reload();
  await tab.waitForFunction(() => document.body.dataset.ready);
  await context.close();
}

// Half the width is what 200 % zoom leaves of the window.
async function zoomed() {
  const { tab, context } = await open(640);
  await openExample(tab, 'zinc-aluminate.toml');
  await section(tab, 'first');
  const extra = await tab.evaluate(() => document.documentElement.scrollWidth - window.innerWidth);
  expect(extra <= 0, `${extra} px too wide at 200 %`);
  await context.close();
}

async function times() {
  const { tab, context } = await open(1280);
  const ready = Number(await tab.evaluate(() => document.body.dataset.ready));
  const text = readFileSync(join(examplesFolder, 'zinc-aluminate.toml'), 'utf8');
  const took = async (args, n) => {
    const all = [];
    for (let i = 0; i < n; i++) all.push((await tab.evaluate(([args, files]) => window.emberpot.run(args, files), [args, [['a.toml', text]]])).took);
    return all.slice(1).sort((a, b) => a - b);
  };
  const burn = await took(['burn', 'a.toml'], 9), choose = await took(['choose', 'a.toml'], 3), report = await took(['report', 'a.toml'], 3);
  console.log(`page ${statSync(pageFile).size} bytes; ready after ${ready} ms; burn ${burn[4].toFixed(0)} ms (${burn[0].toFixed(0)} at best), `
    + `report ${report[0].toFixed(0)} ms, choose ${choose[0].toFixed(0)} ms`);
  await context.close();
}

const only = process.env.ONLY?.split(',');
const step = async (name, act) => {
  if (only && !only.includes(name.split(' ')[0])) return;
  const started = Date.now();
  place = name;
  try { await act(); } catch (error) { expect(false, String(error).split('\n').slice(0, 4).join(' | ')); }
  console.log(`${name}: ${((Date.now() - started) / 1000).toFixed(1)} s`);
};

await step('times', times);
for (const width of [390, 1280]) {
  const { tab, context } = await open(width);
  columns = await tab.evaluate(() => window.emberpot.columns());
  // A few examples show that the narrow page has the answers (ALL=1: all).
  const files = width === 1280 || process.env.ALL ? examples : examples.slice(0, 2);
  await step(`examples ${width}`, () => everyExample(tab, width === 1280, files));
  await step(`mistakes ${width}`, () => mistakes(tab));
  await step(`shelf ${width}`, async () => { await shelfToBench(tab); await benchWork(tab); });
  await step(`keeping ${width}`, () => keeping(tab));
  await step(`links ${width}`, () => links(tab, width));
  await step(`whatif ${width}`, () => whatIf(tab));
  await step(`beside ${width}`, () => beside(tab));
  await step(`notebook ${width}`, () => notebook(tab));
  await step(`printed ${width}`, () => printed(tab));
  await step(`stopping ${width}`, () => stopping(tab));
  await step(`hostile ${width}`, () => hostile(tab));
  await context.close();
  await step(`store ${width}`, () => forbiddenStore(width));
  await step(`accessible ${width}`, () => accessible(width));
}
await step('zoom', zoomed);
await step('served', served);
await browser.close();
rmSync(folder, { recursive: true });
process.exit(problems > 0 ? 1 : 0);
