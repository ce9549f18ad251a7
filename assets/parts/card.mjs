/** One bench's card: its elements, and what is written to them when something changed. */

import {attentionOf} from './attention.mjs';
import {createGauge} from './gauge.mjs';
import {createMark} from './marks.mjs';
import {formatNumber} from './numbers.mjs';
import {make, setAttribute, write} from './page.mjs';
import {ColumnHistory} from './spark.mjs';
import {HeldLook} from './steadied.mjs';
import {createStrip} from './strip.mjs';

export const HISTORY_MS = 120_000;
const N_COLUMNS = 240;
const DEFAULT_OLD_MS = 3000; // until the bridge has said how often the board prints
const MOST_UNIT_LETTERS = 8; // a longer unit is cut, it must not push the number away

export class Card {
  /**
   * @param {object} bench As the bridge describes it.
   * @param {{acknowledge: (alarm: string) => void}} acts
   */
  constructor(bench, acts) {
    this.number = bench.number;
    this.history = new ColumnHistory(HISTORY_MS, N_COLUMNS);
    /** @type {Map<string, object>} Alarms that are not normal, by id; bounded by the lesson's limits. */
    this.alarms = new Map();
    /** @type {object[]} All findings that stand at the bench; bounded by the kinds that there are. */
    this.findings = [];
    this.newest = null;
    /** @type {import('./calls.mjs').Asked | undefined} What the bench's group said last. */
    this.asked = undefined;
    this.attention = null;
    this._held = new HeldLook();
    this.wantsFinerHistory = false;
    this._said = '';
    this._build(acts);
    this.describe(bench);
  }

  _build(acts) {
    this._name = make('a', {class: 'card-name', href: `/bench/${this.number}`, 'data-role': 'name'});
    this._markPlace = make('span', {class: 'card-mark'});
    this._numberPlace = make('span', {class: 'card-number', 'data-role': 'number'});
    this._value = make('span', {class: 'card-value', 'data-role': 'value'}, '–');
    this._unit = make('span', {class: 'card-unit', 'data-role': 'unit'});
    this._gauge = createGauge();
    this._strip = createStrip();
    this.canvas = make('canvas', {class: 'card-history', 'data-role': 'history', 'aria-hidden': 'true'});
    this._symbol = make('span', {class: 'card-symbol', 'aria-hidden': 'true'});
    this._state = make('span', {class: 'card-state', 'data-role': 'state'});
    this._age = make('span', {class: 'card-age', 'data-role': 'age'});
    this._more = make('span', {class: 'card-more', 'data-role': 'more'});
    this._alarm = make('button', {type: 'button', class: 'card-alarm', 'data-role': 'alarm', hidden: ''});
    this._foot = make('div', {class: 'card-foot'},
      this._symbol, make('p', {class: 'card-words'}, this._state, this._age), this._more, this._alarm);
    this.element = make('article', {class: 'card', 'data-bench': this.number},
      make('div', {class: 'card-inside'},
        make('h2', {class: 'card-head'}, this._markPlace, this._name, this._numberPlace),
        make('p', {class: 'card-reading'}, this._value, this._unit),
        make('div', {class: 'card-middle'}, this._gauge.element, this.canvas, this._strip.element),
        this._foot));
    this._alarm.addEventListener('click', () => {
      if (this.attention?.alarm) acts.acknowledge(this.attention.alarm);
    });
  }

  /** Take a new description: name, mark, scale, bands, status. */
  describe(bench) {
    this.bench = bench;
    this.main = bench.channels[bench.main] ?? null;
    this._markPlace.replaceChildren(createMark(bench));
    write(this._name, bench.name);
    this._name.title = bench.name;
    write(this._numberPlace, bench.name.includes(String(bench.number)) ? '' : String(bench.number));
    this.element.setAttribute('aria-label', `Bench ${bench.number}, ${bench.name}`);
    this._describeChannel(this.main);
    this.takeStatus(bench.status);
    if (this.newest) this._showNewest();
  }

  _describeChannel(channel) {
    const unit = channel?.unit ?? '';
    write(this._unit, unit.length > MOST_UNIT_LETTERS ? `${unit.slice(0, MOST_UNIT_LETTERS - 1)}…` : unit);
    this._unit.title = unit;
    for (const element of [this._gauge.element, this.canvas]) setAttribute(element, 'data-none', channel ? null : '');
    this._strip.describe(channel?.edge_names ?? []);
    if (channel) this._gauge.describe(channel);
  }

  /** The room that the number needs, in ems of its own size: the wall gives all cards the same. */
  get ems() {
    const {low = 0, high = 0, decimals = 0} = this.main ?? {};
    const letters = Math.max(3, ...[low, high].map((value) => formatNumber(value, decimals).length));
    return lettersToEms(letters, this._unit.textContent.length);
  }

  takeStatus(status) {
    this.status = status;
    this.history.gapMs = status.old_after_ms || DEFAULT_OLD_MS;
    if (status.link !== 'open') this.history.breakOff();
  }

  /**
   * A value from a frame or a hello: [bench, channel, t_ms, value, u, quality, reason, band, low, high].
   * Written at once: a person waits for it.
   */
  takeValue(row) {
    if (row[1] !== this.bench.main) return;
    this.newest = {atMs: row[2], value: row[3], u: row[4], quality: row[5], reason: row[6], band: row[7]};
    this._showNewest();
    if (row[3] === null) this.history.breakOff();
    else this.history.add(row[2], Math.min(row[8] ?? row[3], row[3]), Math.max(row[9] ?? row[3], row[3]));
  }

  _showNewest() {
    const {value, u, band} = this.newest;
    const words = formatNumber(value, this.main?.decimals ?? 1);
    write(this._value, words);
    this._fitNumber(words.length);
    this._gauge.show(value, u);
    this._strip.show(band ?? null);
  }

  /** A number that is longer than the scale foresees makes itself smaller, never cut. */
  _fitNumber(nLetters) {
    if (nLetters === this._nLetters) return;
    this._nLetters = nLetters;
    const needed = lettersToEms(nLetters, this._unit.textContent.length);
    this.element.style.setProperty('--own-ems', String(needed));
  }

  /** Begin anew: another session, or another place of a replay. */
  restart() {
    this.history.clear();
    this.alarms.clear();
    this.findings = [];
    this.newest = null;
    write(this._value, formatNumber(null, 0));
    this._gauge.show(null, null);
    this._strip.show(null);
  }

  /** Rows [t_ms, low, high] of a channel's past; null is a gap. */
  takeHistory(channel, rows) {
    if (channel !== this.bench.main) return;
    const times = rows.filter(Boolean).map(([atMs]) => atMs);
    const coarse = (times.at(-1) - times[0]) / Math.max(1, times.length - 1) > 2 * this.history.columnMs;
    this.wantsFinerHistory = coarse;
    if (!coarse) this._addRows(rows);
  }

  /** The last while in finer rows; values that have come since are kept. */
  refineHistory(rows) {
    const since = [];
    this.history.each(this.newest?.atMs ?? 0, (...column) => since.push(column));
    this.history.clear();
    const untilMs = rows.filter(Boolean).at(-1)?.[0] ?? -1;
    this._addRows(rows);
    for (const [atMs, low, high, isFirst] of since) {
      if (atMs <= untilMs) continue;
      if (isFirst && atMs - untilMs > this.history.gapMs) this.history.breakOff();
      this.history.add(atMs, low, high);
    }
  }

  _addRows(rows) {
    const gapMs = this.history.gapMs;
    this.history.gapMs = Infinity; // the bridge says where the gaps are
    for (const row of rows) {
      if (row) this.history.add(row[0], row[1], row[2]);
      else this.history.breakOff();
    }
    this.history.gapMs = gapMs;
  }

  takeAlarm(alarm) {
    if (alarm.state === 'normal') this.alarms.delete(alarm.id);
    else this.alarms.set(alarm.id, alarm);
  }

  /**
   * @param {object[]} findings All that stand now.
   * @returns {object[]} The faults among them that did not stand before.
   */
  takeFindings(findings) {
    const known = new Set(this.findings.map(({kind, channel}) => `${kind}/${channel}`));
    this.findings = findings;
    return findings.filter(({weight, kind, channel}) => weight === 'fault' && !known.has(`${kind}/${channel}`));
  }

  /**
   * Word the state anew.
   * @param {number} nowMs Session time.
   * @param {{linkLost: boolean, silentMs: number}} link
   */
  showState(nowMs, {linkLost, silentMs}) {
    const ageMs = this.newest ? Math.max(0, nowMs - this.newest.atMs) : null;
    const oldAfterMs = this.status.old_after_ms || DEFAULT_OLD_MS;
    const isOld = ageMs === null ? this.status.old : this.status.old || ageMs > oldAfterMs;
    const now = attentionOf({
      status: this.status, alarms: [...this.alarms.values()], findings: this.findings, mainChannel: this.main?.name ?? '',
      asked: this.asked, newest: this.newest, isOld, ageMs: ageMs !== null && linkLost ? Math.max(ageMs, silentMs) : ageMs, linkLost,
      channel: (name) => this.bench.channels.find((one) => one.name === name) ?? {unit: '', decimals: 1},
    });
    setAttribute(this.element, 'data-old', isOld || linkLost ? '' : null);
    this.attention = this._held.take(now, performance.now());
    this._showAttention(this.attention);
  }

  _showAttention({level, symbol, words, age, more, alarm}) {
    const all = `${level}\n${symbol}\n${words}\n${age}\n${more}\n${alarm}`;
    if (all === this._said) return;
    this._said = all;
    setAttribute(this.element, 'data-level', level);
    write(this._symbol, symbol);
    write(this._state, words);
    write(this._age, age);
    this._foot.style.setProperty('--letters', String(words.length + (age ? age.length + 1 : 0)));
    write(this._more, alarm ? '' : more);
    this._showAlarmButton(alarm, more);
  }

  _showAlarmButton(alarm, more) {
    const button = this._alarm;
    if (!alarm && button === document.activeElement) this._name.focus(); // what had the focus goes away
    button.hidden = !alarm;
    write(button, alarm ? more || 'Acknowledge' : '');
    const label = `Acknowledge: ${this.bench.name}, ${this._state.textContent}${more ? `, ${more}` : ''}`;
    setAttribute(button, 'aria-label', alarm ? label : null);
    setAttribute(button, 'title', alarm ? 'Press to acknowledge' : null);
  }
}

/** Ems that a number and its unit take: a bold tabular figure is at most 0.67 em, the unit's letters are smaller. */
function lettersToEms(nLetters, nUnitLetters) {
  return nLetters * 0.67 + (nUnitLetters ? 0.16 + nUnitLetters * 0.27 : 0);
}
