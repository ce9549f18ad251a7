/** The journal's transitions as a table, the newest on top; a bounded number of rows, more on request. */

import {arrange} from '../arrange.mjs';
import {eventWords, measured} from '../alarm-words.mjs';
import {formatClock} from '../numbers.mjs';
import {make, write} from '../page.mjs';

const ROWS_AT_ONCE = 200;
const HEADS = ['Time', 'Bench', 'Alarm', 'What happened', 'Value', 'Limit', 'Priority', 'Who', 'Why'];
const AFTER = {
  'unacknowledged': 'not yet acknowledged', 'returned unacknowledged': 'not yet acknowledged',
  'latched unacknowledged': 'held, not yet acknowledged', 'latched acknowledged': 'held until it is reset',
};

export class JournalTable {
  /**
   * @param {(bench: number) => string} nameOf
   * @param {(bench: number, channel: string) => {unit: string, decimals: number}} channelOf
   */
  constructor(nameOf, channelOf) {
    this.nameOf = nameOf;
    this.channelOf = channelOf;
    this._nRows = ROWS_AT_ONCE;
    /** @type {Map<number, HTMLElement>} By the entry's number; only what is shown. */
    this._rows = new Map();
    this._body = make('tbody');
    const heads = HEADS.map((words) => make('th', {scope: 'col'}, words));
    this._table = make('table', {class: 'fields journal-table', 'data-role': 'journal'},
      make('caption', {class: 'out-of-sight'}, 'Transitions of alarms, the newest first'), make('thead', {}, make('tr', {}, ...heads)), this._body);
    this._none = make('p', {class: 'soft', 'data-role': 'journal-none'});
    this._more = make('button', {type: 'button', hidden: ''});
    this._more.addEventListener('click', () => {
      this._nRows += ROWS_AT_ONCE;
      this.show(this._shown, '');
    });
    this._shown = [];
    this.element = make('div', {class: 'journal-rows'}, this._none, make('div', {class: 'table-place'}, this._table), this._more);
  }

  /** Another choice: from the top again. */
  restart() {
    this._nRows = ROWS_AT_ONCE;
  }

  /**
   * @param {import('./entries.mjs').Entry[]} entries The newest first.
   * @param {string} none What is said without any.
   */
  show(entries, none) {
    this._shown = entries;
    const shown = entries.slice(0, this._nRows);
    const numbers = new Set(shown.map(({number}) => number));
    for (const number of this._rows.keys()) if (!numbers.has(number)) this._rows.delete(number);
    for (const entry of shown) if (!this._rows.has(entry.number)) this._rows.set(entry.number, this._row(entry));
    arrange(this._body, shown.map(({number}) => this._rows.get(number)));
    this._table.hidden = !entries.length;
    write(this._none, entries.length ? '' : none);
    const left = entries.length - shown.length;
    this._more.hidden = left <= 0;
    write(this._more, `Show ${Math.min(left, ROWS_AT_ONCE)} older ones`);
  }

  _row(entry) {
    const {bench, channel, limit, kind, at, event, state, before, value, who, reason, untilMs, priority, message, ms} = entry;
    const {unit, decimals} = this.channelOf(bench, channel);
    const link = make('a', {href: `/bench/${bench}`}, this.nameOf(bench));
    const until = untilMs === null ? '' : `until ${formatClock(untilMs)}`;
    const after = state === before ? `while ${state}` : AFTER[state] ?? '';
    const what = [eventWords(event), after].filter(Boolean).join(', ');
    const cells = [
      formatClock(ms), link, [channel, limit].filter(Boolean).join(', '), what, measured(value, kind, unit, decimals),
      measured(at, kind, unit, decimals), priority ?? '', who, [reason, until].filter(Boolean).join(', ') || (event === 'rise' ? message : ''),
    ];
    const row = make('tr', {}, ...cells.map((cell, i) => make('td', {'data-head': HEADS[i]}, cell)));
    if (event === 'rise' || event === 're-alarm') row.dataset.rise = '';
    return row;
  }
}
