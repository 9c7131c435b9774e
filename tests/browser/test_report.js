// SPDX-License-Identifier: MIT
// The report as a person meets it: opened from a file, read on a phone, printed, tried out.
//
// usage: NODE_PATH=... node test_report.js PROGRAM
// Predictions are computed here a second time, from `influence` and `solve` as JSON; the page's own data are not used.
'use strict';
const assert = require('assert');
const { execFileSync } = require('child_process');
const fs = require('fs');
const os = require('os');
const path = require('path');
const { chromium } = require('playwright-core');
const cases = require('./cases.js');
const picture = require('./picture.js');

const PROGRAM = process.argv[2];
const folder = fs.mkdtempSync(path.join(os.tmpdir(), 'countermass-'));
const AXE = fs.readFileSync(require.resolve('axe-core/axe.min.js'), 'utf8');
let browser;

function run(...options) {
  try {
    return execFileSync(PROGRAM, options, { encoding: 'utf8', maxBuffer: 1 << 28, stdio: ['ignore', 'pipe', 'pipe'] });
  } catch (error) {
    if (error.status !== 1) // 1: the answer is no, with a page all the same
      throw error;
    return error.stdout;
  }
}

// Writes a case and its report; returns what the other commands say of it.
function make(name, text) {
  const file = path.join(folder, name + '.yaml'), html = path.join(folder, name + '.html');
  fs.writeFileSync(file, text);
  run('report', file, '--output', html);
  return { url: 'file://' + html, html, file, solve: () => JSON.parse(run('solve', '--format', 'json', file)),
    influence: () => JSON.parse(run('influence', '--format', 'json', file)) };
}

// Opens a page and holds it to: no message, no request, no dialogue.
async function open(made, options = {}) {
  const context = await browser.newContext({ viewport: { width: 1280, height: 900 }, ...options });
  const page = await context.newPage();
  page.troubles = [];
  page.on('console', (m) => page.troubles.push('console: ' + m.text()));
  page.on('pageerror', (e) => page.troubles.push('error: ' + e.message));
  page.on('dialog', (d) => { page.troubles.push('dialogue'); d.dismiss(); });
  page.on('request', (r) => { if (r.url() !== made.url) page.troubles.push('request: ' + r.url()); });
  await page.goto(made.url);
  return page;
}

async function close(page) {
  assert.deepStrictEqual(page.troubles, []);
  await page.context().close();
}

const polar = (m, degrees) => [m * Math.cos(degrees * Math.PI / 180), m * Math.sin(degrees * Math.PI / 180)];
const plus = (a, b) => [a[0] + b[0], a[1] + b[1]];
const times = (a, b) => [a[0] * b[0] - a[1] * b[1], a[0] * b[1] + a[1] * b[0]];
const near = (a, b, tolerance) => Math.abs(a - b) <= tolerance * Math.max(1, Math.abs(b));

// Forward and backward circle of two probes at these angles (degrees in the direction of rotation), from lagging phasors:
// lead phasor k = F exp(-i angle k) + B exp(i angle k).
function circles(first, second, a, b) {
  const lead = [[first[0], -first[1]], [second[0], -second[1]]], turn = (degrees) => polar(1, degrees);
  const minus = (z) => [-z[0], -z[1]], whole = plus(turn(b - a), minus(turn(a - b)));
  const over = (z) => { const n = whole[0] ** 2 + whole[1] ** 2; return times(z, [whole[0] / n, -whole[1] / n]); };
  return [over(plus(times(lead[0], turn(b)), minus(times(lead[1], turn(a))))),
    over(plus(times(lead[1], turn(-a)), minus(times(lead[0], turn(-b)))))];
}

// What every reading becomes when `plane` gets `added` instead of the best change; sense -1: angles count against phases.
function predict(solve, influence, plane, added, sense) {
  const change = solve.corrections.find((c) => c.plane === plane).change;
  const more = plus(polar(...added), polar(-change.mass, change.angle));
  return solve.predicted.map((p) => {
    const a = influence.coefficients.find((c) => c.speed === p.speed && c.sensor === p.sensor && c.plane === plane).value;
    return plus(polar(p.after.amplitude, p.after.phase), times(polar(a.amplitude, a.phase), [more[0], sense * more[1]]));
  });
}

// The readings the page shows for the masses tried.
async function shown(page) {
  return page.$$eval('.try td[data-amplitude]', (cells) => cells.map((c) => [+c.dataset.amplitude, +c.dataset.phase]));
}

function same(found, expected, tolerance, what) {
  assert.strictEqual(found.length, expected.length);
  found.forEach(([a, phase], i) => {
    const p = polar(a, phase), e = expected[i], apart = Math.hypot(p[0] - e[0], p[1] - e[1]);
    assert(apart <= tolerance * Math.max(1, Math.hypot(...e)), `${what}, reading ${i}: ${p} instead of ${e}`);
  });
}

async function objective(page) {
  return page.$eval('.try [data-value]', (e) => +e.dataset.value);
}

const card = (page, plane) => page.locator('.try fieldset').filter({ has: page.locator(`legend[title=${JSON.stringify(plane)}]`) });

async function type(page, plane, mass, angle) {
  const fields = card(page, plane).locator('input');
  await fields.nth(0).fill(String(mass));
  await fields.nth(1).fill(String(angle));
}

const tests = {
  async 'figures equal those of solve'() {
    const made = make('demo', cases.demo()), solve = made.solve(), page = await open(made);
    const inside = JSON.parse(await page.$eval('script.result', (e) => e.textContent));
    for (const key of ['status', 'objective', 'corrections', 'predicted', 'condition', 'spread'])
      assert.deepStrictEqual(inside[key], solve[key], key);
    const cards = await page.$$eval('.card .big', (list) => list.map((e) => e.textContent));
    solve.corrections.forEach((c, j) => assert.strictEqual(cards[j], `${c.change.mass.toFixed(1)} g at ${c.change.angle.toFixed(1)}°`));
    for (const speed of new Set(solve.predicted.map((p) => p.speed))) {
      const lines = await page.$$eval('section', (all, name) => {
        const section = all.find((s) => s.querySelector('h2').textContent.startsWith('Predicted vibration at ' + name));
        return [...section.querySelectorAll('tbody tr')].map((r) => [...r.children].map((c) => c.textContent));
      }, speed);
      const expected = solve.predicted.filter((p) => p.speed === speed);
      assert.strictEqual(lines.length, expected.length);
      expected.forEach((p, i) => {
        assert.strictEqual(lines[i][0], p.sensor);
        const [after, phase] = lines[i][3].split('@').map(Number);
        assert(Math.abs(after - p.after.amplitude) <= 0.0501, lines[i]);
        assert(Math.abs(((phase - p.after.phase + 540) % 360) - 180) <= 0.501, lines[i]);
      });
    }
    await close(page);
  },

  async 'typing, keys and dragging give the right numbers'() {
    const made = make('demo', cases.demo()), solve = made.solve(), influence = made.influence(), page = await open(made);
    const limits = solve.predicted.map((p) => p.limit);
    const squares = (readings) => Math.sqrt(readings.reduce((s, r, i) => s + (Math.hypot(...r) / limits[i]) ** 2, 0));
    const best = solve.predicted.map((p) => polar(p.after.amplitude, p.after.phase));
    same(await shown(page), best, 1e-9, 'best masses');
    assert(near(await objective(page), solve.objective.value, 1e-9));
    await type(page, 'P3', 250, 30);
    const typed = predict(solve, influence, 'P3', [250, 30], 1);
    same(await shown(page), typed, 1e-9, 'typed');
    assert(near(await objective(page), squares(typed), 1e-9));
    const handle = card(page, 'P3').locator('.handle');
    await handle.focus();
    for (const key of ['ArrowRight', 'ArrowRight', 'Shift+ArrowLeft', 'ArrowUp'])
      await page.keyboard.press(key);
    const now = await card(page, 'P3').locator('input').evaluateAll((list) => list.map((e) => +e.value));
    assert(near(now[1], 22, 1e-9), `30 + 2 - 10 degrees, not ${now[1]}`);
    assert(now[0] > 250 && now[0] < 280, now[0]);
    same(await shown(page), predict(solve, influence, 'P3', now, 1), 1e-3, 'keys');
    await handle.press('Home');
    same(await shown(page), best, 1e-9, 'home');
    await drag(page, solve, influence);
    await page.getByRole('button', { name: 'Best masses' }).click();
    same(await shown(page), best, 1e-9, 'button');
    await close(page);
  },

  async 'angles against phases, masses that stay, held planes'() {
    const made = make('mixed', JSON.stringify(cases.MIXED)), solve = made.solve(), page = await open(made);
    assert.strictEqual(await page.locator('.try fieldset').count(), 2, 'a held plane cannot be tried');
    await type(page, 'P1', 33, 75);
    same(await shown(page), predict(solve, made.influence(), 'P1', [33, 75], -1), 1e-9, 'typed');
    await type(page, 'P2', 500, 75);
    assert.match(await page.locator('.try .state').textContent(), /More than may be carried: P2/);
    await type(page, 'P2', '', 75);
    assert.strictEqual(await card(page, 'P2').locator('input').nth(0).getAttribute('aria-invalid'), 'true');
    await close(page);
  },

  async 'orbits, readings as read, overall levels, a sweep'() {
    fs.writeFileSync(path.join(folder, 'runup.csv'), cases.sweepTable());
    const made = make('whole', JSON.stringify(cases.WHOLE)), solve = made.solve(), page = await open(made);
    const pairs = solve.predicted.filter((p) => p.pair), rows = solve.predicted.filter((p) => !p.pair);
    const only = { ...solve, predicted: rows };
    same(await shown(page), rows.map((p) => polar(p.after.amplitude, p.after.phase)), 1e-9, 'best masses');
    const sizes = () => page.$$eval('.try td[data-orbit]', (cells) => cells.map((c) => +c.dataset.orbit));
    (await sizes()).forEach((size, k) => assert(near(size, pairs[k].after.amplitude, 1e-9), `orbit ${k}: ${size}`));
    assert(near(await objective(page), solve.objective.value, 1e-9));
    await type(page, 'P1', 12, 300);
    const tried = predict(only, made.influence(), 'P1', [12, 300], 1);
    same(await shown(page), tried, 1e-9, 'typed');
    const [forward, backward] = circles(tried[0], tried[1], 45, 315), orbits = await sizes();
    assert(near(orbits[0], Math.hypot(...forward), 1e-9) && near(orbits[1], Math.hypot(...forward) + Math.hypot(...backward), 1e-9));
    const shares = await page.$$eval('.try tbody tr', (lines) => lines.map((l) => [...l.children].map((c) => c.textContent)));
    const read = Math.hypot(...plus(tried[2], polar(9, 120))); // slow roll is part of what the limit is for
    assert(near(parseFloat(shares[2][4]), read / 60, 0.0051), shares[2][4]);
    const rest = Math.sqrt(Math.max(...cases.WHOLE.runs.map((r) => r.readings.service['2y']).map((r) => r.overall ** 2 - r.amplitude ** 2)));
    assert(near(parseFloat(shares[3][4]), Math.hypot(...tried[3], rest) / 70, 0.0051), shares[3][4]);
    assert.strictEqual(await page.locator('figcaption', { hasText: 'over speed in run as-found' }).count(), 2);
    await close(page);
  },

  async 'every objective has the value of solve at the best masses'() {
    const all = [{ minimise: 'least-squares' }, { minimise: 'min-max' }, { minimise: 'least-mass' }, { minimise: 'least-change' },
      { minimise: 'worst-case', influence_error: 0.05 }, { minimise: 'expected' }, { minimise: 'confidence' }];
    for (const goal of all) {
      const made = make(goal.minimise, JSON.stringify({ ...cases.MIXED, objective: goal })), page = await open(made);
      assert(near(await objective(page), made.solve().objective.value, 1e-7), goal.minimise);
      await close(page);
    }
  },

  async 'without script the page is whole'() {
    const made = make('demo', cases.demo()), page = await open(made, { javaScriptEnabled: false });
    const text = await page.locator('main').innerText();
    for (const words of ['Summary', 'What to mount now', 'Before anything turns', 'Sign-off', 'needs a browser'])
      assert(text.includes(words), words);
    assert.strictEqual(await page.locator('svg').count(), await page.locator('figure').count());
    await close(page);
  },

  async 'hostile text stays text'() {
    const made = make('hostile', cases.hostile());
    const page = await open(made);
    assert.strictEqual(await page.evaluate(() => window.pwned), undefined);
    assert.strictEqual(await page.locator('img, iframe, object, link, base, form').count(), 0);
    assert.strictEqual(await page.evaluate(() => [...document.querySelectorAll('*')]
      .filter((e) => [...e.attributes].some((a) => a.name.startsWith('on') || a.name === 'style' || /^\s*javascript:/.test(a.value))).length), 0);
    assert.strictEqual(await page.locator('script:not([type="application/json"])').count(), 1);
    assert.deepStrictEqual(await page.evaluate(wrongDrawings, fs.readFileSync(made.html, 'utf8')), []);
    assert((await page.locator('h1').textContent()).startsWith(cases.EVIL[0]));
    await accessible(page);
    await close(page);
  },

  async 'nothing but its own script may run'() {
    const page = await open(make('demo', cases.demo()));
    await page.evaluate(() => {
      const script = document.createElement('script');
      script.textContent = 'window.stranger = 1';
      document.body.append(script);
    });
    assert.strictEqual(await page.evaluate(() => window.stranger), undefined);
    assert.strictEqual(page.troubles.length, 1); // the browser says that it refused
    page.troubles.length = 0;
    await close(page);
  },

  // In light the page of hostile text is held to the same.
  async 'no fault in accessibility on a phone in the dark'() {
    fs.writeFileSync(path.join(folder, 'runup.csv'), cases.sweepTable());
    const made = make('whole', JSON.stringify(cases.WHOLE)); // every kind of section, on few nodes
    const page = await open(made, { colorScheme: 'dark', viewport: { width: 390, height: 844 } });
    await accessible(page);
    await close(page);
  },

  // Its words exactly, its looks as far as fonts and browsers allow.
  async 'the picture in README.md shows this report'() {
    const kept = fs.readFileSync(picture.FILE), now = await picture.make(browser, PROGRAM);
    assert.strictEqual(picture.description(kept), now.words, 'run: sh tests/browser/run.sh build/countermass --picture');
    const page = await browser.newPage();
    const apart = await page.evaluate(difference, [kept, now.png].map((png) => 'data:image/png;base64,' + png.toString('base64')));
    assert(apart < 5, `the picture is ${apart} of 255 grey levels from what it should show`);
    await page.close();
  },

  async 'fits a phone, a desk and a sheet of paper'() {
    for (const made of [make('demo', cases.demo()), make('hostile', cases.hostile()), make('large', cases.large())]) {
      const page = await open(made);
      for (const width of [390, 1280]) {
        await page.setViewportSize({ width, height: 900 });
        const wide = await page.evaluate(() => document.documentElement.scrollWidth);
        assert(wide <= width, `${made.url} is ${wide} wide at ${width}`);
      }
      await page.emulateMedia({ media: 'print' });
      await page.setViewportSize({ width: 703, height: 1000 }); // A4 without its margins
      const cut = await page.evaluate(() => [...document.querySelectorAll('main *')].filter((e) => {
        const box = e.getBoundingClientRect();
        return box.width > 0 && (box.right > 704 || box.left < -1) && !e.closest('g, .handle'); // groups are cut to the dial
      }).map((e) => e.tagName + '.' + e.getAttribute('class') + ' ' + e.textContent.slice(0, 60)));
      assert.deepStrictEqual(cut, []);
      if (!made.url.includes('large'))
        await prints(page);
      await close(page);
    }
  },
};

// Down to a corner of the dial, seen where the pointer lets go.
async function drag(page, solve, influence) {
  const svg = card(page, 'P1').locator('svg'), handle = card(page, 'P1').locator('.handle');
  await handle.scrollIntoViewIfNeeded();
  const from = await handle.boundingBox(), box = await svg.boundingBox(), scale = box.width / 260;
  await page.mouse.move(from.x + from.width / 2, from.y + from.height / 2);
  await page.mouse.down();
  // 44 of 88 to the right of the centre: with angles that grow clockwise, half the dial at 90 degrees
  await page.mouse.move(box.x + 150 * scale, box.y + 90 * scale);
  await page.mouse.move(box.x + (130 + 44) * scale, box.y + 122 * scale);
  await page.mouse.up();
  const now = await card(page, 'P1').locator('input').evaluateAll((list) => list.map((e) => +e.value));
  const change = solve.corrections.find((c) => c.plane === 'P1').change.mass;
  const most = Math.max(...solve.corrections.map((c) => c.change.mass));
  assert(near(now[1], 90, 0.01), `dragged to 90 degrees, not ${now[1]}`);
  assert(near(now[0], 0.7 * Math.max(change, 0.4 * most), 0.01), `dragged to half the dial, not ${now[0]}`);
  same(await shown(page), predict(solve, influence, 'P1', now, 1), 2e-3, 'dragged');
}

// Mean difference of two pictures, seen as coarsely as a thumbnail; runs in the page.
async function difference(pictures) {
  const thumbnails = await Promise.all(pictures.map(async (data) => {
    const image = new Image();
    image.src = data;
    await image.decode();
    const canvas = Object.assign(document.createElement('canvas'), { width: 48, height: 58 });
    const brush = canvas.getContext('2d');
    brush.imageSmoothingQuality = 'high';
    brush.drawImage(image, 0, 0, 48, 58);
    return brush.getImageData(0, 0, 48, 58).data;
  }));
  let sum = 0;
  thumbnails[0].forEach((level, i) => { sum += Math.abs(level - thumbnails[1][i]); });
  return sum / thumbnails[0].length;
}

// Drawings in the source of a page that an XML parser does not take, or that lack title or description; runs in the page.
function wrongDrawings(source) {
  const found = source.match(/<svg [^]*?<\/svg>/g) || ['none'];
  return found.filter((svg) => {
    const tree = new DOMParser().parseFromString(svg.replace('<svg ', '<svg xmlns="http://www.w3.org/2000/svg" '), 'image/svg+xml');
    return tree.querySelector('parsererror') || !tree.querySelector('svg > title') || !tree.querySelector('svg > desc');
  });
}

async function accessible(page) {
  await page.evaluate(AXE);
  const found = await page.evaluate(() => window.axe.run());
  const serious = found.violations.filter((v) => ['serious', 'critical'].includes(v.impact))
    .map((v) => `${v.id}: ${v.nodes.slice(0, 3).map((n) => n.html.slice(0, 120)).join(' | ')}`);
  assert.deepStrictEqual(serious, []);
}

// Pages of a PDF are whole A4 sheets.
async function prints(page) {
  const pdf = (await page.pdf({ preferCSSPageSize: true })).toString('latin1');
  const boxes = pdf.match(/\/MediaBox\s*\[[^\]]*\]/g) || [];
  assert(boxes.length > 3, 'pages');
  boxes.forEach((box) => {
    const [, , width, height] = box.match(/[\d.]+/g).map(Number);
    assert(Math.abs(width - 595) < 2 && Math.abs(height - 842) < 2, box);
  });
}

(async () => {
  browser = await chromium.launch({ executablePath: '/usr/bin/chromium', args: ['--no-sandbox'] });
  let failed = 0;
  for (const [name, test] of Object.entries(tests)) {
    const start = Date.now();
    try {
      await test();
      console.log(`ok   ${name} (${((Date.now() - start) / 1000).toFixed(1)} s)`);
    } catch (error) {
      failed++;
      console.log(`FAIL ${name}\n${error.stack}`);
    }
  }
  await browser.close();
  fs.rmSync(folder, { recursive: true });
  console.log(`report in a browser: ${Object.keys(tests).length} tests, ${failed} failed`);
  process.exit(failed ? 1 : 0);
})();
