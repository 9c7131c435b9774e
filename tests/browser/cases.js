// SPDX-License-Identifier: MIT
// Cases for the browser tests. JSON is YAML: no writer is needed.
'use strict';
const fs = require('fs');
const path = require('path');

const ROOT = path.join(__dirname, '..', '..');
const demo = () => fs.readFileSync(path.join(ROOT, 'cases/demo/turbine-generator.yaml'), 'utf8');

// The demonstration with another objective.
function demoWith(objective) {
  return demo().replace(/^objective:[\s\S]*$/m, 'objective: ' + JSON.stringify(objective) + '\n');
}

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

module.exports = { demo, demoWith, MIXED, hostile, large, EVIL };
