/** A bench's alarms: those that stand, with what to do about them, and what they did in the stretch of time shown. */

import {alarmWords} from '../attention.mjs';
import {formatClock, formatNumber} from '../numbers.mjs';
import {make, setAttribute, write} from '../page.mjs';
import {ask, createTold} from '../asking.mjs';

const MOST_EVENTS = 50;
const STATES = {
  'unacknowledged': ['!', 'stands, not yet acknowledged'],
  'acknowledged': ['✓', 'stands, acknowledged'],
  'returned unacknowledged': ['!', 'has returned, not yet acknowledged'],
};
const EVENTS = {rise: '▲ rose', return: '▽ returned', acknowledge: '✓ acknowledged'};

export class AlarmsPanel {
  /**
   * @param {import('../link.mjs').Link} link
   * @param {(channel: string) => {unit: string, decimals: number}} channelOf
   */
  constructor(link, channelOf) {
    this.link = link;
    this.channelOf = channelOf;
    /** @type {Map<string, object>} Not normal, by id; bounded by the lesson's limits. */
    this.standing = new Map();
    /** @type {Map<string, HTMLElement>} */
    this._items = new Map();
    this._list = make('ul', {class: 'alarms-standing', 'data-role': 'alarm'});
    this._none = make('p', {class: 'soft'}, 'No alarm stands.');
    this._told = createTold();
    this._log = make('ol', {class: 'alarms-log', 'data-role': 'alarms-log'});
    this._logHead = make('h4', {}, 'In the stretch of the history');
    this.element = make('div', {}, this._none, this._list, this._told, this._logHead, this._log);
    this.showLog([]);
  }

  restart() {
    this.standing.clear();
    this._show();
  }

  /** @param {object} alarm As the bridge tells it. */
  take(alarm) {
    if (alarm.state === 'normal') this.standing.delete(alarm.id);
    else this.standing.set(alarm.id, alarm);
    this._show();
  }

  /** @param {object[]} alarms Transitions, old to new. */
  showLog(alarms) {
    const events = alarms.slice(-MOST_EVENTS).toReversed();
    this._logHead.hidden = this._log.hidden = !events.length;
    while (this._log.childElementCount > events.length) this._log.lastElementChild.remove();
    while (this._log.childElementCount < events.length) this._log.append(make('li'));
    events.forEach((alarm, i) => write(this._log.children[i], this._eventWords(alarm)));
  }

  _eventWords({event, limit, at, channel, value, t_ms: ms, who}) {
    const {unit, decimals} = this.channelOf(channel);
    const by = event === 'acknowledge' && who ? ` by ${who}` : '';
    const number = value === null ? '' : `, at ${formatNumber(value, decimals)} ${unit}`;
    return `${formatClock(ms)} ${EVENTS[event] ?? event}${by}: ${channel}, ${limit} limit ${formatNumber(at, decimals)} ${unit}${number}`;
  }

  _show() {
    for (const [id, item] of this._items) {
      if (this.standing.has(id)) continue;
      if (item.contains(document.activeElement)) this._list.parentElement.querySelector('h4')?.focus();
      item.remove();
      this._items.delete(id);
    }
    for (const alarm of this.standing.values()) {
      let item = this._items.get(alarm.id);
      if (!item) {
        item = this._make(alarm.id);
        this._items.set(alarm.id, item);
        this._list.append(item);
      }
      this._fill(item, alarm);
    }
    this._none.hidden = this.standing.size > 0;
  }

  _make(id) {
    const button = make('button', {type: 'button', class: 'chief'}, 'Acknowledge');
    button.addEventListener('click', () => ask(this.link, {kind: 'acknowledge', alarm: id}, {told: this._told, button}));
    return make('li', {class: 'alarm'},
      make('p', {class: 'alarm-head'}, make('span', {class: 'alarm-symbol', 'aria-hidden': 'true'}), make('strong')),
      make('p', {class: 'alarm-state'}), make('p', {class: 'alarm-words'}), make('p', {class: 'alarm-advice'}), button);
  }

  _fill(item, alarm) {
    const channel = this.channelOf(alarm.channel);
    const [symbol, state] = STATES[alarm.state] ?? ['!', alarm.state];
    const number = formatNumber(alarm.value, channel.decimals);
    const [head, stateLine, words, advice, button] = item.children;
    item.dataset.state = alarm.state;
    write(head.children[0], symbol);
    write(head.children[1], alarmWords(alarm, channel, true));
    const who = alarm.state === 'acknowledged' && alarm.who ? ` by ${alarm.who}` : '';
    write(stateLine, `${state}${who}; ${number} ${channel.unit} at ${formatClock(alarm.t_ms)}; priority ${alarm.priority}`);
    write(words, alarm.words);
    write(advice, alarm.advice ? `What to do: ${alarm.advice}` : '');
    if (alarm.state === 'acknowledged' && button === document.activeElement) item.closest('section')?.focus();
    button.hidden = alarm.state === 'acknowledged';
    setAttribute(button, 'aria-label', `Acknowledge: ${alarmWords(alarm, channel, true)}`);
  }
}
