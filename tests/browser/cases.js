// SPDX-License-Identifier: MIT
// Cases for the browser tests. JSON is YAML: no writer is needed.
'use strict';
const fs = require('fs');
const path = require('path');

const ROOT = path.join(__dirname, '..', '..');
const demo = () => fs.readFileSync(path.join(ROOT, 'cases/demo/turbine-generator.yaml'), 'utf8');

// Conventions that count against each other, masses on the rotor that stay, a plane that is held.
const MIXED = {
  case: { format: 1, title: 'Pump, counted the other way' },
  conventions: { phase: 'lag', mass_angle: 'with-rotation', rotation: 'clockwise', seen_from: 'coupling' },
  speeds: [{ id: 'service', speed: 2980 }],
  sensors: [{ id: 'A', limit: 40, repeatability: 1, weight: 2 }, { id: 'B', limit: 50, repeatability: 1 },
    { id: 'C', limit: 50, repeatability: 1, weight: 0 }],
  planes: [{ id: 'P1', radius: 200, cap: 120, zero: 35 }, { id: 'P2', radius: 200, cap: 60 }, { id: 'P3', radius: 200 }],
  runs: [
    { id: 'as-found', readings: { service: { A: '85 @ 60', B: '65 @ 205', C: '20 @ 10' } } },
    { id: 'one', masses: [{ plane: 'P1', mass: 20, angle: 270 }], readings: { service: { A: '60 @ 125', B: '45 @ 230', C: '22 @ 30' } } },
    { id: 'two', masses: [{ plane: 'P2', mass: 24, angle: 180 }], readings: { service: { A: '60 @ 35', B: '105 @ 160', C: '15 @ 0' } } },
    { id: 'three', masses: [{ plane: 'P3', mass: 15, angle: 30 }, { plane: 'P1', mass: 10, angle: 90, stays: true }],
      readings: { service: { A: ['70 @ 65', '71 @ 64'], B: '70 @ 215', C: '25 @ 12' } } },
  ],
  objective: { minimise: 'min-max', use_planes: ['P1', 'P2'] },
};

// Orbits of a probe pair, a reading judged as read, overall levels, a second objective, a sweep beside the case.
const WHOLE = {
  case: { format: 1, title: 'Compressor with two probes at a bearing' },
  conventions: { phase: 'lag', mass_angle: 'against-rotation', rotation: 'counter-clockwise', seen_from: 'drive end' },
  speeds: [{ id: 'service', speed: 4980 }],
  sensors: [{ id: '1x', angle: 45, position: 0, weight: 1, repeatability: 1, limit: 60 },
    { id: '1y', angle: 315, position: 0, weight: 1, repeatability: 1, limit: 60 },
    { id: '2x', angle: 45, position: 1800, limit: 60, repeatability: 1, judge: 'as-read' },
    { id: '2y', angle: 315, position: 1800, limit: 70, repeatability: 1, judge: 'as-read', limit_is: 'overall' }],
  slow_roll: { '2x': '9 @ 120' },
  pairs: [{ id: 'bearing 1', sensors: ['1x', '1y'], rows: ['forward', 'major-axis'], limit: 75 }],
  planes: [{ id: 'P1', position: 500, radius: 150, cap: 200 }, { id: 'P2', position: 1300, radius: 150, cap: 200 }],
  runs: [
    { id: 'as-found', readings: { service: { '1x': '85 @ 60', '1y': '80 @ 155', '2x': '50 @ 10', '2y': { amplitude: 48, phase: 100, overall: 55 } } } },
    { id: 'one', masses: [{ plane: 'P1', mass: 20, angle: 270 }],
      readings: { service: { '1x': '60 @ 85', '1y': '58 @ 180', '2x': '52 @ 30', '2y': { amplitude: 50, phase: 120, overall: 57 } } } },
    { id: 'two', masses: [{ plane: 'P2', mass: 24, angle: 180 }],
      readings: { service: { '1x': '90 @ 45', '1y': '86 @ 140', '2x': '75 @ 0', '2y': { amplitude: 70, phase: 92, overall: 76 } } } },
  ],
  objective: { minimise: 'min-max', then: { minimise: 'least-mass', within: '5 %' } },
  sweep: [{ run: 'as-found', csv: 'runup.csv' }],
};

// A mode at 2900 r/min and run-out, as the two probes would see it; phases lag.
function sweepTable() {
  const lines = ['run,speed,sensor,amplitude,phase'];
  for (let n = 1500; n <= 4900; n += 60)
    for (const [sensor, size, turn] of [['1x', 12, 30], ['1y', 11, 125]]) {
      const share = n * n / Math.hypot(2900 ** 2 - n * n, 2 * 0.05 * 2900 * n);
      const lag = Math.atan2(2 * 0.05 * 2900 * n, 2900 ** 2 - n * n) * 180 / Math.PI;
      lines.push(`as-found,${n},${sensor},${(size * share).toFixed(3)},${((lag + turn) % 360).toFixed(2)}`);
    }
  return lines.join('\n') + '\n';
}

const EVIL = ['</title><script>window.pwned = 1</script>', '"><img src=x onerror="window.pwned = 1">',
  "'); window.pwned = 1; ('", '</script><script>window.pwned = 1</script>', '<svg onload=window.pwned=1>',
  '=cmd|\' /C calc\'!A0', '{{constructor.constructor("window.pwned=1")()}}', ']]><script>window.pwned = 1</script>'];

// The same text wherever a case takes text.
function hostile() {
  const text = (k) => EVIL[k % EVIL.length] + ' ' + k;
  const c = JSON.parse(JSON.stringify(MIXED));
  const names = new Map();
  const rename = (id) => { if (!names.has(id)) names.set(id, text(names.size)); return names.get(id); };
  c.case = { format: 1 };
  ['title', 'machine', 'serial', 'place', 'customer', 'by', 'date', 'instruments', 'notes'].forEach((k, i) => { c.case[k] = text(i); });
  c.conventions.seen_from = EVIL[1];
  c.speeds[0].id = rename('service');
  c.sensors.forEach((s) => { s.id = rename(s.id); });
  c.planes.forEach((p) => { p.id = rename(p.id); });
  c.runs.forEach((r, i) => {
    r.id = text(20 + i);
    (r.masses || []).forEach((m) => { m.plane = rename(m.plane); });
    const read = Object.fromEntries(Object.entries(r.readings.service).map(([k, v]) => [rename(k), v]));
    r.readings = { [rename('service')]: read };
    r.at = EVIL[3];
    r.group = EVIL[0];
  });
  c.objective.use_planes = c.objective.use_planes.map(rename);
  return JSON.stringify(c);
}

// 60 sensors, 24 planes, 40 runs, ids of 200 characters.
function large() {
  const long = (name) => (name + ' of a machine whose names were never meant for a small page ').repeat(4).slice(0, 199 - name.length) + ' ' + name;
  const sensors = [...Array(60).keys()].map((i) => ({ id: long('S' + i), position: 100 * i, limit: 50, repeatability: 1.5 }));
  const planes = [...Array(24).keys()].map((j) => ({ id: long('P' + j), position: 250 * j + 30, radius: 300, cap: 500 }));
  const read = (k) => Object.fromEntries(sensors.map((s, i) =>
    [s.id, `${(40 + 30 * Math.sin(i * 1.7 + k * k * 0.37)).toFixed(2)} @ ${((i * 41 + k * k * 23) % 360 + 0.5).toFixed(1)}`]));
  const runs = [...Array(40).keys()].map((k) => ({
    id: long('run ' + k), masses: k ? [{ plane: planes[(k - 1) % 24].id, mass: 50 + k, angle: (k * 37) % 360 }] : [],
    readings: { [long('service')]: read(k) },
  }));
  return JSON.stringify({ case: { format: 1, title: long('title') }, conventions: { phase: 'lead', mass_angle: 'with-rotation',
    rotation: 'clockwise', seen_from: long('end') }, speeds: [{ id: long('service'), speed: 3000 }], sensors, planes, runs });
}

module.exports = { demo, MIXED, WHOLE, sweepTable, hostile, large, EVIL };
