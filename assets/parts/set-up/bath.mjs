/** All benches in one bath: who is steady, one press captures them all against one reference, one fit for all. */

import {ask, createTold} from '../asking.mjs';
import {numberEntry, readEntries, refuse, wordsEntry} from '../entering.mjs';
import {createFits} from '../fits.mjs';
import {createMark} from '../marks.mjs';
import {make, setAttribute, write} from '../page.mjs';
import {steadyWords} from '../steady.mjs';

const HOW = 'Put every sensor into one bath, stir it, and wait until the benches are steady. Warm tap water, about 45 °C at most; '
  + 'keep it away from mains-powered equipment.';

export class Bath {
  /** @param {import('../link.mjs').Link} link */
  constructor(link) {
    this.link = link;
    /** @type {Map<number, object[]>} What the bridge told of each bench's channels. */
    this.steady = new Map();
    this.benches = [];
    /** @type {Map<number, {element: HTMLElement, box: HTMLInputElement, mark: string}>} */
    this._items = new Map();
    this._build();
  }

  _build() {
    this._channel = make('select', {id: 'bath-channel', class: 'entry'});
    this._channel.addEventListener('change', () => this.show());
    this._reference = numberEntry('bath-reference', 'Reference', {isNeeded: true});
    this._u = numberEntry('bath-u', 'Its u', {isPositive: true});
    this._words = wordsEntry('bath-words', 'What it is', 'glass thermometer in the bath');
    const [typed, median] = [radio('bath-typed', 'A value that I read'), radio('bath-median', 'The median of the steady benches')];
    typed.input.checked = true;
    this._median = median.input;
    for (const {input} of [typed, median]) input.addEventListener('change', () => this._showChoice());
    this._count = make('p', {class: 'bath-count', role: 'status'});
    this._list = make('ul', {class: 'bath-list', 'data-role': 'bath'});
    this._button = make('button', {type: 'submit', class: 'chief'});
    this._told = createTold();
    const toFit = createTold();
    const fits = createFits((fit, button) => this._fit(fit, toFit, button));
    const form = make('form', {class: 'entries', novalidate: ''},
      make('div', {class: 'form-row form-row-words'}, make('label', {for: 'bath-channel'}, 'Channel'), this._channel),
      make('fieldset', {class: 'bath-choice'}, make('legend', {}, 'Calibrate to'), typed.element, median.element),
      this._reference.element, this._u.element, this._words.element, this._count, make('div', {class: 'acts'}, this._button),
      this._told);
    form.addEventListener('submit', (event) => {
      event.preventDefault();
      this._capture();
    });
    this.element = make('div', {class: 'bath'}, make('p', {class: 'soft'}, HOW), form,
      make('h4', {}, 'One fit for all that are chosen'), fits.element, toFit, this._list);
    this._showChoice();
    this.show();
  }

  /** @param {object[]} benches As the bridge describes them. */
  describe(benches) {
    this.benches = benches.toSorted((a, b) => a.number - b.number);
    const names = [...new Set(benches.flatMap(({channels}) => channels.map(({name}) => name)))];
    const found = [...this._channel.options].map(({value}) => value);
    if (names.join('\n') !== found.join('\n')) {
      const chosen = this._channel.value;
      this._channel.replaceChildren(...names.map((name) => make('option', {value: name}, name)));
      if (names.includes(chosen)) this._channel.value = chosen;
    }
    this.show();
  }

  /** Begin anew. */
  restart() {
    this.steady.clear();
    this.show();
  }

  /**
   * @param {number} bench
   * @param {object[]} channels As the bridge tells them.
   */
  take(bench, channels) {
    this.steady.set(bench, channels);
    this.show();
  }

  /** Those that have the channel and are chosen. */
  _chosen() {
    return this._withChannel().filter(({number}) => this._items.get(number)?.box.checked).map(({number}) => number);
  }

  _withChannel() {
    const name = this._channel.value;
    return this.benches.filter(({channels}) => channels.some((one) => one.name === name));
  }

  _toldOf(number) {
    return this.steady.get(number)?.find(({channel}) => channel === this._channel.value) ?? null;
  }

  _steadyOnes() {
    return this._chosen().filter((number) => this._toldOf(number)?.steady);
  }

  show() {
    const benches = this._withChannel();
    const unit = benches[0]?.channels.find(({name}) => name === this._channel.value)?.unit ?? '';
    for (const {unit: place} of [this._reference, this._u]) write(place, unit);
    const numbers = new Set(benches.map(({number}) => number));
    for (const [number, {element}] of this._items) {
      if (numbers.has(number)) continue;
      element.remove();
      this._items.delete(number);
    }
    benches.forEach((bench, i) => this._showItem(bench, i));
    const n = this._steadyOnes().length;
    write(this._count, `${n} of ${this._chosen().length} chosen are steady.`);
    write(this._button, n === 1 ? 'Capture the 1 steady bench' : `Capture the ${n} steady benches`);
  }

  _showItem(bench, i) {
    const item = this._itemOf(bench);
    if (this._list.children[i] !== item.element) this._list.insertBefore(item.element, this._list.children[i] ?? null);
    const [label, state] = item.element.children;
    const mark = `${bench.shape} ${bench.colour}`;
    if (item.mark !== mark) label.children[1].replaceChildren(createMark(bench));
    item.mark = mark;
    write(label.children[2], bench.name === `Bench ${bench.number}` ? bench.name : `${bench.number}: ${bench.name}`);
    const told = this._toldOf(bench.number);
    const {symbol, words, mean} = steadyWords(told, told);
    write(state.children[0], [symbol, mean || words].join(' '));
    write(state.children[1], mean && words);
    setAttribute(item.element, 'data-steady', told?.steady ? '' : null);
  }

  _itemOf({number}) {
    let item = this._items.get(number);
    if (!item) {
      const box = make('input', {type: 'checkbox', id: `bath-${number}`});
      box.checked = true;
      box.addEventListener('change', () => this.show());
      const label = make('label', {class: 'check', for: `bath-${number}`}, box, make('span', {class: 'set-up-mark'}), make('span'));
      item = {
        element: make('li', {'data-bath': number}, label, make('p', {class: 'bath-state'}, make('span'), make('span', {class: 'soft'}))),
        box, mark: '',
      };
      this._items.set(number, item);
    }
    return item;
  }

  _showChoice() {
    for (const {input} of [this._reference, this._u]) input.disabled = this._median.checked;
    setAttribute(this._reference.input, 'aria-invalid', null);
  }

  async _capture() {
    const benches = this._steadyOnes();
    let [reference, u] = [null, null];
    if (!this._median.checked) {
      const numbers = readEntries([this._reference, this._u], this._told);
      if (!numbers) return;
      [reference, u] = numbers;
    }
    if (!benches.length) {
      refuse(this._told, null, 'No chosen bench is steady yet. Stir the bath and wait.');
      return;
    }
    const message = {
      kind: 'capture', benches, channel: this._channel.value, reference, u_reference: u, words: this._words.input.value.trim(),
    };
    if (await ask(this.link, message, {told: this._told, button: this._button})) this._reference.input.value = '';
  }

  _fit(fit, told, button) {
    const benches = this._chosen();
    if (!benches.length) return refuse(told, null, 'No bench is chosen.');
    return ask(this.link, {kind: 'fit', benches, channel: this._channel.value, fit}, {told, button});
  }
}

function radio(id, words) {
  const input = make('input', {type: 'radio', name: 'bath-to', id});
  return {input, element: make('label', {class: 'check', for: id}, input, words)};
}
