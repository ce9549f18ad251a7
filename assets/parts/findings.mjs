/** What stands at a bench: each finding with what, since when, the evidence and what to try; faults before hints. */

import {ask, createTold} from './asking.mjs';
import {ofWeight} from './attention.mjs';
import {formatClock} from './numbers.mjs';
import {make, setAttribute, write} from './page.mjs';

const WEIGHTS = {fault: ['✕', 'Fault'], hint: ['?', 'Hint']};
const NONE = 'No finding.';

/**
 * @typedef {{kind: string, channel: string, weight: 'fault' | 'hint', since_ms: number, words: string, evidence: string,
 *     remedy: string, try_baud: number | null}} Finding As the bridge tells it.
 */

export class FindingsList {
  /**
   * @param {import('./link.mjs').Link} link
   * @param {number} bench
   * @param {{isBrief?: boolean}} [look] isBrief: without the evidence, where many benches share a page.
   */
  constructor(link, bench, {isBrief = false} = {}) {
    this.link = link;
    this.bench = bench;
    this.isBrief = isBrief;
    /** @type {Finding[]} All that stand; bounded by the kinds that there are. */
    this.standing = [];
    /** @type {Map<string, HTMLElement>} */
    this._items = new Map();
    this._canTry = true;
    this._none = make('p', {class: 'soft'}, NONE);
    this._list = make('ul', {class: 'findings-list', 'data-role': 'findings'});
    this._told = createTold();
    this.element = make('div', {class: 'findings'}, this._none, this._list, this._told);
  }

  /** @param {'live' | 'replay'} source A replay has no board to read at another rate. */
  setSource(source) {
    this._canTry = source === 'live';
    this._show();
  }

  /**
   * @param {Finding[]} findings All that stand now.
   * @returns {Finding[]} The faults among them that did not stand before.
   */
  take(findings) {
    const known = new Set(this.standing.map(nameOf));
    this.standing = findings;
    this._show();
    return findings.filter((one) => one.weight === 'fault' && !known.has(nameOf(one)));
  }

  _show() {
    const sorted = [...ofWeight(this.standing, 'fault'), ...ofWeight(this.standing, 'hint')];
    const names = new Set(sorted.map(nameOf));
    for (const [name, item] of this._items) {
      if (names.has(name)) continue;
      if (item.contains(document.activeElement)) item.closest('[tabindex]')?.focus(); // what had the focus goes away
      item.remove();
      this._items.delete(name);
    }
    sorted.forEach((finding, i) => {
      const item = this._itemOf(nameOf(finding));
      if (this._list.children[i] !== item) this._list.insertBefore(item, this._list.children[i] ?? null);
      this._fill(item, finding);
    });
    this._none.hidden = sorted.length > 0;
  }

  _itemOf(name) {
    let item = this._items.get(name);
    if (!item) {
      const button = make('button', {type: 'button', 'data-does': 'try-baud'});
      button.addEventListener('click', () => {
        const baud = Number(button.dataset.baud);
        ask(this.link, {kind: 'try_baud', bench: this.bench, baud}, {told: this._told, button});
      });
      item = make('li', {class: 'finding'},
        make('p', {class: 'finding-head'}, make('span', {class: 'finding-symbol', 'aria-hidden': 'true'}), make('strong')),
        make('p', {class: 'finding-since soft'}), make('p', {class: 'finding-seen'}), make('p', {class: 'finding-try'}), button);
      this._items.set(name, item);
    }
    return item;
  }

  _fill(item, {channel, weight, since_ms: ms, words, evidence, remedy, try_baud: baud}) {
    const [symbol, weightWord] = WEIGHTS[weight] ?? WEIGHTS.hint;
    const [head, since, seen, toTry, button] = item.children;
    item.dataset.weight = weight;
    write(head.children[0], symbol);
    write(head.children[1], words);
    write(since, `${weightWord}${channel ? ` in ${channel}` : ''}, since ${formatClock(ms)}`);
    write(seen, this.isBrief || !evidence ? '' : `Seen: ${evidence}`);
    write(toTry, remedy ? `What to try: ${remedy}` : '');
    button.hidden = !baud || !this._canTry;
    setAttribute(button, 'data-baud', baud ? String(baud) : null);
    write(button, baud ? `Try ${baud} baud` : '');
  }
}

const nameOf = ({kind, channel}) => `${kind}/${channel}`;
