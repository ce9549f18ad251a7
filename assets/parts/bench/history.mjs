/**
 * A channel's history with zoom: asks the bridge for what is in view, one row for each column of pixels, and has it drawn.
 * Live it is drawn at most twice a second; what a person asks for is drawn at once.
 */

import {formatAge, formatNumber} from '../numbers.mjs';
import {make, setAttribute, write} from '../page.mjs';
import {BandTimes} from './band-times.mjs';
import {clockWords, rangeOf, wordsBeyond} from './figure.mjs';
import {Picture} from './picture.mjs';
import {loadPlotly} from './plotly.mjs';
import {TWO_MINUTES_MS, moved, stretchOf, viewOf, zoomed} from './stretch.mjs';

const DRAW_MS = 500;
const MOST_ROWS = 2000; // of one answer, by the message's schema
const NEAR_MS = 30_000; // on either side of an instant that is looked at
const KEYS = {
  '+': 'nearer', '=': 'nearer', '-': 'farther', '−': 'farther', ArrowLeft: 'earlier', ArrowRight: 'later', Home: 'whole', End: 'last',
};
const BUTTONS = [
  ['nearer', '+', 'Less time, larger'], ['farther', '−', 'More time, smaller'], ['earlier', '←', 'Earlier'],
  ['later', '→', 'Later'], ['whole', 'Whole session', ''], ['last', 'Last 2 minutes', ''],
];
const HINT = 'Drag over a stretch to see it larger; with Shift, drag to move along; double-click for the whole session.';
const NOTHING = {rows: [], ribbon: [], plain: [], isComplete: false};

export class HistoryPanel {
  /**
   * @param {import('../link.mjs').Link} link
   * @param {number} bench
   * @param {string} plotlyUrl
   * @param {(alarms: object[]) => void} onAlarms Called with what the alarms of the channel did in the stretch shown.
   */
  constructor(link, bench, plotlyUrl, onAlarms) {
    this.link = link;
    this.bench = bench;
    this.onAlarms = onAlarms;
    /** @type {import('./stretch.mjs').View} */
    this.view = {kind: 'last', ms: TWO_MINUTES_MS};
    this.channel = null;
    this.index = 0;
    this.newest = null;
    this.markers = [];
    this.phases = [];
    this._generation = 0; // answers to questions of an earlier one are passed over
    this._answer = NOTHING;
    this._isAsking = false;
    this._isWanted = false;
    this._hasNew = false;
    this._isOld = false;
    this.picture = new Picture({
      whole: () => this.act('whole'),
      choose: (stretch) => this._look(viewOf(stretch, this.link.now())),
    });
    this._build();
    this._listen();
    loadPlotly(plotlyUrl).then((plotly) => this._begin(plotly), (error) => {
      write(this._note, `No picture can be drawn: ${error.message}. Load the page again.`);
    });
  }

  _build() {
    this._buttons = make('div', {class: 'history-buttons', role: 'group', 'aria-label': 'Stretch of time'});
    for (const [does, words, label] of BUTTONS) {
      const button = make('button', {type: 'button', 'data-does': does, ...(label && {'aria-label': label, title: label})}, words);
      button.addEventListener('click', () => this.act(does));
      this._buttons.append(button);
    }
    this._fits = make('input', {type: 'checkbox', id: 'history-fits'});
    this._hasPlain = make('input', {type: 'checkbox', id: 'history-plain'});
    this._plainLabel = make('label', {class: 'check', for: 'history-plain', hidden: ''}, this._hasPlain, 'Show the bands without a deadband too');
    this.bandTimes = new BandTimes();
    this._span = make('span', {class: 'history-span', 'data-role': 'span'});
    this._note = make('p', {class: 'history-note', 'data-role': 'history-note'});
    this._spoken = make('p', {class: 'out-of-sight', 'data-role': 'history-words'});
    this.element = make('div', {class: 'history'},
      make('div', {class: 'history-tools'}, this._buttons,
        make('label', {class: 'check', for: 'history-fits'}, this._fits, 'Fit the scale to the curve'), this._span),
      this.picture.element, this._plainLabel, this.bandTimes.element, this._spoken, this._note, make('p', {class: 'history-hint'}, HINT));
  }

  _listen() {
    this._fits.addEventListener('change', () => this._draw());
    this._hasPlain.addEventListener('change', () => this._look(this.view));
    this.picture.box.addEventListener('keydown', (event) => {
      const does = KEYS[event.key];
      if (!does || event.ctrlKey || event.altKey || event.metaKey) return;
      event.preventDefault();
      this.act(does);
    });
    for (const query of ['(prefers-color-scheme: dark)', '(prefers-contrast: more)']) {
      matchMedia(query).addEventListener('change', () => this._draw());
    }
    setInterval(() => this._beat(), DRAW_MS);
  }

  _begin(plotly) {
    this.picture.begin(plotly);
    new ResizeObserver(() => this._look(this.view)).observe(this.picture.box);
  }

  /**
   * Begin anew: another session, another place of a replay, another channel.
   * @param {object | null} channel As the bridge describes it.
   * @param {number} index
   */
  restart(channel, index) {
    this._generation += 1;
    this._answer = NOTHING;
    this._isAsking = false;
    this.newest = null;
    this.channel = channel;
    this.index = index;
    this._look(this.view);
  }

  /** The channel's scale, bands or limits changed. */
  describe(channel, index) {
    this.channel = channel;
    this.index = index;
    this._draw();
  }

  /** @param {{atMs: number, value: number | null, u: number | null} | null} newest */
  takeNewest(newest) {
    this.newest = newest;
    this._hasNew = true;
  }

  /** @param {boolean} isOld Whether the newest value is no longer live: its band is then not told as held. */
  setOld(isOld) {
    this._isOld = isOld;
  }

  /** @param {{t_ms: number, words: string}[]} markers */
  setMarkers(markers) {
    this.markers = markers;
    this._draw();
  }

  /** @param {import('../phase-stretches.mjs').PhaseStart[]} phases That were started so far. */
  setPhases(phases) {
    this.phases = phases;
    this._draw();
  }

  /** @param {object[]} sets The times in this channel's bands, as the bridge tells them. */
  showBandTimes(sets) {
    this._plainLabel.hidden = !sets.length;
    this.bandTimes.show(sets, this.channel);
  }

  /** @param {'nearer' | 'farther' | 'earlier' | 'later' | 'whole' | 'last'} does */
  act(does) {
    const nowMs = this.link.now();
    this._look({
      nearer: () => zoomed(this.view, 0.5, nowMs),
      farther: () => zoomed(this.view, 2, nowMs),
      earlier: () => moved(this.view, -0.5, nowMs),
      later: () => moved(this.view, 0.5, nowMs),
      whole: () => ({kind: 'whole'}),
      last: () => ({kind: 'last', ms: TWO_MINUTES_MS}),
    }[does]());
  }

  /** Show an instant in the middle. */
  showInstant(atMs) {
    const fromMs = Math.max(0, atMs - NEAR_MS);
    this._look(viewOf({fromMs, toMs: fromMs + 2 * NEAR_MS}, this.link.now()));
  }

  /** Look at this: with what is known at once, then as fine as can be seen. */
  _look(view) {
    this.view = view;
    this._draw();
    this._want();
  }

  _beat() {
    if (document.hidden || !this.picture.canDraw) return;
    if (this.view.kind === 'fixed' && this._answer.isComplete) return;
    if (this._hasNew || this._answer === NOTHING) this._want();
    else if (this.view.kind !== 'fixed' && this.link.speed > 0 && this.link.state === 'open') this._draw(); // time goes on
  }

  /** Ask for what is in view; one question at a time. */
  async _want() {
    if (!this.channel || !this.picture.canDraw || this.link.state !== 'open') return;
    this._isWanted = this._isAsking;
    if (this._isAsking) return;
    this._isAsking = true;
    this._hasNew = false;
    const generation = this._generation;
    const nowMs = this.link.now();
    const {fromMs, toMs} = stretchOf(this.view, nowMs);
    const answer = await this.link.history({
      bench: this.bench, channel: this.index, from_ms: Math.floor(fromMs), to_ms: Math.ceil(toMs),
      rows: Math.min(MOST_ROWS, Math.max(2, this.picture.nColumns)), ...(this._hasPlain.checked && {plain: true}),
    });
    if (generation !== this._generation) return;
    this._isAsking = false;
    if (answer) this._take(answer, toMs < nowMs - 2 * DRAW_MS);
    if (this._isWanted) this._want();
  }

  _take({rows, ribbon, plain = [], alarms}, isComplete) {
    this._answer = {rows, ribbon, plain, isComplete};
    this.element.dataset.rows = String(rows.length);
    this.onAlarms(alarms);
    this._draw();
  }

  _draw() {
    if (!this.channel || !this.picture.canDraw) return;
    const nowMs = this.link.now();
    const stretch = stretchOf(this.view, nowMs);
    const {rows, ribbon} = this._answer;
    const plain = this._hasPlain.checked ? this._answer.plain : null;
    const inside = rows.filter((row) => row && row[0] >= stretch.fromMs && row[0] <= stretch.toMs);
    const u = Number.isFinite(this.newest?.u) ? this.newest.u : 0;
    const range = rangeOf(inside, this.channel, u, this._fits.checked);
    const untilMs = this._isOld ? Math.min(nowMs, this.newest?.atMs ?? 0) : nowMs;
    const {channel, newest, markers, phases} = this;
    this.picture.draw({rows, ribbon, plain, phases, stretch, channel, range, u, newest, markers, untilMs});
    this._word(stretch, inside, range, u);
  }

  _word(stretch, inside, range, u) {
    const [from, to] = [clockWords(stretch.fromMs, false), clockWords(stretch.toMs, false)];
    write(this._span, `${from} to ${to}, ${formatAge(stretch.toMs - stretch.fromMs)}`);
    const isLastTwo = this.view.kind === 'last' && this.view.ms === TWO_MINUTES_MS;
    for (const [does, isOn] of [['whole', this.view.kind === 'whole'], ['last', isLastTwo]]) {
      setAttribute(this._buttons.querySelector(`[data-does=${does}]`), 'aria-pressed', String(isOn));
    }
    const summary = inWords(inside, this.channel);
    const beyond = wordsBeyond(this.channel, range);
    const notes = [inside.length ? '' : summary];
    if (u > 0 && inside.length) {
      const words = `${formatNumber(u, this.channel.decimals + 1)} ${this.channel.unit}`.trim();
      notes.push(`Shaded: the curve ± ${words}, the standard uncertainty of the newest value.`);
    }
    if (beyond) notes.push(`Outside this scale: ${beyond}.`);
    write(this._note, notes.filter(Boolean).join(' '));
    write(this._spoken, summary);
  }
}

/** For those who do not see the curve. */
function inWords(rows, {unit, decimals}) {
  if (!rows.length) return 'No reading in this stretch.';
  let [least, greatest] = [Infinity, -Infinity];
  for (const [, low, high] of rows) [least, greatest] = [Math.min(least, low), Math.max(greatest, high)];
  return `Least ${formatNumber(least, decimals)} ${unit}, greatest ${formatNumber(greatest, decimals)} ${unit}.`;
}
