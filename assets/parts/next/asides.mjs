/** What stands beside the call list: a flood of alarms in its groups, and the groups that are done. */

import {benchWords, doneWords, floodWords} from '../calls.mjs';
import {createMark} from '../marks.mjs';
import {formatClock} from '../numbers.mjs';
import {make, write} from '../page.mjs';

const FLOOD_NOTE = 'More alarms came than one person can act on, so alike ones stand together. Each is in one group; '
  + 'all are in the list of calls as well.';

/** A flood of alarms, grouped by what they share; not there while none is on. */
export class FloodPanel {
  /** @param {(number: number) => object} benchOf */
  constructor(benchOf) {
    this._benchOf = benchOf;
    this._head = make('h3', {id: 'flood-title', 'data-role': 'flood'});
    this._groups = make('ul', {class: 'flood-groups'});
    this.element = make('section', {class: 'panel next-flood', 'aria-labelledby': 'flood-title', tabindex: '-1', hidden: ''},
      this._head, make('p', {class: 'soft'}, FLOOD_NOTE), this._groups);
  }

  /** @param {object | null} flood As the bridge tells it. */
  show(flood) {
    const told = floodWords(flood, (number) => benchWords(this._benchOf(number)));
    this.element.hidden = !told;
    if (!told) return;
    write(this._head, `! ${told.head}`);
    rebuild(this._groups, flood.groups.map((group, i) => make('li', {class: 'flood-group'},
      make('strong', {}, told.groups[i]), make('span', {class: 'soft'}, ` ${callsOf(group)}`),
      make('ul', {class: 'bench-marks'}, ...group.benches.map((number) => benchLink(this._benchOf(number)))))));
  }
}

/** An alarm that went and came again called more than once; of one alone its group's words say it. */
function callsOf({by, n_calls: calls, alarms}) {
  return calls === alarms.length || (by === 'bench' && alarms.length === 1) ? '' : `called ${calls} times`;
}

/** The groups that said that they are done. */
export class DonePanel {
  /** @param {(number: number) => object} benchOf */
  constructor(benchOf) {
    this._benchOf = benchOf;
    this._words = make('p', {'data-role': 'done'});
    this._list = make('ul', {class: 'bench-marks'});
    this.element = make('section', {class: 'panel next-done', 'aria-labelledby': 'done-title', tabindex: '-1'},
      make('h3', {id: 'done-title'}, 'Done'), this._words, this._list);
  }

  /**
   * @param {{bench: number, since_ms: number}[]} done
   * @param {number} nBenches
   */
  show(done, nBenches) {
    write(this._words, done.length ? `✓ ${doneWords(done.length, nBenches)}` : 'No group said so yet.');
    rebuild(this._list, done.map(({bench, since_ms: ms}) =>
      benchLink(this._benchOf(bench), `since ${formatClock(ms)}`)));
  }
}

function benchLink(bench, more = '') {
  const item = make('li', {}, createMark(bench), make('a', {href: `/bench/${bench.number}`}, benchWords(bench)));
  if (more) item.append(make('span', {class: 'soft'}, more));
  return item;
}

/** @type {WeakMap<Element, string>} What a list shows. */
const shown = new WeakMap();

/** Make a list anew when what it tells changed; a link in it that has the focus has it again. */
function rebuild(list, items) {
  const text = items.map(({outerHTML}) => outerHTML).join('');
  if (shown.get(list) === text) return;
  shown.set(list, text);
  const href = list.contains(document.activeElement) ? document.activeElement.getAttribute('href') : null;
  list.replaceChildren(...items);
  if (href) ([...list.querySelectorAll('a')].find((one) => one.getAttribute('href') === href) ?? list.closest('section')).focus();
}
