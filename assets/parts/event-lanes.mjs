/**
 * Each bench's course in a lane of its own, with its event as a line that pointer and keys can move.
 *
 * The field of the bench holds the event: a line that was moved writes there, and what comes back from the
 * server is drawn.
 */

import {createMark} from './marks.mjs';
import {announce, make, makeSvg, setAttribute, write} from './page.mjs';
import {movedByKey, placeIn, roundedFor, secondsIn, ticksOf} from './lane-times.mjs';

const REST_MS = 700; // after the last key before the comparison follows

/**
 * @param {HTMLElement} panel Empty; bears the lanes as JSON in `data-lanes`, "" for none.
 * @param {(bench: number, seconds: number | null) => void} set Puts an event where a person wants it; null: as found.
 */
export function eventLanes(panel, set) {
  const lanes = new Map(); // by bench
  let told = null;
  let isClose = true;
  const said = make('p', {class: 'lanes-said', role: 'status'});
  const heading = make('h3');
  const list = make('ol', {class: 'lanes-list'});
  const axis = make('div', {class: 'lane-axis', 'aria-hidden': 'true'});
  const close = make('button', {type: 'button', class: 'lanes-close'}, 'Closer: the time about the events');
  const help = make('p', {class: 'soft'},
    'Drag a line to where it should be, or step to it with Tab and move it with the arrow keys '
    + '(with Shift ten times as far; Delete: back to what was found). Each course has a height of its own.');
  close.addEventListener('click', () => {
    isClose = !isClose;
    draw();
  });
  panel.append(make('div', {class: 'lanes-head'}, heading, close), list, axis, help, said);

  const view = () => (isClose && told.close) || told.whole;

  function draw() {
    panel.hidden = told === null;
    if (told === null) return;
    write(heading, `When the ${told.kind} was at each bench`);
    close.hidden = !told.close;
    setAttribute(close, 'aria-pressed', String(isClose));
    const benches = new Set(told.lanes.map(({bench}) => bench));
    for (const [bench, lane] of lanes) if (!benches.has(bench)) { lane.row.remove(); lanes.delete(bench); }
    for (const given of told.lanes) {
      if (!lanes.has(given.bench)) lanes.set(given.bench, createLane(given.bench));
      const lane = lanes.get(given.bench);
      if (lane.row.parentNode !== list) list.append(lane.row);
      lane.show(given);
    }
    const [since, until] = view();
    axis.replaceChildren(...ticksOf(since, until).map(({seconds, words}) => {
      const tick = make('span', {}, words);
      tick.style.left = `${100 * placeIn(seconds, view())}%`;
      return tick;
    }));
  }

  function createLane(bench) {
    let given = null;
    let at = null; // where the line stands now
    let waits = 0; // the timer of keys that were pressed
    let isHeld = false;
    const mark = make('span', {class: 'lane-mark'});
    const name = make('span', {class: 'lane-name'});
    const curve = makeSvg('path', {class: 'lane-curve'});
    const plot = make('div', {class: 'lane-plot'},
      makeSvg('svg', {viewBox: '0 0 1000 100', preserveAspectRatio: 'none', 'aria-hidden': 'true'}, curve));
    const found = make('span', {class: 'lane-found', 'aria-hidden': 'true'});
    const line = make('span', {class: 'lane-line', role: 'slider', tabindex: '0', 'aria-orientation': 'horizontal'});
    const words = make('span', {class: 'lane-words'});
    const back = make('button', {type: 'button', class: 'lane-back'}, 'Back to what was found');
    const here = make('button', {type: 'button', class: 'lane-back'}, 'Set it by hand');
    plot.append(found, line);
    const row = make('li', {class: 'lane', 'data-bench': bench},
      make('div', {class: 'lane-head'}, mark, name, words, back, here), plot);

    const place = () => {
      const seen = at !== null && at >= view()[0] && at <= view()[1];
      line.hidden = !seen;
      if (seen) line.style.left = `${100 * placeIn(at, view())}%`;
      const was = given.found;
      found.hidden = was === null || was === at || was < view()[0] || was > view()[1];
      if (!found.hidden) found.style.left = `${100 * placeIn(was, view())}%`;
      const isMoved = at !== given.found;
      const text = wordsOf(given, at);
      write(words, text);
      back.hidden = !isMoved || at === null;
      here.hidden = at !== null;
      setAttribute(line, 'aria-label', `${told.kind} at ${given.name}`);
      setAttribute(line, 'aria-valuemin', String(Math.ceil(told.whole[0])));
      setAttribute(line, 'aria-valuemax', String(Math.floor(told.whole[1])));
      setAttribute(line, 'aria-valuenow', String(at ?? 0));
      setAttribute(line, 'aria-valuetext', text);
      row.dataset.moved = isMoved && at !== null ? 'yes' : 'no';
    };
    const move = (seconds) => {
      at = Math.min(told.whole[1], Math.max(told.whole[0], seconds));
      place();
    };
    const settle = () => {
      clearTimeout(waits);
      waits = 0;
      set(bench, at);
      write(said, `${given.name}: ${wordsOf(given, at)}.`);
    };
    const goBack = () => {
      clearTimeout(waits);
      waits = 0;
      at = given.found;
      set(bench, null);
      place();
      announce(`${given.name}: ${wordsOf(given, at)}.`);
      write(said, `${given.name}: ${wordsOf(given, at)}.`);
    };

    line.addEventListener('pointerdown', (event) => {
      if (event.button !== 0) return;
      event.preventDefault();
      line.focus();
      line.setPointerCapture(event.pointerId);
      isHeld = true;
      row.dataset.held = 'yes';
    });
    line.addEventListener('pointermove', (event) => {
      if (!isHeld) return;
      const {left, width} = plot.getBoundingClientRect();
      move(roundedFor(secondsIn((event.clientX - left) / width, view()), view()));
    });
    const letGo = () => {
      if (!isHeld) return;
      isHeld = false;
      delete row.dataset.held;
      settle();
    };
    line.addEventListener('pointerup', letGo);
    line.addEventListener('pointercancel', letGo);
    line.addEventListener('keydown', (event) => {
      if (event.key === 'Delete' || event.key === 'Backspace') {
        event.preventDefault();
        goBack();
        return;
      }
      const to = movedByKey(event, at, view());
      if (to === null) return;
      event.preventDefault();
      move(to);
      clearTimeout(waits);
      waits = setTimeout(settle, REST_MS);
    });
    line.addEventListener('blur', () => { if (waits) settle(); });
    back.addEventListener('click', () => {
      goBack();
      if (at !== null) line.focus();
    });
    here.addEventListener('click', () => {
      const [since, until] = view();
      move(roundedFor((since + until) / 2, view()));
      settle();
      line.focus();
    });

    return {row, show(next) {
      const isNew = given === null || given.shape !== next.shape || given.colour !== next.colour;
      given = next;
      if (isNew) mark.replaceChildren(createMark(next));
      write(name, next.name);
      if (!isHeld && !waits) at = next.at;
      const points = (view() === told.close && next.close) || next.whole;
      curve.setAttribute('d', pathOf(points, view()));
      place();
    }};
  }

  function show() {
    told = panel.dataset.lanes ? JSON.parse(panel.dataset.lanes) : null;
    draw();
  }
  new MutationObserver(show).observe(panel, {attributes: true, attributeFilter: ['data-lanes']});
  show();
}

/** Where an event is, in words: "25.00 s, set by hand; found at 19.84 s". */
function wordsOf(given, at) {
  if (at === null) return `none found: ${given.words}`;
  const now = `${at.toFixed(2)} s`;
  if (at === given.found) return `${now}, found`;
  return given.found === null ? `${now}, set by hand; none found` : `${now}, set by hand; found at ${given.found.toFixed(2)} s`;
}

function pathOf({t, y}, view) {
  let d = '';
  let isBroken = true;
  for (let i = 0; i < t.length; i += 1) {
    if (y[i] === null) {
      isBroken = true;
      continue;
    }
    d += `${isBroken ? 'M' : 'L'}${(1000 * placeIn(t[i], view)).toFixed(1)} ${(94 - 88 * y[i]).toFixed(1)}`;
    isBroken = false;
  }
  return d;
}
