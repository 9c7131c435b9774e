/* Try other masses on the page. Everything is computed here from the numbers in the page; nothing is fetched.
   What the numbers mean is said in engine/page/tree_try.c. Complex numbers are pairs [re, im]. */
'use strict';

(function () {
  const SVG = 'http://www.w3.org/2000/svg';
  const CENTRE = [130, 122], RIM = 88, NEAR = 1e-9;

  const add = (a, b) => [a[0] + b[0], a[1] + b[1]];
  const sub = (a, b) => [a[0] - b[0], a[1] - b[1]];
  const mul = (a, b) => [a[0] * b[0] - a[1] * b[1], a[0] * b[1] + a[1] * b[0]];
  const size = (a) => Math.hypot(a[0], a[1]);
  const conj = (a) => [a[0], -a[1]];
  const polar = (m, degrees) => [m * Math.cos(degrees * Math.PI / 180), m * Math.sin(degrees * Math.PI / 180)];
  function angle(a) {
    const degrees = Math.atan2(a[1], a[0]) * 180 / Math.PI;
    return size(a) === 0 ? 0 : (degrees + 360) % 360;
  }

  /* The numbers. `total` is the list of total masses of all planes. */

  function reading(data, row, total) {
    let r = row.y;
    row.a.forEach((a, j) => {
      const z = sub(total[j], data.planes[j].base);
      r = add(r, mul(a, data.sense > 0 ? z : conj(z)));
    });
    return r;
  }

  function deviation(data, spread, total) {
    let sum = 0;
    for (let k = 0; k < spread.length; k++) {
      let part = spread[0][k];
      for (let j = 0; j < total.length; j++)
        part = add(part, mul(spread[j + 1][k], sub(total[j], data.planes[j].base)));
      sum += part[0] * part[0] + part[1] * part[1];
    }
    return Math.sqrt(sum);
  }

  function partsOf(pair, readings) {
    return pair.parts.map((part) => size(add(mul(part.first, readings[pair.forward]),
      pair.backward < 0 ? [0, 0] : mul(part.second, readings[pair.backward]))));
  }

  const sum = (list) => list.reduce((a, b) => a + b, 0);
  const pairSize = (pair, readings) => sum(partsOf(pair, readings));
  const counted = (data) => data.rows.map((row, i) => [row, i]).filter(([row]) => row.weight > 0);
  const squares = (data, readings) => sum(counted(data).map(([row, i]) => (row.weight * size(readings[i])) ** 2));
  const level = (row, value) => Math.hypot(size(value), row.rest);
  const room = (limit, value, sd) => (sd > 0 ? (limit - value) / sd : limit >= value ? Infinity : -1);

  function worstCase(data, total, readings) {
    const columns = total.map((x, j) => {
      const norm = sum(counted(data).map(([row]) => (row.weight * size(row.a[j])) ** 2));
      return norm * size(sub(x, data.planes[j].base)) ** 2;
    });
    return Math.sqrt(squares(data, readings)) + data.influence_error * Math.sqrt(sum(columns));
  }

  function confidence(data, total, readings) {
    const rows = counted(data).filter(([row]) => row.bound !== null)
      .map(([row, i]) => room(row.bound, size(readings[i]), deviation(data, row.spread, total)));
    const pairs = data.pairs.filter((pair) => pair.weight > 0 && pair.limit !== null)
      .map((pair) => room(pair.limit, pairSize(pair, readings),
        sum(pair.parts.map((part) => deviation(data, part.spread, total)))));
    return Math.min(Infinity, ...rows, ...pairs);
  }

  const OBJECTIVES = {
    'least-squares': (data, total, readings) => Math.sqrt(squares(data, readings)),
    'min-max': (data, total, readings) => Math.max(0,
      ...counted(data).map(([row, i]) => row.weight * size(readings[i])),
      ...data.pairs.map((pair) => pair.weight * pairSize(pair, readings))),
    'least-mass': (data, total) => sum(total.map(size)),
    'least-change': (data, total) => sum(total.map((x, j) => size(sub(x, data.planes[j].now)))),
    'worst-case': worstCase,
    'expected': (data, total, readings) => Math.sqrt(squares(data, readings) +
      sum(counted(data).map(([row]) => (row.weight * deviation(data, row.spread, total)) ** 2))),
    'confidence': confidence,
  };

  /* The page. */

  function element(name, properties, ...children) {
    const e = Object.assign(document.createElement(name), properties);
    e.append(...children);
    return e;
  }

  function shape(name, attributes, ...children) {
    const e = document.createElementNS(SVG, name);
    Object.keys(attributes).forEach((key) => e.setAttribute(key, attributes[key]));
    e.append(...children);
    return e;
  }

  const digits = (value, count) => (Number.isFinite(value) ? String(Number(value.toPrecision(count))) : '-');
  const phasor = (value) => size(value).toFixed(1) + ' @ ' + (Math.round(angle(value)) % 360);

  function onPaper(radius, degrees) {
    const t = degrees * Math.PI / 180;
    return [CENTRE[0] + radius * Math.sin(t), CENTRE[1] - radius * Math.cos(t)];
  }

  /* A step of about a hundredth of the dial: 1, 2 or 5 times a power of ten. */
  function roundStep(most) {
    const rough = most / 100, power = 10 ** Math.floor(Math.log10(rough)), share = rough / power;
    return power * (share <= 1 ? 1 : share <= 2 ? 2 : share <= 5 ? 5 : 10);
  }

  class Plane {
    constructor(data, index, full, changed) {
      Object.assign(this, { data, index, full, changed, given: data.planes[index] });
      this.bestAdded = sub(this.given.best, this.given.now);
      this.added = this.bestAdded;
      this.step = roundStep(full);
      this.card = this.build();
    }

    total() { return this.given.held ? this.given.best : add(this.given.now, this.added); }

    paper(degrees) { return this.given.zero + this.data.growth * degrees; }

    point(mass) { return onPaper(RIM * size(mass) / this.full, this.paper(angle(mass))); }

    overCap() { return this.given.discs.some((d) => size(sub(this.total(), d.centre)) > d.radius * (1 + NEAR) + NEAR * this.full); }

    set(mass, quiet) {
      this.added = mass;
      this.show(quiet);
      this.changed();
    }

    face() {
      const marks = [];
      for (let degrees = 0; degrees < 360; degrees += 30) {
        const [x, y] = onPaper(RIM, this.paper(degrees)), [tx, ty] = onPaper(RIM + 12, this.paper(degrees));
        marks.push(shape('line', { class: 'grid', x1: CENTRE[0], y1: CENTRE[1], x2: x, y2: y }));
        marks.push(shape('text', { class: 'small soft', x: tx, y: ty + 3.5, 'text-anchor': 'middle' }, String(degrees)));
      }
      const [mx, my] = onPaper(RIM - 4, 0);
      marks.push(shape('path', { class: 'solid', d: `M${mx - 5} ${my + 9} L${mx} ${my} L${mx + 5} ${my + 9} Z` }));
      marks.push(shape('text', { class: 'small strong halo', x: mx, y: my + 20, 'text-anchor': 'middle' }, 'mark'));
      return marks;
    }

    caps() {
      return this.given.discs.map((d) => {
        const centre = sub(d.centre, this.given.now), [x, y] = this.point(centre);
        return shape('circle', { class: 'limit', cx: x, cy: y, r: RIM * d.radius / this.full });
      });
    }

    dial() {
      const clip = 'clip' + Plane.count++;
      this.line = shape('line', { class: 'mass-line', x1: CENTRE[0], y1: CENTRE[1] });
      this.dot = shape('circle', { class: 'mass', r: 8 });
      this.handle = shape('circle', { class: 'handle', r: 20, tabindex: 0, role: 'slider', 'aria-valuemin': 0 });
      this.handle.setAttribute('aria-label', 'mass on ' + this.given.id);
      const [bx, by] = this.point(this.bestAdded);
      this.svg = shape('svg', { class: 'drawing', viewBox: '0 0 260 244' },
        shape('clipPath', { id: clip }, shape('circle', { cx: CENTRE[0], cy: CENTRE[1], r: RIM })),
        ...this.face(), shape('circle', { class: 'ink', cx: CENTRE[0], cy: CENTRE[1], r: RIM }),
        shape('g', { 'clip-path': `url(#${clip})` }, ...this.caps()),
        shape('circle', { class: 'measured', cx: bx, cy: by, r: 11 }), this.line, this.dot, this.handle);
      this.handle.addEventListener('pointerdown', (event) => this.grab(event));
      this.handle.addEventListener('keydown', (event) => this.key(event));
      return this.svg;
    }

    grab(event) {
      const move = (e) => this.drag(e);
      this.handle.setPointerCapture(event.pointerId);
      this.handle.addEventListener('pointermove', move);
      const stop = () => this.handle.removeEventListener('pointermove', move);
      this.handle.addEventListener('pointerup', stop, { once: true });
      this.handle.addEventListener('pointercancel', stop, { once: true });
      this.handle.focus();
      event.preventDefault();
    }

    drag(event) {
      const p = new DOMPoint(event.clientX, event.clientY).matrixTransform(this.svg.getScreenCTM().inverse());
      const x = p.x - CENTRE[0], y = p.y - CENTRE[1];
      const paper = Math.atan2(x, -y) * 180 / Math.PI;
      const mass = Math.min(Math.hypot(x, y) / RIM, 1) * this.full;
      this.set(polar(mass, (paper - this.given.zero) * this.data.growth));
    }

    key(event) {
      const times = event.shiftKey ? 10 : 1, now = size(this.added), at = now > 0 ? angle(this.added) : this.lastAngle || 0;
      const moves = {
        ArrowUp: [now + times * this.step, at], ArrowDown: [Math.max(now - times * this.step, 0), at],
        ArrowRight: [now, at + times], ArrowLeft: [now, at - times],
      };
      if (event.key === 'Home')
        this.set(this.bestAdded);
      else if (moves[event.key])
        this.set(polar(...moves[event.key]));
      else
        return;
      this.lastAngle = size(this.added) > 0 ? angle(this.added) : at;
      event.preventDefault();
    }

    input(name, unit) {
      const field = element('input', { type: 'number', step: 'any', inputMode: 'decimal' });
      field.addEventListener('input', () => this.typed());
      return [element('label', {}, name + ' ', field, ' ' + unit), field];
    }

    typed() {
      const mass = this.massField.valueAsNumber, at = this.angleField.valueAsNumber;
      this.massField.setAttribute('aria-invalid', String(!Number.isFinite(mass)));
      this.angleField.setAttribute('aria-invalid', String(!Number.isFinite(at)));
      if (Number.isFinite(mass) && Number.isFinite(at))
        this.set(polar(mass, at), true);
    }

    build() {
      const [massLabel, massField] = this.input('add', this.data.mass_unit), [angleLabel, angleField] = this.input('at', 'degrees');
      Object.assign(this, { massField, angleField });
      this.note = element('p', { className: 'note' });
      return element('fieldset', { className: 'card' },
        element('legend', { title: this.given.id }, this.given.id), this.dial(), massLabel, angleLabel, this.note);
    }

    show(quiet) {
      const shown = Math.min(size(this.added), this.full), [x, y] = this.point(polar(shown, angle(this.added)));
      const mass = size(this.added).toFixed(this.data.decimals), at = (Number(angle(this.added).toFixed(1)) % 360).toFixed(1);
      [this.dot, this.handle].forEach((c) => { c.setAttribute('cx', x); c.setAttribute('cy', y); });
      this.line.setAttribute('x2', x);
      this.line.setAttribute('y2', y);
      this.handle.setAttribute('aria-valuemax', this.full);
      this.handle.setAttribute('aria-valuenow', Math.min(size(this.added), this.full));
      this.handle.setAttribute('aria-valuetext', `${mass} ${this.data.mass_unit} at ${at} degrees`);
      if (!quiet) {
        this.massField.value = mass;
        this.angleField.value = at;
      }
      const total = this.total();
      this.note.textContent = `On the plane afterwards: ${size(total).toFixed(this.data.decimals)} ${this.data.mass_unit} at ` +
        `${angle(total).toFixed(1)}` + (this.overCap() ? ': more than it may carry (dashed circle).' : '.');
      this.note.className = this.overCap() ? 'note bad' : 'note';
    }
  }
  Plane.count = 0;

  class Reading {
    constructor(row, best) {
      this.row = row;
      this.value = element('td', { className: 'right' });
      this.share = element('td', { className: 'right' });
      this.bar = shape('rect', { class: 'shade', x: 0, y: 2, height: 8 });
      const picture = shape('svg', { class: 'drawing bar', viewBox: '0 0 100 12', 'aria-hidden': 'true' }, this.bar,
        shape('line', { class: 'ink', x1: 50, y1: 0, x2: 50, y2: 12 }));
      this.line = element('tr', {}, element('th', { scope: 'row', title: row.sensor }, row.sensor),
        element('td', { title: row.speed }, row.speed), element('td', { className: 'right' }, phasor(sub(best, row.offset))),
        this.value, this.share, element('td', {}, row.limit === null ? '' : picture));
    }

    show(value) {
      const share = this.row.limit === null ? NaN : level(this.row, value) / this.row.limit;
      const compensated = sub(value, this.row.offset);
      this.value.textContent = phasor(compensated);
      this.value.dataset.amplitude = size(compensated);
      this.value.dataset.phase = angle(compensated);
      this.share.textContent = Number.isFinite(share) ? share.toFixed(2) + (share > 1 + NEAR ? ' over' : '') : 'no limit';
      this.share.className = share > 1 + NEAR ? 'right over' : 'right';
      this.bar.setAttribute('width', Math.min(50 * (share || 0), 100));
    }
  }

  class Orbit {
    constructor(pair, readings) {
      this.pair = pair;
      this.value = element('td', { className: 'right' });
      this.share = element('td', { className: 'right' });
      this.line = element('tr', {}, element('th', { scope: 'row', colSpan: 2, title: pair.name }, pair.name),
        element('td', { className: 'right' }, pairSize(pair, readings).toFixed(1)), this.value, this.share, element('td', {}));
    }

    show(readings) {
      const value = pairSize(this.pair, readings), share = this.pair.limit === null ? NaN : value / this.pair.limit;
      this.value.textContent = value.toFixed(1);
      this.value.dataset.orbit = value;
      this.share.textContent = Number.isFinite(share) ? share.toFixed(2) + (share > 1 + NEAR ? ' over' : '') : 'no limit';
      this.share.className = share > 1 + NEAR ? 'right over' : 'right';
    }
  }

  class Trial {
    constructor(data, place) {
      this.data = data;
      const most = Math.max(...data.planes.map((p) => size(sub(p.best, p.now))), NEAR);
      this.planes = data.planes.map((p, j) => new Plane(data, j,
        1.4 * Math.max(size(sub(p.best, p.now)), 0.4 * most), () => this.show()));
      const best = this.readings(), bare = data.planes.map((p) => (p.held ? p.best : p.now));
      const before = this.value(bare, data.rows.map((row) => reading(data, row, bare)));
      this.nothing = Number.isFinite(before) && before > 0 ? 1e-9 * before : 0;
      this.lines = data.rows.map((row, i) => (row.told ? new Reading(row, best[i]) : null));
      this.orbits = data.pairs.map((pair) => new Orbit(pair, best));
      this.build(place);
      this.planes.forEach((p) => p.show());
      this.show();
    }

    value(total, values) { return OBJECTIVES[this.data.minimise](this.data, total, values); }

    /* What rounding leaves where readings are cancelled is nothing. */
    clean(value) { return Math.abs(value) <= this.nothing ? 0 : value; }

    totals() { return this.planes.map((p) => p.total()); }

    readings() {
      const total = this.totals();
      return this.data.rows.map((row) => reading(this.data, row, total));
    }

    build(place) {
      const button = (words, mass) => {
        const b = element('button', { type: 'button', textContent: words });
        b.addEventListener('click', () => this.planes.forEach((p) => p.given.held || p.set(mass(p))));
        return b;
      };
      this.objective = element('p', {});
      this.worst = element('p', {});
      this.warning = element('p', { className: 'bad' });
      const state = element('div', { className: 'state' }, this.objective, this.worst, this.warning);
      state.setAttribute('role', 'status');
      const head = element('tr', {}, ...['sensor', 'speed', 'best', 'tried', 'of its limit', 'to twice its limit']
        .map((words, k) => element('th', { scope: 'col', className: k > 1 && k < 5 ? 'right' : '' }, words)));
      const table = element('div', { className: 'scroll', tabIndex: 0 }, element('table', {}, element('thead', {}, head),
        element('tbody', {}, ...this.lines.filter((l) => l).map((l) => l.line),
          ...this.orbits.map((o) => o.line))));
      table.setAttribute('role', 'group');
      table.setAttribute('aria-label', 'readings with the masses tried');
      const hint = 'Drag a mass, type it, or reach it with the tab key: arrows up and down change the mass, left and right the ' +
        'angle, with shift ten times as much, home goes back. The ring is the best mass. Masses are added to what is on the rotor now.';
      place.replaceChildren(element('p', {}, hint), state,
        element('p', {}, button('Best masses', (p) => p.bestAdded), ' ', button('Add nothing', () => [0, 0])),
        element('div', { className: 'dials' }, ...this.planes.filter((p) => !p.given.held).map((p) => p.card)), table);
      if (this.data.tied)
        place.prepend(element('p', { className: 'careful' }, 'The case ties planes to each other; masses moved here are not held to it.'));
    }

    show() {
      if (!this.lines)
        return;
      const total = this.totals(), values = this.readings();
      const value = this.clean(this.value(total, values)), best = this.clean(this.data.best);
      const unit = this.data.minimise.startsWith('least-') && this.data.minimise !== 'least-squares' ? ' ' + this.data.mass_unit : '';
      const more = best > 0 ? `, ${digits(100 * (value / best - 1), 3)} % ${value >= best ? 'more' : 'less'}`.replace(' -', ' ') : '';
      this.objective.textContent = `Objective (${this.data.minimise}): ${digits(value, 4)}${unit}; best possible ${digits(best, 4)}${unit}` +
        (Math.abs(value - best) <= 1e-6 * Math.abs(best) + this.nothing ? ': the same.' : `${more}.`);
      this.objective.dataset.value = this.value(total, values);
      this.lines.forEach((line, i) => line && line.show(values[i]));
      this.orbits.forEach((orbit) => orbit.show(values));
      this.showWorst(values);
      const over = this.planes.filter((p) => !p.given.held && p.overCap()).map((p) => p.given.id);
      this.warning.textContent = over.length ? 'More than may be carried: ' + over.join(', ') + '.' : '';
      this.warning.hidden = over.length === 0;
    }

    showWorst(values) {
      let worst = -1, share = 0, over = 0;
      this.data.rows.forEach((row, i) => {
        if (!row.told || row.limit === null)
          return;
        const s = level(row, values[i]) / row.limit;
        over += s > 1 + NEAR;
        if (worst < 0 || s > share)
          [worst, share] = [i, s];
      });
      over += this.data.pairs.filter((pair) => pair.limit !== null && pairSize(pair, values) > pair.limit * (1 + NEAR)).length;
      const row = this.data.rows[worst];
      this.worst.textContent = row ? `Worst reading: ${row.sensor} at ${row.speed}, ${digits(share, 3)} times its limit; ` +
        (over ? `${over} over the limit.` : 'all within their limits.') : '';
      this.worst.className = row ? (over ? 'bad' : 'good') : '';
    }
  }

  document.querySelectorAll('.try').forEach((place) => {
    const data = JSON.parse(place.querySelector('script.try-data').textContent);
    new Trial(data, place);
  });
})();
