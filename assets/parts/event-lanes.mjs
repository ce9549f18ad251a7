/**
 * All benches' lanes below each other, with one time axis.
 *
 * The field of the bench holds its event: a line that was moved writes there, and what comes back from the
 * server is drawn.
 */

import {EventLane} from './event-lane.mjs';
import {placeIn, ticksOf} from './lane-times.mjs';
import {make, setAttribute, write} from './page.mjs';

const HELP = 'Drag a line to where it should be, or step to it with Tab and move it with the arrow keys '
  + '(with Shift ten times as far; Delete: back to what was found). Each course has a height of its own.';

/**
 * @param {HTMLElement} panel Empty; bears the lanes as JSON in `data-lanes`, "" for none.
 * @param {(bench: number, seconds: number | null) => void} set Puts an event where a person wants it; null: as found.
 */
export function eventLanes(panel, set) {
  const lanes = new Map(); // by bench
  let told = null;
  let isClose = true;
  const heading = make('h3');
  const close = make('button', {type: 'button', class: 'lanes-close'}, 'Closer: the time about the events');
  const list = make('ol', {class: 'lanes-list'});
  const axis = make('div', {class: 'lane-axis', 'aria-hidden': 'true'});
  const said = make('p', {class: 'lanes-said', role: 'status'});
  panel.append(make('div', {class: 'lanes-head'}, heading, close), list, axis, make('p', {class: 'soft'}, HELP), said);
  close.addEventListener('click', () => {
    isClose = !isClose;
    draw();
  });

  const room = {
    kind: () => told.kind,
    whole: () => told.whole,
    view: () => (isClose && told.close) || told.whole,
    moved(bench, seconds, words) {
      write(said, words);
      set(bench, seconds);
    },
  };

  function draw() {
    panel.hidden = told === null;
    if (told === null) return;
    write(heading, `When the ${told.kind} was at each bench`);
    close.hidden = !told.close;
    setAttribute(close, 'aria-pressed', String(isClose));
    drawLanes();
    axis.replaceChildren(...ticksOf(...room.view()).map(tick));
  }

  function drawLanes() {
    const benches = new Set(told.lanes.map(({bench}) => bench));
    for (const [bench, lane] of lanes) {
      if (benches.has(bench)) continue;
      lane.row.remove();
      lanes.delete(bench);
    }
    for (const given of told.lanes) {
      if (!lanes.has(given.bench)) lanes.set(given.bench, new EventLane(given.bench, room));
      const lane = lanes.get(given.bench);
      if (lane.row.parentNode !== list) list.append(lane.row); // one that stays keeps the focus
      lane.show(given, (isClose && given.close) || given.whole);
    }
  }

  function tick({seconds, words}) {
    const one = make('span', {}, words);
    one.style.left = `${100 * placeIn(seconds, room.view())}%`;
    return one;
  }

  function take() {
    told = panel.dataset.lanes ? JSON.parse(panel.dataset.lanes) : null;
    draw();
  }
  new MutationObserver(take).observe(panel, {attributes: true, attributeFilter: ['data-lanes']});
  take();
}
