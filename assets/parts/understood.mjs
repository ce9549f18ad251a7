/**
 * How a board's text is understood: in words, how sure, its fields; a doubt asked with the alternatives side by side, each
 * with the same lines as it would read them.
 */

import {ask, createTold} from './asking.mjs';
import {NO_VALUE} from './numbers.mjs';
import {make, setAttribute, write} from './page.mjs';
import {visiblePieces} from './visible.mjs';

const SURE = {
  lesson: ['✓', 'The lesson names the layout'], sure: ['✓', 'Learned'], doubtful: ['?', 'In doubt: which way is right?'],
  unknown: ['…', 'Not known yet'],
};
const ROLES = {count: 'count', volts: 'volts', value: 'value in its unit', clock: 'the board’s clock', index: 'running index'};
const KEPT = 'A replay reads the text as the session did. To have it read otherwise, name the layout in a lesson and replay with that.';
const COLUMNS = ['Field', 'What it is', 'Unit', 'Newest'];

/**
 * @typedef {{words: string, sure: 'lesson' | 'sure' | 'doubtful' | 'unknown', doubt: string,
 *     fields: {name: string, role: string, unit: string, text: string}[], samples: string[],
 *     alternatives: {words: string, columns: string[], rows: string[][]}[]}} Text As the bridge tells it.
 */

export class Understood {
  /**
   * @param {import('./link.mjs').Link} link
   * @param {number} bench
   */
  constructor(link, bench) {
    this.link = link;
    this.bench = bench;
    this._told = createTold();
    this._head = make('p', {class: 'understood-head'}, make('span', {'aria-hidden': 'true'}), make('strong'));
    this._words = make('p', {class: 'understood-words'});
    this._doubt = make('p', {class: 'understood-doubt'});
    this._ways = make('div', {class: 'ways', role: 'group', 'aria-label': 'Ways to read the text'});
    this._body = make('tbody');
    this._table = make('table', {class: 'fields', 'data-role': 'understood-fields'},
      make('thead', {}, make('tr', {}, ...COLUMNS.map((words) => make('th', {scope: 'col'}, words)))), this._body);
    const again = make('button', {type: 'button', 'data-does': 'relearn'}, 'Learn again');
    again.addEventListener('click', () => ask(link, {kind: 'relearn', bench}, {told: this._told, button: again}));
    this.acts = make('div', {class: 'acts'}, again);
    this._kept = make('p', {class: 'soft', hidden: ''}, KEPT);
    this._canChoose = true;
    this.element = make('div', {class: 'understood', 'data-role': 'understood'}, this._head, this._words, this._doubt, this._ways,
      make('div', {class: 'table-place'}, this._table), this.acts, this._kept, this._told);
    this.show(null);
  }

  /** @param {'live' | 'replay'} source A kept session is understood as it was: there is nothing to learn or to choose. */
  setSource(source) {
    this._canChoose = source === 'live';
    this.acts.hidden = !this._canChoose;
    this._showKept();
    for (const way of this._ways.children) way.lastElementChild.hidden = !this._canChoose;
  }

  /** @param {Text | null} text null while nothing is told. */
  show(text) {
    const {words, sure, doubt, fields, alternatives} = text ?? {words: '', sure: 'unknown', doubt: '', fields: [], alternatives: []};
    const [symbol, sureWords] = SURE[sure] ?? SURE.unknown;
    setAttribute(this.element, 'data-sure', sure);
    write(this._head.children[0], symbol);
    write(this._head.children[1], sureWords);
    write(this._words, seen(words));
    write(this._doubt, seen(doubt));
    this._showWays(alternatives);
    this._table.hidden = fields.length === 0;
    fill(this._body, fields.length, fieldRow);
    fields.forEach(({name, role, unit, text: printed}, i) => {
      const cells = this._body.children[i].children;
      [seen(name), ROLES[role] ?? NO_VALUE, seen(unit) || NO_VALUE, seen(printed)].forEach((one, j) => write(cells[j], one));
    });
  }

  _showKept() {
    this._kept.hidden = this._canChoose || this._ways.hidden;
  }

  /** New lines change the cells of a way; its button stays where it is, with the focus on it. */
  _showWays(alternatives) {
    if (!alternatives.length && this._ways.contains(document.activeElement)) this.acts.firstElementChild.focus();
    this._shown = alternatives.map(({words}) => words);
    this._ways.hidden = alternatives.length === 0;
    this._showKept();
    fill(this._ways, alternatives.length, (i) => this._wayOf(i));
    alternatives.forEach(({words, columns, rows}, i) => {
      const [head, place, button] = this._ways.children[i].children;
      write(head, seen(words));
      button.hidden = !this._canChoose;
      setAttribute(button, 'aria-label', `Read it this way: ${seen(words)}`);
      const [top, body] = place.firstElementChild.children;
      fill(top.firstElementChild, columns.length, () => make('th', {scope: 'col'}));
      columns.forEach((name, j) => write(top.firstElementChild.children[j], seen(name)));
      fill(body, rows.length, () => make('tr'));
      rows.forEach((row, j) => {
        fill(body.children[j], row.length, () => make('td', {class: 'fixed'}));
        row.forEach((cell, k) => write(body.children[j].children[k], seen(cell)));
      });
    });
  }

  _wayOf(i) {
    const button = make('button', {type: 'button', class: 'chief'}, 'Read it this way');
    button.addEventListener('click', () =>
      ask(this.link, {kind: 'choose_layout', bench: this.bench, alternative: i, words: this._shown[i]}, {told: this._told, button}));
    const table = make('table', {class: 'fields'}, make('thead', {}, make('tr')), make('tbody'));
    return make('section', {class: 'way-to-read'}, make('h4'),
      make('div', {class: 'table-place', tabindex: '0', role: 'group', 'aria-label': 'The same lines, read this way'}, table), button);
  }
}

/** The newest raw lines, as they came. */
export class Samples {
  constructor() {
    this._none = make('p', {class: 'soft'}, 'No line has come yet.');
    this._list = make('ol', {class: 'samples', 'data-role': 'samples', 'aria-label': 'Newest lines', tabindex: '0'});
    this.element = make('div', {class: 'samples-place'}, this._none, this._list);
    this.show([]);
  }

  /** @param {string[]} samples Old to new. */
  show(samples) {
    this._none.hidden = samples.length > 0;
    this._list.hidden = samples.length === 0;
    fill(this._list, samples.length, () => make('li', {}, make('bdi', {class: 'fixed', dir: 'ltr'})));
    samples.forEach((line, i) => write(this._list.children[i].firstElementChild, line === '' ? '(empty line)' : seen(line)));
  }
}

function fieldRow() {
  return make('tr', {}, make('th', {scope: 'row'}), make('td'), make('td'), make('td', {class: 'fixed'}));
}

const seen = (text) => visiblePieces(text).map(({words}) => words).join('');

/** As many children as wanted; those that are missing are made. */
function fill(parent, n, makeOne) {
  while (parent.childElementCount > n) parent.lastElementChild.remove();
  while (parent.childElementCount < n) parent.append(makeOne(parent.childElementCount));
}
