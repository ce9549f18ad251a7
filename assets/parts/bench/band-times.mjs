/** How long the bench was in each band, how often it changed, and what the deadband has spared. */

import {formatAge, formatClock, formatNumber} from '../numbers.mjs';
import {make, setAttribute, write} from '../page.mjs';
import {bandWords} from '../strip.mjs';

const HEADS = ['Band', 'Time', 'Share', 'Entered'];

export class BandTimes {
  constructor() {
    this._sets = make('div', {class: 'band-sets'});
    this.element = make('section', {class: 'band-times', 'data-role': 'band-times', hidden: ''},
      make('h4', {}, 'Time in each band'), this._sets);
  }

  /**
   * @param {object[]} sets What the bridge tells of the channel: the bands of now, then those of other phases.
   * @param {{unit: string, decimals: number} | null} channel
   */
  show(sets, channel) {
    this.element.hidden = !sets.length || !channel;
    if (this.element.hidden) return;
    while (this._sets.childElementCount > sets.length) this._sets.lastElementChild.remove();
    while (this._sets.childElementCount < sets.length) this._sets.append(setElement());
    sets.forEach((one, i) => showSet(this._sets.children[i], one, channel, sets.length > 1));
  }
}

function setElement() {
  const head = make('tr', {}, ...HEADS.map((words) => make('th', {scope: 'col'}, words)));
  const table = make('table', {class: 'fields'}, make('caption', {class: 'band-set-name'}), make('thead', {}, head), make('tbody'));
  return make('div', {class: 'band-set'}, make('div', {class: 'table-place'}, table), make('p', {class: 'band-summary', 'data-role': 'avoided'}));
}

function showSet(element, set, channel, isNamed) {
  const table = element.querySelector('table');
  write(table.caption, isNamed ? setWords(set) : '');
  const body = table.tBodies[0];
  const {bands} = set;
  while (body.childElementCount > bands.length) body.lastElementChild.remove();
  while (body.childElementCount < bands.length) body.append(bandRow());
  const whole = bands.reduce((sum, {seconds}) => sum + seconds, 0);
  const names = bands.map(({name}) => name);
  bands.forEach((band, i) => {
    const place = bands.length - 1 - i; // the highest on top, as in the strip
    const [name, time, shared, entered] = body.children[place].children;
    write(name, `${bandWords(names, i)}, ${rangeWords(band, channel)}`);
    write(time, formatAge(1000 * band.seconds));
    const share = whole > 0 ? band.seconds / whole : 0;
    const [number, bar] = shared.firstElementChild.children;
    write(number, `${formatNumber(100 * share, 0)} %`);
    bar.firstElementChild.style.width = `${100 * share}%`;
    write(entered, String(band.entries));
  });
  write(element.querySelector('[data-role=avoided]'), summaryWords(set));
}

function bandRow() {
  const bar = make('span', {class: 'share-bar', 'aria-hidden': 'true'}, make('span'));
  const share = make('span', {class: 'share'}, make('span', {class: 'share-number'}), bar);
  return make('tr', {}, make('th', {scope: 'row'}), make('td', {class: 'number'}), make('td', {}, share), make('td', {class: 'number'}));
}

function setWords({phases, on: isOn}) {
  const of = phases.length ? `Bands of the phase ${phases.join(', ')}` : 'The other bands';
  return isOn ? `${of}, which hold now` : of;
}

/** @returns {string} "below 22.0 °C", "22.0 to 25.0 °C", "from 35.0 °C". */
export function rangeWords({low, high}, {unit, decimals}) {
  const [from, to] = [formatNumber(low, decimals), formatNumber(high, decimals)];
  const words = low === null ? `below ${to}` : high === null ? `from ${from}` : `${from} to ${to}`;
  return `${words} ${unit}`.trim();
}

/** @returns {string} What the deadband is worth, for the class to think about. */
export function summaryWords({since_ms: since, changes, edge_changes: passed, plain_edge_changes: plain, avoided}) {
  if (since === null) return 'No value yet.';
  const times = (n) => (n === 1 ? 'once' : `${n} times`);
  const counted = `Counted since ${formatClock(since)}. The band changed ${times(changes)}.`;
  if (avoided <= 0) return `${counted} Without a deadband it would have been the same so far: edge changes avoided: 0.`;
  return `${counted} Edges passed: ${passed}; without a deadband ${plain}. Edge changes avoided: ${avoided}.`;
}
