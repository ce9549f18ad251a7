/** One call of the list: what it is, where, since when, what to do, and what may be done about it here. */

import {arrange} from '../arrange.mjs';
import {ask} from '../asking.mjs';
import {benchWords, kindWords, lineWords, waitWords} from '../calls.mjs';
import {createMark} from '../marks.mjs';
import {formatClock} from '../numbers.mjs';
import {make, setAttribute, write} from '../page.mjs';

const OVER = 'This call is over.';

/**
 * @typedef {{link: import('../link.mjs').Link, told: HTMLElement, benchOf: (number: number) => object}} Shared
 * told: where the page says what came of a press; benchOf: a bench as the bridge describes it.
 */

export class CallItem {
  /**
   * @param {string} id The call's.
   * @param {Shared} shared
   */
  constructor(id, shared) {
    this.id = id;
    this.shared = shared;
    this.call = null;
    /** @type {Map<number, AtBench>} */
    this._rows = new Map();
    this._symbol = make('span', {class: 'call-symbol', 'aria-hidden': 'true'});
    this._words = make('strong', {'data-role': 'call-words'});
    this._kind = make('p', {class: 'soft', 'data-role': 'call-kind'});
    this._advice = make('p', {class: 'call-advice', 'data-role': 'call-advice'});
    this._benches = make('ul', {class: 'call-benches'});
    this._all = this._button('I was at all of them', 'attend-all', () => ({kind: 'attend', call: this.id, bench: null}));
    this._seen = make('button', {type: 'button', 'data-does': 'acknowledge-all'}, 'Acknowledge all');
    this._seen.addEventListener('click', () => this._acknowledgeAll());
    this._acts = make('div', {class: 'acts call-acts'}, this._seen, this._all);
    this.element = make('li', {class: 'call', 'data-call': id, tabindex: '-1'},
      make('div', {class: 'call-what'}, make('h3', {class: 'call-head'}, this._symbol, this._words), this._kind, this._advice),
      make('div', {class: 'call-where'}, this._benches, this._acts));
  }

  _button(words, does, message) {
    const {link, told} = this.shared;
    const button = make('button', {type: 'button', 'data-does': does}, words);
    button.addEventListener('click', () => ask(link, message(), {told, button}));
    return button;
  }

  async _acknowledgeAll() {
    const {link, told} = this.shared;
    let refused = '';
    for (const {alarm} of this.call.benches) {
      if (!alarm || await ask(link, {kind: 'acknowledge', alarm}, {told, button: this._seen})) continue;
      if (!link.isUnlocked) return; // no passcode or no bridge: the others would fare alike
      refused = told.textContent; // that one has gone by itself, say: the others still wait
    }
    if (!refused) return;
    write(told, refused);
    setAttribute(told, 'data-refused', '');
  }

  /**
   * @param {import('../calls.mjs').Call} call
   * @param {number} nowMs Session time.
   */
  show(call, nowMs) {
    this.call = call;
    const {symbol, words} = kindWords(call);
    setAttribute(this.element, 'data-attended', call.attended ? '' : null);
    setAttribute(this.element, 'data-over', null);
    setAttribute(this.element, 'data-priority', call.priority);
    write(this._symbol, symbol);
    write(this._words, sentence(call.words));
    const {name, sentence: whole} = lineWords(call);
    const kind = whole ? `${words}: ${name}` : words; // as the wall's line calls it
    write(this._kind, call.attended ? `${kind}; attended to` : kind);
    write(this._advice, call.advice ? `What to do: ${call.advice}` : '');
    this._showBenches(call.benches, nowMs);
    hideKindly(this._seen, call.benches.filter(({alarm}) => alarm).length < 2, this.element);
    hideKindly(this._all, call.benches.filter(({attended}) => !attended).length < 2, this.element);
  }

  _showBenches(benches, nowMs) {
    const numbers = new Set(benches.map(({bench}) => bench));
    for (const number of this._rows.keys()) if (!numbers.has(number)) this._rows.delete(number);
    const rows = benches.map((at) => {
      const row = this._rows.get(at.bench) ?? new AtBench(this, at.bench);
      this._rows.set(at.bench, row);
      row.show(at, nowMs);
      return row.element;
    });
    const lost = [...this._benches.children].some((one) => !rows.includes(one) && one.contains(document.activeElement));
    if (lost) this.element.focus();
    arrange(this._benches, rows);
  }

  /** The call is over, but somebody is at it: it stays, without its controls, until the focus is elsewhere. */
  showOver() {
    if (this.element.hasAttribute('data-over')) return;
    if (this.element !== document.activeElement) this.element.focus();
    setAttribute(this.element, 'data-over', '');
    write(this._symbol, '✓');
    write(this._kind, OVER);
    for (const button of this.element.querySelectorAll('button')) button.hidden = true;
  }
}

/** A bench of a call. */
class AtBench {
  constructor(item, number) {
    const {benchOf} = item.shared;
    this.item = item;
    this.number = number;
    this._benchOf = benchOf;
    this._mark = make('span', {class: 'call-mark'});
    this._name = make('a', {class: 'call-name', href: `/bench/${number}`, 'data-role': 'call-bench'});
    this._place = make('span', {class: 'soft', 'data-role': 'call-place'});
    this._since = make('span', {'data-role': 'call-since'});
    this._words = make('p', {class: 'call-words', 'data-role': 'call-own-words'});
    this._alarm = null;
    this._acknowledge = item._button('Acknowledge', 'acknowledge', () => ({kind: 'acknowledge', alarm: this._alarm}));
    this._attend = item._button('I was there', 'attend', () => ({kind: 'attend', call: item.id, bench: number}));
    this.element = make('li', {class: 'call-bench', 'data-bench': number},
      make('p', {class: 'call-bench-head'}, this._mark, this._name, this._place),
      make('p', {class: 'call-bench-since'}, this._since), this._words,
      make('div', {class: 'acts call-bench-acts'}, this._acknowledge, this._attend));
  }

  show(at, nowMs) {
    const bench = this._benchOf(this.number);
    const name = benchWords(bench);
    if (this._drawn !== `${bench.shape} ${bench.colour}`) {
      this._drawn = `${bench.shape} ${bench.colour}`;
      this._mark.replaceChildren(createMark(bench));
    }
    write(this._name, name);
    write(this._place, placeOf(bench));
    write(this._since, `${at.attended ? '✓ attended to, ' : ''}for ${waitWords(nowMs - at.since_ms)}, since ${formatClock(at.since_ms)}`
      + (at.first_out ? '; the first of several' : ''));
    const own = at.words && at.words !== this.item.call.words ? sentence(at.words) : '';
    write(this._words, own);
    setAttribute(this.element, 'data-attended', at.attended ? '' : null);
    this._alarm = at.alarm;
    hideKindly(this._acknowledge, !at.alarm, this.item.element);
    hideKindly(this._attend, at.attended, this.item.element);
    setAttribute(this._acknowledge, 'aria-label', `Acknowledge: ${name}`);
    setAttribute(this._attend, 'aria-label', `I was there: ${name}`);
  }
}

/** Hide a button; the focus that it had goes to what it belongs to, not to the top of the page. */
function hideKindly(button, isHidden, owner) {
  if (isHidden && button === document.activeElement) owner.focus();
  button.hidden = isHidden;
}

/** @returns {string} "row 2, place 1"; "" for a bench without a place of its own. */
function placeOf({row, place}) {
  return row && place ? `row ${row}, place ${place}` : '';
}

const sentence = (words) => words.charAt(0).toUpperCase() + words.slice(1);
