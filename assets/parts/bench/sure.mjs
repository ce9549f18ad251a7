/** How sure a value is: its uncertainty and what that is made of, the deadband to suggest, the check of the program. */

import {ask, createTold} from '../asking.mjs';
import {NO_VALUE, formatNumber, formatU} from '../numbers.mjs';
import {make, setAttribute, write} from '../page.mjs';

const COLUMNS = ['Part', 'u', 'Share', 'Evaluated', 'Source'];
const LEGEND = 'u: standard uncertainty. A: from the scatter of the readings; B: from other knowledge, such as a data sheet.';
const CHECKS = {
  right: ['✓', 'The program converts as the lesson expects'], wrong: ['✕', 'The program converts wrongly'],
  undecided: ['?', 'The readings cannot tell yet'], waiting: ['…', 'Waits for more readings'],
  none: ['', 'The board does not print enough to check its program'],
};
const CHECK_ROWS = {expected: 'Expected', found: 'Found', wrong: 'Reads now', tell: 'What would tell'};

export class SurePanel {
  /** @param {import('../link.mjs').Link} link */
  constructor(link) {
    this.link = link;
    this.worth = null;
    this.channel = null;
    this._value = make('p', {class: 'sure-value', 'data-role': 'sure-value'});
    this._build();
    this.show(null, null);
  }

  _build() {
    const head = make('tr', {}, ...COLUMNS.map((words) => make('th', {scope: 'col'}, words)));
    this._unit = head.children[1];
    this._body = make('tbody');
    this._table = make('table', {class: 'fields budget', 'data-role': 'budget'},
      make('caption', {class: 'out-of-sight'}, 'What the uncertainty is made of'), make('thead', {}, head), this._body);
    this._legend = make('p', {class: 'soft sure-legend'}, LEGEND);
    this._none = make('p', {class: 'soft'}, 'What it is made of comes with the first readings.');
    this.element = make('div', {class: 'sure'}, this._value, this._none,
      make('div', {class: 'table-place'}, this._table), this._legend, this._buildDeadband(), this._buildCheck());
  }

  _buildDeadband() {
    this._deadband = make('strong', {'data-role': 'deadband'});
    this._why = make('p', {class: 'soft'});
    this._takeOver = make('button', {type: 'button'}, 'Take over');
    this._told = createTold();
    this._takeOver.addEventListener('click', () => {
      const {channel, deadband} = this.worth;
      const shown = Number(formatU(deadband)) || deadband; // what is taken over is what stands there
      ask(this.link, {kind: 'revise', changes: [[['channel', channel, 'bands', 'deadband'], shown]]}, {told: this._told, button: this._takeOver});
    });
    this._forAll = make('span', {class: 'soft'}, 'for the bands of this channel, at all benches');
    return make('section', {class: 'sure-deadband'}, make('h4', {}, 'Suggested deadband'), make('p', {}, this._deadband), this._why,
      make('div', {class: 'acts'}, this._takeOver, this._forAll), this._told);
  }

  _buildCheck() {
    this._checkHead = make('p', {class: 'check-head'}, make('span', {'aria-hidden': 'true'}), make('strong'));
    this._checkWords = make('p', {class: 'check-words'});
    this._checkRows = {};
    const list = make('dl', {class: 'facts'});
    for (const [key, words] of Object.entries(CHECK_ROWS)) {
      this._checkRows[key] = make('dd', {'data-fact': `check-${key}`}, NO_VALUE);
      list.append(make('dt', {}, words), this._checkRows[key]);
    }
    this._check = make('section', {class: 'sure-check', 'data-role': 'check'},
      make('h4', {}, 'Check of the program’s conversion'), this._checkHead, this._checkWords, list);
    return this._check;
  }

  /**
   * @param {object | null} worth What the bridge tells of the channel; null while unknown.
   * @param {object | null} channel As the bridge describes it.
   */
  show(worth, channel) {
    this.worth = worth;
    this.channel = channel;
    write(this._value, valueWords(worth));
    this._showParts(worth?.parts ?? [], worth?.unit ?? '');
    this._showDeadband();
    this._showCheck(worth?.check ?? null, worth);
  }

  _showParts(parts, unit) {
    this._table.hidden = this._legend.hidden = parts.length === 0;
    this._none.hidden = parts.length > 0;
    write(this._unit, unit ? `u, ${unit}` : 'u');
    while (this._body.childElementCount > parts.length) this._body.lastElementChild.remove();
    while (this._body.childElementCount < parts.length) this._body.append(partRow());
    parts.forEach(({words, u, share, evaluated, source}, i) => {
      const [name, size, part, kind, from] = this._body.children[i].children;
      write(name, words);
      write(size, formatU(u));
      const [number, bar] = part.firstElementChild.children;
      write(number, shareWords(share));
      bar.firstElementChild.style.width = `${100 * Math.min(1, Math.max(0, share))}%`;
      write(kind, evaluated);
      write(from, source);
    });
  }

  _showDeadband() {
    const {worth, channel} = this;
    const known = worth !== null && worth.deadband !== null;
    write(this._deadband, known ? `${formatU(worth.deadband)} ${worth.unit}`.trim() : NO_VALUE);
    write(this._why, worth?.deadband_words ?? '');
    const canTakeOver = known && (channel?.edges.length ?? 0) > 0;
    if (!canTakeOver && this._takeOver === document.activeElement) this._takeOver.closest('[tabindex]')?.focus();
    this._takeOver.hidden = this._forAll.hidden = !canTakeOver;
  }

  _showCheck(check, worth) {
    const [symbol, plain] = CHECKS[check?.state] ?? ['', 'Not known yet'];
    this._check.dataset.state = check?.state ?? '';
    write(this._checkHead.children[0], symbol);
    write(this._checkHead.children[1], plain);
    write(this._checkWords, check?.words ?? '');
    const rows = {
      expected: check?.expected, found: check?.found, tell: check?.would_tell,
      wrong: check ? wrongWords(check.reads_wrong_by, worth) : '',
    };
    for (const [key, words] of Object.entries(rows)) write(this._checkRows[key], words || NO_VALUE);
  }
}

function partRow() {
  const bar = make('span', {class: 'share-bar', 'aria-hidden': 'true'}, make('span'));
  const share = make('span', {class: 'share'}, make('span', {class: 'share-number'}), bar);
  return make('tr', {}, make('th', {scope: 'row'}), make('td', {class: 'number'}), make('td', {}, share), make('td'), make('td'));
}

function shareWords(share) {
  const percent = 100 * share;
  if (percent > 0 && percent < 1) return 'below 1 %';
  return `${formatNumber(percent, 0)} %`;
}

/** @returns {string} "31.24 ± 0.14 °C": as many decimals as the bridge says that mean something. */
export function valueWords(worth) {
  if (!worth || worth.value === null) return `${NO_VALUE} ${worth?.unit ?? ''}`.trim();
  const {value, u, unit, decimals} = worth;
  const about = u === null ? ', uncertainty not known' : '';
  const range = u === null ? '' : ` ± ${formatNumber(u, decimals)}`;
  return `${formatNumber(value, decimals)}${range} ${unit}`.trim() + about;
}

function wrongWords(by, {unit, decimals}) {
  if (by === null) return '';
  if (Number(by.toFixed(decimals)) === 0) return `right to ${formatNumber(0, decimals)} ${unit}`.trim();
  return `${formatNumber(Math.abs(by), decimals)} ${unit}`.trim() + (by > 0 ? ' too high' : ' too low');
}
