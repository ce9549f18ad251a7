/** The head of a bench's page: mark, name, state in words, the value with its unit, scale and band strip. */

import {attentionOf} from '../attention.mjs';
import {createGauge} from '../gauge.mjs';
import {createMark} from '../marks.mjs';
import {formatNumber} from '../numbers.mjs';
import {make, setAttribute, write} from '../page.mjs';
import {HeldLook} from '../steadied.mjs';
import {createStrip} from '../strip.mjs';

export class Head {
  /** @param {(index: number) => void} onChannel Called when another channel is chosen. */
  constructor(onChannel) {
    this._held = new HeldLook();
    this._mark = make('span', {class: 'bench-mark'});
    this._name = make('h2', {class: 'bench-name', 'data-role': 'name'});
    this._before = make('a', {class: 'bench-step', rel: 'prev'});
    this._after = make('a', {class: 'bench-step', rel: 'next'});
    this._value = make('span', {class: 'bench-value', 'data-role': 'value'}, '–');
    this._unit = make('span', {class: 'bench-unit', 'data-role': 'unit'});
    this._symbol = make('span', {class: 'bench-symbol', 'aria-hidden': 'true'});
    this._state = make('span', {'data-role': 'state'});
    this._age = make('span', {class: 'bench-age', 'data-role': 'age'});
    this._more = make('p', {class: 'bench-more', 'data-role': 'more'});
    this._gauge = createGauge();
    this._strip = createStrip();
    this._picker = make('select', {id: 'channel', class: 'entry', 'data-role': 'channel'});
    this._pick = make('p', {class: 'bench-pick'}, make('label', {for: 'channel'}, 'Channel'), this._picker);
    this._picker.addEventListener('change', () => onChannel(Number(this._picker.value)));
    this.element = make('header', {class: 'bench-head'},
      make('div', {class: 'bench-title'}, this._mark, this._name, this._pick),
      make('nav', {class: 'bench-ways', 'aria-label': 'Other benches'}, this._before, this._after),
      make('p', {class: 'bench-reading'}, this._value, this._unit),
      make('div', {class: 'bench-scale'}, this._gauge.element, this._strip.element),
      make('div', {class: 'bench-state'}, make('p', {class: 'bench-words'}, this._symbol, this._state, this._age), this._more));
  }

  /**
   * @param {object} bench As the bridge describes it.
   * @param {number} index Of the channel shown.
   * @param {{number: number, name: string}[]} all The session's benches.
   */
  describe(bench, index, all) {
    const channel = bench.channels[index] ?? null;
    this._channel = channel;
    this._mark.replaceChildren(createMark(bench));
    write(this._name, bench.name === `Bench ${bench.number}` ? bench.name : `Bench ${bench.number}: ${bench.name}`);
    write(this._unit, channel?.unit ?? '');
    setAttribute(this._gauge.element, 'data-none', channel ? null : '');
    if (channel) this._gauge.describe(channel);
    this._strip.describe(channel?.edge_names ?? []);
    this._describeChannels(bench.channels, index);
    this._describeWays(bench.number, all);
  }

  _describeChannels(channels, index) {
    this._pick.hidden = channels.length < 2;
    const wanted = channels.map(({name}) => name);
    const found = [...this._picker.options].map(({text}) => text);
    if (wanted.join('\n') !== found.join('\n')) {
      this._picker.replaceChildren(...wanted.map((name, i) => make('option', {value: i}, name)));
    }
    this._picker.value = String(index);
  }

  _describeWays(number, all) {
    const sorted = all.toSorted((a, b) => a.number - b.number);
    const at = sorted.findIndex((one) => one.number === number);
    for (const [link, other, words] of [
      [this._before, sorted[at - 1], (name) => `← ${name}`], [this._after, sorted[at + 1], (name) => `${name} →`],
    ]) {
      link.hidden = !other;
      if (!other) continue;
      link.href = `/bench/${other.number}`;
      write(link, words(other.name));
      link.title = `Bench ${other.number}`;
    }
  }

  /** @param {{value: number | null, u: number | null, band: number | null} | null} newest */
  showValue(newest) {
    const words = formatNumber(newest?.value ?? null, this._channel?.decimals ?? 1);
    write(this._value, words);
    this.element.style.setProperty('--letters', String(words.length));
    this._gauge.show(newest?.value ?? null, newest?.u ?? null);
    this._strip.show(newest?.band ?? null);
  }

  /** @param {object} known What `attentionOf` needs. */
  showState(known) {
    const {level, symbol, words, age, more} = this._held.take(attentionOf(known), performance.now());
    setAttribute(this.element, 'data-level', level);
    write(this._symbol, symbol);
    write(this._state, words);
    write(this._age, age);
    write(this._more, more);
  }
}
