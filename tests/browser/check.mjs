// Opens every page in Chromium: no message on the console, no request, every picture has size,
// nothing wider than the screen or the sheet, text large enough, dark and light readable.
import { chromium } from 'playwright-core';
import { pathToFileURL } from 'node:url';

const flags = ['--no-sandbox', '--disable-gpu', '--disable-quic', '--no-first-run',
  '--disable-background-networking', '--disable-component-update', '--disable-sync'];
const browser = await chromium.launch({ executablePath: process.env.CHROMIUM ?? '/usr/bin/chromium', args: flags });
const problems = [];

// A4 less the margins of the page's style sheet, in CSS pixels at 96 per inch.
const SHEET = Math.round((210 - 2 * 15) / 25.4 * 96);
// Height that letter paper leaves, the lower of the two.
const LETTER = (279.4 - 2 * 14) / 25.4 * 96;
const views = [
  { name: 'phone, light', width: 390, colorScheme: 'light' },
  { name: 'phone, dark', width: 390, colorScheme: 'dark' },
  { name: 'desktop, light', width: 1280, colorScheme: 'light' },
  { name: 'desktop, dark', width: 1280, colorScheme: 'dark' },
  { name: 'paper', width: SHEET, colorScheme: 'dark', media: 'print' },
];

// Runs in the page. WCAG contrast from the colours that the browser worked out.
function inspect({ paper, high }) {
  const found = { wide: [], pictures: 0, empty: [], small: [], faint: [] };
  const shown = element => element.checkVisibility();
  found.overflow = document.documentElement.scrollWidth - window.innerWidth;
  for (const svg of document.querySelectorAll('svg.picture')) {
    if (!shown(svg)) continue;
    found.pictures += 1;
    const box = svg.getBoundingClientRect();
    if (box.width < 200 || box.height < 60) found.empty.push(svg.getAttribute('aria-labelledby'));
    for (const text of svg.querySelectorAll('text')) {
      const size = parseFloat(getComputedStyle(text).fontSize) * box.width / svg.viewBox.baseVal.width;
      if (size < 8) found.small.push(`${text.textContent} ${size.toFixed(1)} px`);
      const own = text.getBoundingClientRect();
      if (own.left < box.left - 1 || own.right > box.right + 1)
        found.wide.push(`"${text.textContent}" sticks out of its picture`);
    }
  }
  if (paper) {
    // What decides is one sheet, the bench sheet another.
    const [decide, bench] = ['#decide', '#bench'].map(id => document.querySelector(id)?.getBoundingClientRect());
    if (decide && decide.bottom > high) found.wide.push(`what decides ends at ${Math.round(decide.bottom)} px of ${Math.round(high)}`);
    if (bench && bench.height > high) found.wide.push(`the bench sheet is ${Math.round(bench.height)} px high of ${Math.round(high)}`);
    for (const element of document.querySelectorAll('main table, main pre, main figure, main dl')) {
      if (shown(element) && element.getBoundingClientRect().right > window.innerWidth + 1)
        found.wide.push(`${element.tagName} ${element.closest('section')?.getAttribute('aria-label') ?? ''}`);
    }
  }
  const channels = colour => (colour.match(/[\d.]+/g) ?? []).map(Number);
  const luminance = colour => {
    const [r, g, b] = channels(colour).map(c => c / 255).map(c => c <= 0.04045 ? c / 12.92 : ((c + 0.055) / 1.055) ** 2.4);
    return 0.2126 * r + 0.7152 * g + 0.0722 * b;
  };
  const behind = element => {
    for (let at = element; at; at = at.parentElement) {
      const colour = getComputedStyle(at).backgroundColor;
      if ((channels(colour)[3] ?? 1) > 0) return colour;
    }
    return 'rgb(255, 255, 255)';
  };
  for (const element of document.querySelectorAll('h1, h2, h3, p, li, td, th, dt, dd, a, figcaption, summary, pre')) {
    if (!shown(element) || !element.textContent.trim()) continue;
    const [a, b] = [luminance(getComputedStyle(element).color), luminance(behind(element))];
    const contrast = (Math.max(a, b) + 0.05) / (Math.min(a, b) + 0.05);
    if (contrast < 4.5) found.faint.push(`${element.tagName} ${contrast.toFixed(2)}: ${element.textContent.trim().slice(0, 40)}`);
  }
  return found;
}

// The live panel by mouse, touch and keys: the sentence follows, a pin stays, a guess is judged.
async function drive(tab, view, complain) {
  const panel = tab.locator('#try');
  if (!await panel.count()) return;
  const said = () => panel.locator('output').textContent();
  const begin = await said();
  if (!begin.startsWith('As planned')) complain(view.name, `the panel begins with "${begin}"`);
  await panel.locator('[data-do=pin]').click();
  const lost = panel.locator('[name=lost]');
  await lost.focus();
  for (let press = 0; press < 5; press += 1) await tab.keyboard.press('ArrowRight');
  if (!/colder than planned.*not checked for danger/.test(await said())) complain(view.name, `5 % lost: "${await said()}"`);
  await panel.locator('[name=ratio-number]').fill('0,75');
  if (!(await panel.locator('.settings').textContent()).startsWith('φ 0.75')) complain(view.name, 'a decimal comma is not read');
  if (await panel.locator('svg path').count() !== 2) complain(view.name, 'the pinned curve is gone');
  await panel.locator('[data-do=reset]').click();
  if (await said() !== begin) complain(view.name, 'back to the plan says something else');
  await panel.locator('[data-do=guess]').click();
  if (/°C\./.test(await said())) complain(view.name, 'the answer shows before the guess');
  await panel.locator('[name=guess]').fill('1000');
  await panel.locator('[data-do=guess]').click();
  if (!/guess of 1000 °C/.test(await said())) complain(view.name, 'the guess is not judged');
}

// Two ways side by side by keys, touch or mouse: a changed setting is worked out but not checked,
// the vessels follow the moment, a guess placed on the picture is judged.
async function driveWays(tab, view, complain) {
  const panel = tab.locator('#ways');
  if (!await panel.count()) return;
  const side = panel.locator('.way').first();
  const said = () => side.locator('output').textContent();
  const begin = await said();
  const planned = !/no way is named/.test(await tab.locator('#decide').textContent());
  if (planned && /not checked for danger/i.test(begin)) complain(view.name, `the planned way begins with "${begin}"`);
  if (!/not checked for danger/i.test(await panel.locator('.way').last().locator('output').textContent())) complain(view.name, 'another way counts as checked');
  const setting = side.locator('[name=setting]');
  await setting.focus();
  await tab.keyboard.press('ArrowRight');
  if (!/Not checked for danger/.test(await said()) || await said() === begin) complain(view.name, `a stronger setting: "${await said()}"`);
  await tab.keyboard.press('ArrowLeft');
  if (await said() !== begin) complain(view.name, 'back to the planned setting says something else');
  const percent = () => side.locator('svg text').filter({ hasText: '% of the water left' }).last().textContent();
  const dry = await percent();
  await panel.locator('[name=moment]').fill('0');
  if (parseFloat(await percent()) <= parseFloat(dry)) complain(view.name, `${await percent()} at first, ${dry} at last`);
  await panel.locator('[name=moment]').fill('100');
  await panel.locator('button').click();
  if (await side.locator('svg path.line0').count() || / min/.test(await said())) complain(view.name, 'the course shows before the guess');
  const box = await side.locator('svg').boundingBox();
  const at = { x: box.width / 2, y: box.height / 3 };
  await (view.width < 500 ? side.locator('svg').tap({ position: at }) : side.locator('svg').click({ position: at }));
  if (!Number(await side.locator('.guess input').inputValue())) complain(view.name, 'a press on the picture places no guess');
  await panel.locator('button').click();
  if (!/Your guess was/.test(await said())) complain(view.name, `the guess is not judged: "${await said()}"`);
  const way = side.locator('select');
  await way.selectOption({ index: Number(await way.inputValue()) === 0 ? 1 : 0 });
  if (/Your guess was/.test(await said()) || await said() === begin) complain(view.name, 'another way keeps the words of the one before');
}

for (const path of process.argv.slice(2)) {
  const isClass = path.endsWith('-class.html');
  const page = path.split('/').pop();
  const complain = (view, text) => problems.push(`${page}, ${view}: ${text}`);
  for (const view of views) {
    const context = await browser.newContext({ viewport: { width: view.width, height: 900 }, colorScheme: view.colorScheme, hasTouch: view.width < 500, reducedMotion: 'reduce' });
    const tab = await context.newPage();
    tab.on('console', message => complain(view.name, `console: ${message.text()}`));
    tab.on('pageerror', error => complain(view.name, `error: ${error}`));
    tab.on('request', request => {
      if (!request.url().startsWith('file:') || request.resourceType() !== 'document')
        complain(view.name, `asks for ${request.url()}`);
    });
    await tab.emulateMedia({ media: view.media ?? 'screen', colorScheme: view.colorScheme });
    await tab.goto(pathToFileURL(path).href);
    const found = await tab.evaluate(inspect, { paper: view.media === 'print', high: LETTER });
    if (found.overflow > 0) complain(view.name, `${found.overflow} px too wide`);
    for (const kind of ['wide', 'empty', 'small', 'faint'])
      for (const text of new Set(found[kind])) complain(view.name, `${kind}: ${text}`);
    const least = isClass && view.media !== 'print' ? 1 : 5;
    if (found.pictures < least) complain(view.name, `${found.pictures} pictures, at least ${least} expected`);
    if (isClass && view.media !== 'print') {
      if (await tab.locator('#answers .hidden').isVisible()) complain(view.name, 'the answers show at once');
      await tab.locator('#answers a[href="#answers"]').click();
      if (!await tab.locator('#answers .hidden').isVisible()) complain(view.name, 'the answers do not come');
    }
    if (!isClass && view.media !== 'print') {
      await drive(tab, view, complain);
      await driveWays(tab, view, complain);
    }
    await context.close();
  }
  const still = await browser.newContext({ javaScriptEnabled: false });
  const plain = await still.newPage();
  await plain.goto(pathToFileURL(path).href);
  for (const id of ['#try', '#ways'])
    if (await plain.locator(id).count() && await plain.locator(id).isVisible()) complain('no script', `${id} shows`);
  if (await plain.locator('#ways').count() && !await plain.locator('#ways-still svg').isVisible()) complain('no script', 'no still picture of the two ways');
  await still.close();
  const tab = await browser.newPage();
  await tab.goto(pathToFileURL(path).href);
  const pdf = await tab.pdf({ preferCSSPageSize: true, printBackground: true });
  const boxes = [...pdf.toString('latin1').matchAll(/\/MediaBox\s*\[([^\]]*)\]/g)].map(m => m[1].trim().split(/\s+/).map(Number));
  if (boxes.length === 0) complain('PDF', 'no page');
  // The paper is the reader's: A4 is 595.28 by 841.89 points, letter 612 by 792.
  for (const [, , width, height] of boxes)
    if (![[595.28, 841.89], [612, 792]].some(([w, h]) => Math.abs(width - w) < 1.5 && Math.abs(height - h) < 1.5)) complain('PDF', `page of ${width} × ${height} points`);
  await tab.close();
  console.log(`${page}: ${boxes.length} sheets`);
}
await browser.close();
for (const problem of problems) console.error(problem);
process.exit(problems.length > 0 ? 1 : 0);
