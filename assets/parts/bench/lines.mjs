/** A board's lines as they arrive, newest at the bottom, each with its time and what became of it. Bounded. */

import {make, setAttribute, write} from '../page.mjs';
import {clockWords} from './figure.mjs';
import {visiblePieces} from '../visible.mjs';

const MOST_ROWS = 200;
const NEAR_END_PX = 24;

/** Sign and words for what became of a line; the words are the bridge's. */
const SIGNS = {'read': '✓', 'set aside': '✕', 'text': '¶', 'waiting': '…'};
const MEANING = {
  'read': 'read', 'set aside': 'set aside', 'text': 'text without a number', 'waiting': 'waits until its layout is known',
};

export class LinesPanel {
  constructor() {
    this._rows = make('ol', {class: 'lines-rows', 'aria-label': 'Lines of the board'});
    this._place = make('div', {class: 'lines-place', tabindex: '0', role: 'group', 'aria-label': 'Lines, newest at the bottom'},
      this._rows);
    this._hold = make('button', {type: 'button', 'aria-pressed': 'false'}, 'Hold still');
    this._words = make('span', {class: 'lines-words'}, 'No line has come yet.');
    this.element = make('div', {class: 'lines'}, make('div', {class: 'lines-tools'}, this._hold, this._words), this._place);
    /** @type {Map<number, HTMLElement>} By line number, in order; at most MOST_ROWS. */
    this._byNumber = new Map();
    this._held = [];
    this._isHeld = false;
    this._lastNumber = 0;
    this._hold.addEventListener('click', () => this._toggleHold());
  }

  /** Forget all: the next lines begin anew. */
  restart() {
    this._rows.replaceChildren();
    this._byNumber.clear();
    this._held = [];
    this._lastNumber = 0;
    this._word();
  }

  /** @param {[number, number, string, string, string][]} lines [number, t_ms, text, flaws, outcome] */
  take(lines) {
    if (!lines.length) return;
    if (this._isHeld) {
      this._held = [...this._held, ...lines].slice(-MOST_ROWS);
      this._word();
      return;
    }
    const {scrollTop, clientHeight, scrollHeight} = this._place;
    const isAtEnd = scrollTop + clientHeight >= scrollHeight - NEAR_END_PX;
    for (const line of lines) this._takeLine(line);
    while (this._rows.childElementCount > MOST_ROWS) this._forgetFirst();
    if (isAtEnd) this._place.scrollTop = this._place.scrollHeight;
    this._word();
  }

  _takeLine([number, ms, text, flaws, outcome]) {
    const known = this._byNumber.get(number);
    if (known) {
      showOutcome(known, flaws, outcome); // it waited and has been read since
      return;
    }
    if (number < this._lastNumber) return; // forgotten long ago
    const nMissed = this._lastNumber ? number - this._lastNumber - 1 : 0;
    if (nMissed > 0) {
      const words = `${nMissed} ${nMissed === 1 ? 'line' : 'lines'} came too quickly to be shown`;
      this._rows.append(make('li', {class: 'lines-missed'}, `⋮ ${words}`));
    }
    const row = lineRow(number, ms, text, flaws, outcome);
    this._byNumber.set(number, row);
    this._lastNumber = number;
    this._rows.append(row);
  }

  _forgetFirst() {
    const first = this._rows.firstElementChild;
    if (first.dataset.line) this._byNumber.delete(Number(first.dataset.line));
    first.remove();
  }

  _toggleHold() {
    this._isHeld = !this._isHeld;
    setAttribute(this._hold, 'aria-pressed', String(this._isHeld));
    write(this._hold, this._isHeld ? 'Go on' : 'Hold still');
    if (!this._isHeld) {
      const held = this._held;
      this._held = [];
      this._place.scrollTop = this._place.scrollHeight;
      this.take(held);
    }
    this._word();
  }

  _word() {
    if (this._isHeld) write(this._words, `${this._held.length} newer ${this._held.length === 1 ? 'line waits' : 'lines wait'}`);
    else write(this._words, this._lastNumber ? `Newest: line ${this._lastNumber}` : 'No line has come yet.');
  }
}

function lineRow(number, ms, text, flaws, outcome) {
  const words = make('bdi', {class: 'line-text', dir: 'ltr', title: text});
  for (const piece of visiblePieces(text)) {
    words.append(piece.isSign ? make('span', {class: 'line-sign'}, piece.words) : piece.words);
  }
  if (text === '') words.append(make('span', {class: 'line-sign'}, '(empty line)'));
  const row = make('li', {class: 'line', 'data-line': number},
    make('span', {class: 'line-time', title: `Line ${number}`}, clockWords(ms, true)), words, make('span', {class: 'line-outcome'}));
  showOutcome(row, flaws, outcome);
  return row;
}

function showOutcome(row, flaws, outcome) {
  row.dataset.outcome = outcome;
  const words = MEANING[outcome] ?? outcome;
  write(row.lastElementChild, `${SIGNS[outcome] ?? '·'} ${words}${flaws ? `: ${flaws}` : ''}`);
}
