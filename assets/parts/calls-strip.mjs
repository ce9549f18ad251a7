/** The line on the wall that says where to go next: the first calls in their order, a flood, who is done. */

import {
  NO_CALLS, benchWords, doneWords, floodWords, kindWords, lineWords, shortBenchWords, shortWhereWords, waitWords,
  waitingBenches, waitingCalls, whereWords,
} from './calls.mjs';
import {createMark} from './marks.mjs';
import {make, setAttribute, write} from './page.mjs';

const MOST_SHORT = 6; // further calls that are told in a few words; the others are counted
const MOST_MARKS = 4; // of one call
const SHORTEST = 2;
const NOBODY = 'Nobody waits.';

export class CallsStrip {
  /** @param {HTMLElement} root Empty; its room stays the same whatever is told, so that no card moves. */
  constructor(root) {
    this.root = root;
    this.calls = NO_CALLS;
    this.flood = null;
    /** @type {Map<number, object>} */
    this.benches = new Map();
    this._first = null; // the call that is told whole
    this._nowMs = 0;
    this._told = ''; // the words that grow old with time
    this._label = make('span', {class: 'calls-label'}, 'Next:');
    this._marks = make('span', {class: 'calls-marks'});
    this._where = make('a', {class: 'calls-where', 'data-role': 'next-bench'});
    this._what = make('span', {class: 'calls-what', 'data-role': 'next-words'});
    this._sentence = make('span', {class: 'calls-sentence', 'data-role': 'next-sentence'});
    this._since = make('span', {class: 'calls-since', 'data-role': 'next-since'});
    this._next = make('p', {class: 'calls-next', 'data-role': 'next-call'},
      this._label, this._marks, this._where, this._what, this._since, this._sentence);
    this._short = make('ul', {class: 'calls-short', 'aria-label': 'Then'});
    this._flood = make('p', {class: 'calls-flood', 'data-role': 'flood'});
    this._done = make('p', {class: 'calls-done', 'data-role': 'done'});
    this._link = make('a', {class: 'calls-link', href: '/next', 'data-role': 'all-calls'});
    this.tools = make('span', {class: 'calls-tools'});
    root.replaceChildren(this._next, this._short, this._flood, this._done, this._link, this.tools);
    new ResizeObserver(() => this._fit()).observe(root);
    this._show();
  }

  /** @param {object[]} benches As the bridge describes them. */
  describe(benches) {
    this.benches = new Map(benches.map((one) => [one.number, one]));
    this._show();
  }

  /** @param {import('./calls.mjs').Calls} calls */
  take(calls) {
    this.calls = calls;
    this._show();
  }

  /** @param {object | null} flood As the bridge tells it. */
  takeFlood(flood) {
    this.flood = flood;
    this._show();
  }

  /** Have the ages told anew. @param {number} nowMs Session time. */
  tick(nowMs) {
    this._nowMs = nowMs;
    if (this._sinceWords() !== this._told) this._show();
  }

  _sinceWords() {
    const [first] = waitingCalls(this.calls);
    return first ? waitWords(this._nowMs - first.since_ms) : '';
  }

  nameOf(number) {
    return benchWords(this.benches.get(number) ?? {number, name: `Bench ${number}`});
  }

  _show() {
    const waiting = waitingCalls(this.calls);
    const flood = floodWords(this.flood, (number) => this.nameOf(number));
    const done = doneWords(this.calls.done.length, this.benches.size);
    setAttribute(this.root, 'data-calm', waiting.length || flood ? null : '');
    setAttribute(this.root, 'data-flood', flood ? '' : null);
    this._showFirst(waiting[0] ?? null);
    write(this._flood, flood ? `${flood.head}: ${flood.groups.join(', ')}` : '');
    this._flood.title = this._flood.textContent;
    write(this._done, done ? `✓ ${done}` : '');
    this._showShort(flood ? [] : waiting.slice(1, 1 + MOST_SHORT));
    this._nBehind = waiting.length + this.calls.n_more - 1;
    this._fit();
  }

  _showFirst(call) {
    this._told = this._sinceWords();
    this._first = call;
    if (!call && this._where === document.activeElement) this._link.focus(); // what had the focus goes away
    this._where.hidden = !call;
    const {name, sentence} = call ? lineWords(call) : {name: NOBODY, sentence: ''};
    write(this._what, call ? `${kindWords(call).symbol} ${name}` : name);
    write(this._sentence, sentence);
    write(this._since, this._told);
    setAttribute(this._what, 'title', call?.words ?? null);
    if (call) setAttribute(this._where, 'href', `/bench/${waitingBenches(call)[0].bench}`);
    this._shorten(0);
  }

  /** Tell the first call at full length (0), with fewer words (1), or with no more than what and where (2). */
  _shorten(level) {
    const call = this._first;
    const isShort = level > 0;
    this._label.hidden = this._since.hidden = !call || level > 1;
    this._marks.replaceChildren(...(call ? this._marksOf(waitingBenches(call).slice(0, isShort ? 1 : MOST_MARKS)) : []));
    if (!call) return;
    const nameOf = (number) => this.nameOf(number);
    write(this._where, (isShort ? shortWhereWords : whereWords)(call, nameOf));
    setAttribute(this._where, 'title', whereWords(call, nameOf));
  }

  _showShort(calls) {
    this._short.replaceChildren(...calls.map((call) => {
      const at = waitingBenches(call);
      const more = at.length > 1 ? ` + ${at.length - 1}` : '';
      const bench = this.benches.get(at[0].bench) ?? {number: at[0].bench, name: `Bench ${at[0].bench}`};
      return make('li', {'data-role': 'short-call', title: call.words}, ...this._marksOf(at.slice(0, 1)),
        make('span', {class: 'calls-short-words'}, `${shortBenchWords(bench)}${more}`),
        make('strong', {'aria-hidden': 'true'}, kindWords(call).symbol), make('span', {class: 'out-of-sight'}, call.words));
    }));
  }

  _marksOf(at) {
    const known = at.map(({bench}) => this.benches.get(bench)).filter(Boolean);
    return known.map((bench) => createMark(bench));
  }

  /**
   * The first call is told whole, shorter where that does not fit; then as many others as there is room for, the rest is counted;
   * then the sentence of the first, if it still fits.
   */
  _fit() {
    const items = [...this._short.children];
    const put = (n) => {
      items.forEach((item, i) => { item.hidden = i >= n; });
      const nHidden = Math.max(0, this._nBehind - n);
      write(this._link, nHidden ? `+ ${nHidden} more` : 'All calls');
    };
    const fits = () => this.root.scrollWidth <= this.root.clientWidth;
    this.root.toggleAttribute('data-fitting', true); // nothing shrinks while it is measured
    this._sentence.hidden = true;
    put(0);
    let level = 0;
    for (this._shorten(level); level < SHORTEST && !fits(); this._shorten(level)) level += 1;
    let n = items.length;
    for (put(n); n > 0 && !fits(); put(n)) n -= 1;
    this._sentence.hidden = this._sentence.textContent === '';
    if (!fits()) this._sentence.hidden = true;
    this.root.toggleAttribute('data-fitting', false);
  }
}
