/** One bench on the set-up page: who, its newest lines, how they are understood, what is wrong, and what to do about it. */

import {ask, createTold} from '../asking.mjs';
import {attentionOf} from '../attention.mjs';
import {FindingsList} from '../findings.mjs';
import {createMark} from '../marks.mjs';
import {NO_VALUE, formatNumber} from '../numbers.mjs';
import {make, setAttribute, write} from '../page.mjs';
import {Samples, Understood} from '../understood.mjs';
import {needOf} from './needs.mjs';

const DEFAULT_OLD_MS = 3000; // until the bridge has said how often the board prints
const RATES = [1200, 2400, 4800, 9600, 19_200, 38_400, 57_600, 115_200, 230_400];

export class BenchRow {
  /**
   * @param {object} bench As the bridge describes it.
   * @param {import('../link.mjs').Link} link
   */
  constructor(bench, link) {
    this.number = bench.number;
    this.link = link;
    this.text = null;
    this.newest = null;
    this.need = 'waits';
    this.findings = new FindingsList(link, this.number, {isBrief: true});
    this._samples = new Samples();
    this._understood = new Understood(link, this.number);
    this._build();
    this.describe(bench);
  }

  _build() {
    this._mark = make('span', {class: 'set-up-mark'});
    this._name = make('a', {href: `/bench/${this.number}`, class: 'set-up-name', 'data-role': 'name'});
    this._value = make('span', {'data-role': 'value'}, NO_VALUE);
    this._unit = make('span', {class: 'soft', 'data-role': 'unit'});
    this._symbol = make('span', {'aria-hidden': 'true'});
    this._state = make('span', {'data-role': 'state'});
    this._age = make('span', {'data-role': 'age'});
    this._more = make('p', {class: 'set-up-more', 'data-role': 'more'});
    this._port = make('p', {class: 'soft set-up-port', 'data-role': 'port'});
    const part = (cls, title, ...children) => make('section', {class: `set-up-part ${cls}`}, make('h4', {}, title), ...children);
    this.element = make('article', {class: 'panel set-up-bench', 'data-bench': this.number, id: `bench-${this.number}`, tabindex: '-1'},
      make('header', {class: 'set-up-who'},
        make('div', {class: 'set-up-head'}, make('h3', {class: 'set-up-title'}, this._mark, this._name),
          make('p', {class: 'set-up-value'}, this._value, this._unit)),
        make('p', {class: 'set-up-state'}, this._symbol, this._state, this._age), this._more, this._port,
        make('div', {class: 'set-up-acts'}, this._understood.acts, this._buildRate())),
      part('set-up-lines', 'Newest lines', this._samples.element),
      part('set-up-understood', 'How they are understood', this._understood.element),
      part('set-up-findings', 'Findings', this.findings.element));
  }

  _buildRate() {
    const id = `baud-${this.number}`;
    this._rate = make('select', {id, class: 'entry'}, ...RATES.map((rate) => make('option', {value: rate}, String(rate))));
    this._rate.value = '9600';
    const told = createTold();
    const button = make('button', {type: 'submit'}, 'Try');
    const form = make('form', {class: 'set-up-rate'}, make('label', {for: id, class: 'out-of-sight'}, 'Baud rate'), this._rate, button, told);
    this._try = make('details', {}, make('summary', {}, 'Another baud rate'), form);
    form.addEventListener('submit', (event) => {
      event.preventDefault();
      ask(this.link, {kind: 'try_baud', bench: this.number, baud: Number(this._rate.value)}, {told, button});
    });
    return this._try;
  }

  /** @param {'live' | 'replay'} source A replay has no board to read at another rate. */
  setSource(source) {
    this.findings.setSource(source);
    this._understood.setSource(source);
    this._try.hidden = source === 'replay';
  }

  /** Begin anew: another session, or another place of a replay. */
  restart() {
    this.newest = null;
    this.findings.take([]);
    this.takeText(null);
    write(this._value, NO_VALUE);
  }

  describe(bench) {
    this.bench = bench;
    this.main = bench.channels[bench.main] ?? null;
    this._mark.replaceChildren(createMark(bench));
    const plain = `Bench ${bench.number}`;
    write(this._name, bench.name === plain ? plain : `${bench.number}: ${bench.name}`);
    setAttribute(this.element, 'aria-label', `${plain}, ${bench.name}`);
    write(this._unit, this.main?.unit ?? '');
    this.takeStatus(bench.status);
  }

  takeStatus(status) {
    this.status = status;
    const {port, baud, lines_per_second: rate} = status;
    const told = [port || 'no port', baud ? `${baud} baud` : '', `${formatNumber(rate, rate < 10 ? 1 : 0)} lines per second`];
    write(this._port, told.filter(Boolean).join(', '));
  }

  /** A value from a frame or a hello: [bench, channel, t_ms, value, u, quality, reason, band, low, high]. */
  takeValue(row) {
    if (row[1] !== this.bench.main) return;
    this.newest = {atMs: row[2], value: row[3], quality: row[5], reason: row[6]};
    write(this._value, formatNumber(row[3], this.main?.decimals ?? 1));
  }

  /** @param {import('../understood.mjs').Text | null} text */
  takeText(text) {
    this.text = text;
    this._samples.show(text?.samples ?? []);
    this._understood.show(text);
  }

  /**
   * Word the state anew.
   * @param {number} nowMs Session time.
   * @param {boolean} linkLost
   * @returns {{need: import('./needs.mjs').Need, words: string}} Why a person should go there.
   */
  showState(nowMs, linkLost) {
    const {status, newest} = this;
    const ageMs = newest ? Math.max(0, nowMs - newest.atMs) : null;
    const isOld = ageMs === null ? status.old : status.old || ageMs > (status.old_after_ms || DEFAULT_OLD_MS);
    const attention = attentionOf({
      status, alarms: [], mainChannel: '', newest, isOld, ageMs, linkLost, channel: () => ({unit: '', decimals: 1}),
    });
    const found = needOf({attention, text: this.text, findings: this.findings.standing, link: status.link});
    setAttribute(this.element, 'data-old', isOld || linkLost ? '' : null);
    setAttribute(this.element, 'data-need', found.need);
    write(this._symbol, attention.symbol);
    write(this._state, attention.words);
    write(this._age, attention.age);
    write(this._more, attention.more || status.remedy);
    return found;
  }
}
