/** This bench's settings for a channel, and the channel's limits: sent to the bridge, which checks and keeps them. */

import {readNumber, refuse} from '../entering.mjs';
import {make, setAttribute} from '../page.mjs';
import {ask, createTold} from '../asking.mjs';

const UNKNOWN = 'unchanged';

/**
 * @typedef {{key: string, words: string, note: string, path: (bench: number, channel: string) => (string | number)[],
 *     value: (channel: object) => number | null | undefined}} Entry undefined: the bridge doesn't tell.
 */

/** @type {Entry[]} */
const OF_BENCH = [
  {
    key: 'baseline', words: 'Baseline', note: 'where its bands begin', value: ({baseline}) => baseline,
    path: (bench, channel) => ['bench', bench, 'channel', channel, 'baseline'],
  },
  {
    key: 'gain', words: 'Gain', note: 'value = gain × converted + offset', value: ({gain}) => gain,
    path: (bench, channel) => ['bench', bench, 'channel', channel, 'gain'],
  },
  {
    key: 'offset', words: 'Offset', note: 'in the unit', value: ({offset}) => offset,
    path: (bench, channel) => ['bench', bench, 'channel', channel, 'offset'],
  },
];

/** @returns {Entry} */
const limitEntry = (kind) => ({
  key: kind, words: `${kind === 'high' ? 'High' : 'Low'} limit`, note: 'in the unit',
  value: ({limits}) => limits.find(({limit}) => limit === kind)?.at ?? null,
  path: (_, channel) => ['channel', channel, 'limit', kind, 'at'],
});
const OF_ALL = [limitEntry('high'), limitEntry('low')];

export class SettingsPanel {
  /**
   * @param {import('../link.mjs').Link} link
   * @param {number} bench
   */
  constructor(link, bench) {
    this.link = link;
    this.bench = bench;
    this.channel = null;
    this._name = '';
    /** @type {Map<string, {entry: Entry, input: HTMLInputElement, was: string}>} */
    this._entries = new Map();
    this.element = make('div', {class: 'settings'},
      this._form('For this bench alone', OF_BENCH), this._form('For all benches', OF_ALL));
  }

  _form(title, entries) {
    const button = make('button', {type: 'submit'}, 'Change the lesson');
    const told = createTold();
    const fields = make('fieldset', {}, make('legend', {}, title));
    for (const entry of entries) fields.append(this._field(entry));
    const form = make('form', {class: 'settings-form', novalidate: ''}, fields, make('div', {class: 'acts'}, button), told);
    form.addEventListener('submit', (event) => {
      event.preventDefault();
      this._send(entries, {told, button});
    });
    return form;
  }

  _field(entry) {
    const id = `setting-${entry.key}`;
    const input = make('input', {type: 'text', inputmode: 'decimal', id, autocomplete: 'off', class: 'entry', 'data-setting': entry.key});
    this._entries.set(entry.key, {entry, input, was: ''});
    return make('div', {class: 'setting'}, make('label', {for: id}, entry.words), input,
      make('span', {class: 'setting-note soft'}, entry.note));
  }

  /** @param {object | null} channel As the bridge describes it; what a person is writing stays. */
  describe(channel) {
    const isOther = (channel?.name ?? '') !== this._name;
    this._name = channel?.name ?? '';
    this.channel = channel;
    for (const kept of this._entries.values()) {
      const value = channel ? kept.entry.value(channel) : null;
      const words = value === null || value === undefined ? '' : String(value);
      if (isOther || kept.input.value === kept.was) kept.input.value = words;
      kept.was = words;
      kept.input.placeholder = value === undefined ? UNKNOWN : 'none';
    }
  }

  async _send(entries, place) {
    const changes = [];
    for (const {key, words, path} of entries) {
      const {input, was} = this._entries.get(key);
      const text = input.value.trim();
      setAttribute(input, 'aria-invalid', null);
      if (text === was) continue;
      const number = text === '' ? null : readNumber(text);
      if (text !== '' && number === null) return refuse(place.told, input, `${words}: “${text}” is no number. Write for example 1.02`);
      changes.push([path(this.bench, this.channel?.name ?? ''), number]);
    }
    if (!changes.length) return refuse(place.told, null, 'Nothing was changed: write another number first.');
    if (await ask(this.link, {kind: 'revise', changes}, place)) this._accept(entries);
  }

  /** What was written holds now; the bridge's description may have come before its answer or come after it. */
  _accept(entries) {
    for (const {key} of entries) {
      const kept = this._entries.get(key);
      if (this.channel && kept.entry.value(this.channel) === undefined) kept.was = kept.input.value = '';
      else kept.was = kept.input.value.trim();
    }
  }
}
