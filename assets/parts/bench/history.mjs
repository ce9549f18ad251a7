/**
 * A channel's history with zoom: asks the bridge for what is in view, one row for each column of pixels, and has it drawn.
 * Live it is drawn at most twice a second; what a person asks for is drawn at once.
 */

import {createMark} from '../marks.mjs';
import {formatAge, formatNumber} from '../numbers.mjs';
import {make, setAttribute, write} from '../page.mjs';
import {figureOf, namesBeside, rangeOf, wordsBeyond, clockWords} from './figure.mjs';
import {loadPlotly} from './plotly.mjs';
import {brokenByGaps, createRibbon, ribbonSteps} from './ribbon.mjs';
import {TWO_MINUTES_MS, moved, spread, stretchOf, viewOf, zoomed} from './stretch.mjs';

const DRAW_MS = 500;
const MOST_ROWS = 2000; // of one answer, by the message's schema
const TOKENS = {ink: '--ink', soft: '--ink-soft', line: '--line', faint: '--line-faint', curve: '--curve', card: '--card'};
const KEYS = {'+': 'nearer', '=': 'nearer', '-': 'farther', '−': 'farther', ArrowLeft: 'earlier', ArrowRight: 'later'};
const HINT = 'Drag over a stretch to see it larger; with Shift, drag to move along; double-click for the whole session.';

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
    this._mark = {shape: 'circle', colour: 'black'};
    this._generation = 0; // answers to questions of an earlier one are passed over
    this._answer = {rows: [], ribbon: [], stretch: null};
    this._isAsking = false;
    this._isWanted = false;
    this._hasNew = false;
    this._isHeld = false;
    this._isOld = false;
    this._plotly = null;
    this._build();
    this._listen();
    loadPlotly(plotlyUrl).then((plotly) => this._begin(plotly), (error) => {
      write(this._note, `No picture can be drawn: ${error.message}. Load the page again.`);
    });
  }

  _build() {
    const button = (does, words, label) => {
      const one = make('button', {type: 'button', 'data-does': does, 'aria-label': label, title: label}, words);
      one.addEventListener('click', () => this.act(does));
      return one;
    };
    this._buttons = make('div', {class: 'history-buttons', role: 'group', 'aria-label': 'Stretch of time'},
      button('nearer', '+', 'Less time, larger'), button('farther', '−', 'More time, smaller'),
      button('earlier', '←', 'Earlier'), button('later', '→', 'Later'),
      button('whole', 'Whole session', 'Whole session'), button('last', 'Last 2 minutes', 'Last 2 minutes'));
    this._fits = make('input', {type: 'checkbox', id: 'history-fits'});
    this._span = make('span', {class: 'history-span', 'data-role': 'span'});
    this._plot = make('div', {class: 'history-plot'});
    this._beside = make('div', {class: 'history-beside', 'aria-hidden': 'true'});
    this._above = make('div', {class: 'history-above', 'aria-hidden': 'true'});
    this._newestMark = make('span', {class: 'history-newest', hidden: ''});
    this._box = make('div', {
      class: 'history-box', 'data-role': 'history', tabindex: '0', role: 'group',
      'aria-label': 'History. Keys: plus and minus zoom, arrow keys move, Home shows the whole session, End the last 2 minutes.',
    }, this._plot, this._above, this._beside, this._newestMark);
    this._ribbon = createRibbon();
    this._note = make('p', {class: 'history-note', 'data-role': 'history-note'});
    this._spoken = make('p', {class: 'out-of-sight', 'data-role': 'history-words'});
    this.element = make('div', {class: 'history'},
      make('div', {class: 'history-tools'}, this._buttons,
        make('label', {class: 'check', for: 'history-fits'}, this._fits, 'Fit the scale to the curve'), this._span),
      this._box, this._ribbon.element, this._spoken, this._note, make('p', {class: 'history-hint'}, HINT));
  }

  _listen() {
    this._fits.addEventListener('change', () => this._draw());
    this._box.addEventListener('keydown', (event) => {
      const does = KEYS[event.key] ?? {Home: 'whole', End: 'last'}[event.key];
      if (!does || event.ctrlKey || event.altKey || event.metaKey) return;
      event.preventDefault();
      this.act(does);
    });
    // Nothing is drawn anew under a drag.
    this._plot.addEventListener('pointerdown', () => { this._isHeld = true; });
    for (const end of ['pointerup', 'pointercancel', 'blur']) addEventListener(end, () => { this._isHeld = false; });
    for (const query of ['(prefers-color-scheme: dark)', '(prefers-contrast: more)']) {
      matchMedia(query).addEventListener('change', () => this._draw());
    }
    setInterval(() => this._beat(), DRAW_MS);
  }

  _begin(plotly) {
    this._plotly = plotly;
    this._wantNow();
    new ResizeObserver(() => {
      this._draw();
      this._want();
    }).observe(this._box);
  }

  /**
   * Begin anew: another session, another place of a replay, another channel.
   * @param {object | null} channel As the bridge describes it.
   * @param {number} index
   */
  restart(channel, index) {
    this._generation += 1;
    this._answer = {rows: [], ribbon: [], stretch: null};
    this._isAsking = false;
    this.newest = null;
    this.describe(channel, index);
    this._wantNow();
  }

  /** The channel's scale, bands or limits changed. */
  describe(channel, index) {
    this.channel = channel;
    this.index = index;
    this._draw();
  }

  /** @param {{shape: string, colour: string}} bench Whose mark ends the curve. */
  setMark(bench) {
    if (bench.shape === this._mark.shape && bench.colour === this._mark.colour && this._newestMark.firstChild) return;
    this._mark = bench;
    const mark = createMark(bench);
    mark.removeAttribute('data-role'); // the bench's mark stands at its name
    this._newestMark.replaceChildren(mark);
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

  /** @param {'nearer' | 'farther' | 'earlier' | 'later' | 'whole' | 'last'} does */
  act(does) {
    const nowMs = this.link.now();
    this.view = {
      nearer: () => zoomed(this.view, 0.5, nowMs),
      farther: () => zoomed(this.view, 2, nowMs),
      earlier: () => moved(this.view, -0.5, nowMs),
      later: () => moved(this.view, 0.5, nowMs),
      whole: () => ({kind: 'whole'}),
      last: () => ({kind: 'last', ms: TWO_MINUTES_MS}),
    }[does]();
    this._wantNow();
  }

  /** Show an instant in the middle, as near as the view is now. */
  showInstant(atMs) {
    const {fromMs, toMs} = stretchOf(this.view, this.link.now());
    const half = Math.min(30_000, (toMs - fromMs) / 2);
    this.view = viewOf({fromMs: Math.max(0, atMs - half), toMs: Math.max(0, atMs - half) + 2 * half}, this.link.now());
    this._wantNow();
  }

  _wantNow() {
    this._draw();
    this._want();
  }

  _beat() {
    if (this._isHeld || document.hidden || !this._plotly) return;
    if (this.view.kind === 'fixed' && this.view.toMs < this.link.now() - 2 * DRAW_MS && this._answer.isComplete) return;
    if (this._hasNew) this._want();
    else if (this.view.kind !== 'fixed' && this.link.speed > 0 && this.link.state === 'open') this._draw(); // time goes on
  }

  /** Ask for what is in view; one question at a time. */
  async _want() {
    if (!this.channel || !this._plotly || !this._box.clientWidth || this.link.state !== 'open') return;
    if (this._isAsking) {
      this._isWanted = true;
      return;
    }
    this._isAsking = true;
    this._isWanted = false;
    this._hasNew = false;
    const generation = this._generation;
    const nowMs = this.link.now();
    const stretch = stretchOf(this.view, nowMs);
    const span = {
      bench: this.bench, channel: this.index, from_ms: Math.floor(stretch.fromMs), to_ms: Math.ceil(stretch.toMs),
      rows: Math.min(MOST_ROWS, Math.max(2, Math.round(this._geometry().plotWidth))),
    };
    const answer = await this.link.history(span);
    if (generation !== this._generation) return;
    this._isAsking = false;
    if (answer) {
      this._answer = {rows: answer.rows, ribbon: answer.ribbon, stretch, isComplete: stretch.toMs < nowMs - 1000};
      this.element.dataset.rows = String(answer.rows.length);
      this.onAlarms(answer.alarms);
      this._draw();
    }
    if (this._isWanted) this._want();
  }

  _geometry() {
    const style = getComputedStyle(this._box);
    const font = parseFloat(style.fontSize);
    const {clientWidth: width, clientHeight: height} = this._box;
    const [left, right, top, bottom] = ['left', 'right', 'top', 'bottom']
      .map((side) => font * parseFloat(style.getPropertyValue(`--room-${side}`)));
    return {
      width, height, left, right, top, bottom, font, plotWidth: Math.max(10, width - left - right),
      plotHeight: Math.max(10, height - top - bottom), style,
    };
  }

  _draw() {
    if (!this._plotly || !this.channel || this._isHeld || !this._box.clientWidth) return;
    const nowMs = this.link.now();
    const box = this._geometry();
    const stretch = stretchOf(this.view, nowMs);
    const u = Number.isFinite(this.newest?.u) ? this.newest.u : 0;
    const range = rangeOf(this._rowsIn(stretch), this.channel, u, this._fits.checked);
    const colours = Object.fromEntries(
      Object.entries(TOKENS).map(([name, token]) => [name, box.style.getPropertyValue(token).trim()]));
    const markers = this.markers.filter(({t_ms: ms}) => ms >= stretch.fromMs && ms <= stretch.toMs);
    const {data, layout} = figureOf({
      rows: this._answer.rows, stretch, channel: this.channel, u, range, box, colours, font: box.style.fontFamily,
      markersMs: markers.map(({t_ms: ms}) => ms),
    });
    this._plotly.react(this._plot, data, {...layout, dragmode: matchMedia('(pointer: coarse)').matches ? false : 'zoom'},
      {displayModeBar: false, doubleClick: false, scrollZoom: false, showTips: false, responsive: false});
    this._hearPlot();
    this._name(box, range, stretch, markers);
    const ribbon = brokenByGaps(this._answer.ribbon, this._answer.rows);
    const untilMs = this._isOld ? Math.min(nowMs, this.newest?.atMs ?? 0) : nowMs;
    this._ribbon.show(ribbonSteps(ribbon, stretch, untilMs), this.channel.edge_names);
    this._word(stretch, range, u);
  }

  _rowsIn({fromMs, toMs}) {
    return this._answer.rows.filter((row) => row && row[0] >= fromMs && row[0] <= toMs);
  }

  _hearPlot() {
    if (this._isHeard) return;
    this._isHeard = true;
    this._plot.on('plotly_doubleclick', () => this.act('whole'));
    this._plot.on('plotly_relayout', (changed) => {
      const [from, to] = [changed['xaxis.range[0]'], changed['xaxis.range[1]']].map(Number);
      if (!Number.isFinite(from) || !Number.isFinite(to)) return;
      this._isHeld = false;
      this.view = viewOf({fromMs: Math.max(0, from), toMs: to}, this.link.now());
      this._wantNow();
    });
  }

  /** Names at the right of their levels, markers' names above, the bench's mark at the newest value. */
  _name(box, range, stretch, markers) {
    const y = (value) => box.top + box.plotHeight * (range.high - value) / (range.high - range.low);
    const x = (ms) => box.left + box.plotWidth * (ms - stretch.fromMs) / (stretch.toMs - stretch.fromMs);
    const names = namesBeside(this.channel, range);
    const apart = 1.15 * box.font;
    const places = spread(names.map(({value}) => y(value)), apart, {from: box.top, to: box.height - box.bottom});
    fill(this._beside, names, (element, {words, kind}, i) => {
      write(element, words);
      element.dataset.kind = kind;
      element.style.top = `${places[i]}px`;
    });
    fill(this._above, markers, (element, {t_ms: ms, words}, i) => {
      const room = (i + 1 < markers.length ? x(markers[i + 1].t_ms) : box.width) - x(ms);
      write(element, room > 2 * box.font ? words : '');
      element.style.left = `${x(ms)}px`;
      element.style.maxWidth = `${Math.max(0, room - 4)}px`;
    });
    const {newest} = this;
    const isShown = newest && newest.value !== null && newest.atMs >= stretch.fromMs && newest.atMs <= stretch.toMs + DRAW_MS;
    this._newestMark.hidden = !isShown;
    if (isShown) {
      const place = Math.min(box.height - box.bottom, Math.max(box.top, y(newest.value)));
      this._newestMark.style.translate = `${Math.min(box.width - box.right, x(newest.atMs))}px ${place}px`;
    }
  }

  _word(stretch, range, u) {
    const {unit, decimals} = this.channel;
    const [from, to] = [clockWords(stretch.fromMs, false), clockWords(stretch.toMs, false)];
    write(this._span, `${from} to ${to}, ${formatAge(stretch.toMs - stretch.fromMs)}`);
    for (const [does, isOn] of [['whole', this.view.kind === 'whole'], ['last', this._isLastTwo()]]) {
      setAttribute(this._buttons.querySelector(`[data-does=${does}]`), 'aria-pressed', String(isOn));
    }
    const notes = [];
    const rows = this._rowsIn(stretch);
    if (u > 0 && rows.length) {
      notes.push(`Shaded: the curve ± ${formatNumber(u, decimals + 1)} ${unit}, the standard uncertainty of the newest value.`);
    }
    const beyond = wordsBeyond(this.channel, range);
    if (beyond) notes.push(`Outside this scale: ${beyond}.`);
    if (!rows.length) notes.unshift('No reading in this stretch.');
    write(this._note, notes.join(' '));
    write(this._spoken, this._inWords(rows));
  }

  _isLastTwo() {
    return this.view.kind === 'last' && this.view.ms === TWO_MINUTES_MS;
  }

  _inWords(rows) {
    if (!rows.length) return 'No reading in this stretch.';
    const {unit, decimals} = this.channel;
    const least = Math.min(...rows.map(([, low]) => low));
    const greatest = Math.max(...rows.map(([, , high]) => high));
    return `Least ${formatNumber(least, decimals)} ${unit}, greatest ${formatNumber(greatest, decimals)} ${unit}.`;
  }
}

/** As many elements as values; each shown by `show`. */
function fill(parent, values, show) {
  while (parent.childElementCount > values.length) parent.lastElementChild.remove();
  while (parent.childElementCount < values.length) parent.append(make('span'));
  values.forEach((value, i) => show(parent.children[i], value, i));
}
