// SPDX-License-Identifier: MIT
// The picture of the report in README.md: the first screen of the demonstration, made from the program's own output.
//
// usage: NODE_PATH=... node picture.js PROGRAM FILE.png
// The words that the picture shows are stored in it, so that a test can tell when it no longer shows the report.
'use strict';
const { execFileSync } = require('child_process');
const fs = require('fs');
const os = require('os');
const path = require('path');
const zlib = require('zlib');

const CASE = path.join(__dirname, '..', '..', 'cases/demo/turbine-generator.yaml');
const FILE = path.join(__dirname, '..', '..', 'docs/pictures/report.png');
const SIZE = { width: 960, height: 1160 };
const KEY = 'zTXtDescription\0\0'; // kind of chunk, what it holds, how it is packed

function checksum(bytes) {
  let sum = 0xffffffff;
  for (const byte of bytes) {
    sum ^= byte;
    for (let k = 0; k < 8; k++)
      sum = (sum >>> 1) ^ (sum & 1 ? 0xedb88320 : 0);
  }
  return (sum ^ 0xffffffff) >>> 0;
}

// A PNG with a text in it, after its first chunk (8 bytes of signature, 25 of header).
function describe(png, words) {
  const data = Buffer.concat([Buffer.from(KEY, 'latin1'), zlib.deflateSync(Buffer.from(words))]);
  const length = Buffer.alloc(4), sum = Buffer.alloc(4);
  length.writeUInt32BE(data.length - 4);
  sum.writeUInt32BE(checksum(data));
  return Buffer.concat([png.subarray(0, 33), length, data, sum, png.subarray(33)]);
}

function description(png) {
  const at = png.indexOf(KEY, 0, 'latin1');
  if (at < 0)
    return '';
  return zlib.inflateSync(png.subarray(at + KEY.length, at + 4 + png.readUInt32BE(at - 4))).toString();
}

// The picture, and the words of everything that stands in it.
async function make(browser, program) {
  const folder = fs.mkdtempSync(path.join(os.tmpdir(), 'countermass-')), html = path.join(folder, 'report.html');
  execFileSync(program, ['report', CASE, '--output', html]);
  const context = await browser.newContext({ viewport: SIZE, colorScheme: 'light' }), page = await context.newPage();
  await page.goto('file://' + html);
  const png = await page.screenshot();
  const words = await page.evaluate(() => [...document.querySelectorAll('h1, h2, h3, p, li')]
    .filter((e) => { const box = e.getBoundingClientRect(); return !e.closest('nav') && box.height > 0 && box.bottom < innerHeight; })
    .map((e) => e.textContent.trim()).join('\n'));
  await context.close();
  fs.rmSync(folder, { recursive: true });
  return { png: describe(png, words), words };
}

module.exports = { make, description, FILE };

if (require.main === module)
  (async () => {
    const { chromium } = require('playwright-core');
    const browser = await chromium.launch({ executablePath: '/usr/bin/chromium', args: ['--no-sandbox'] });
    fs.mkdirSync(path.dirname(process.argv[3]), { recursive: true });
    fs.writeFileSync(process.argv[3], (await make(browser, process.argv[2])).png);
    await browser.close();
  })();
