/** The picture of a history: Plotly's curve, the names beside it, the markers' names above, the ribbon below. */

import {createMark} from '../marks.mjs';
import {make, write} from '../page.mjs';
import {figureOf, namesBeside} from './figure.mjs';
import {bandNamesAt, phaseStretches} from '../phase-stretches.mjs';
import {createPhaseLane, shadePhases} from './phase-lane.mjs';
import {brokenByGaps, createRibbon, plainSteps, ribbonSteps} from './ribbon.mjs';
import {spread} from './stretch.mjs';

const TOKENS = {ink: '--ink', soft: '--ink-soft', line: '--line', faint: '--line-faint', curve: '--curve', card: '--card'};
const NEWEST_LATE_MS = 500; // a value that came since the stretch was worked out still stands at its end
const BOX_WORDS =
  'History. Keys: plus and minus zoom, arrow keys move, Home shows the whole session, End the last 2 minutes.';

/**
 * @typedef {object} Shown
 * @property {import('./figure.mjs').Row[]} rows
 * @property {[number, number | null][]} ribbon
 * @property {any[][] | null} plain The same without a deadband; null when nobody asked for it.
 * @property {import('../phase-stretches.mjs').PhaseStart[]} phases
 * @property {import('./stretch.mjs').Stretch} stretch
 * @property {object} channel As the bridge describes it.
 * @property {import('./figure.mjs').Range} range Of the upright axis.
 * @property {number} u Standard uncertainty of the newest value; 0 for none.
 * @property {{atMs: number, value: number | null} | null} newest
 * @property {{t_ms: number, words: string}[]} markers
 * @property {number} untilMs The newest band is known up to here.
 */

export class Picture {
  /** @param {{choose: (stretch: import('./stretch.mjs').Stretch) => void, whole: () => void}} acts By mouse. */
  constructor(acts) {
    this._acts = acts;
    this._plotly = null;
    this._mark = null;
    this._isHeard = false;
    /** Nothing is drawn anew under a drag. */
    this.isHeld = false;
    this._phases = make('div', {class: 'history-phases', 'aria-hidden': 'true'});
    this._plot = make('div', {class: 'history-plot'});
    this._beside = make('div', {class: 'history-beside', 'aria-hidden': 'true'});
    this._above = make('div', {class: 'history-above', 'aria-hidden': 'true'});
    this._newestMark = make('span', {class: 'history-newest', hidden: ''});
    this.box = make('div', {class: 'history-box', 'data-role': 'history', tabindex: '0', role: 'group', 'aria-label': BOX_WORDS},
      this._phases, this._plot, this._above, this._beside, this._newestMark);
    this._lane = createPhaseLane();
    this._ribbon = createRibbon();
    this._plain = createRibbon('No dead\u00adband', 'plain-ribbon');
    this.element = make('div', {}, this.box, this._lane.element, this._ribbon.element, this._plain.element);
    this._plot.addEventListener('pointerdown', () => { this.isHeld = true; });
    for (const end of ['pointerup', 'pointercancel', 'blur']) addEventListener(end, () => { this.isHeld = false; });
  }

  /** @param {any} plotly The drawing library, once it is there. */
  begin(plotly) {
    this._plotly = plotly;
  }

  /** Whether a drawing would be seen now. */
  get canDraw() {
    return this._plotly !== null && !this.isHeld && this.box.clientWidth > 0;
  }

  /** @param {{shape: string, colour: string}} bench Whose mark ends the curve. */
  setMark({shape, colour}) {
    if (this._mark === `${shape} ${colour}`) return;
    this._mark = `${shape} ${colour}`;
    const mark = createMark({shape, colour});
    mark.removeAttribute('data-role'); // the bench's mark stands at its name
    this._newestMark.replaceChildren(mark);
  }

  /** @returns {number} Columns of pixels that the curve has. */
  get nColumns() {
    return Math.round(this._geometry().plotWidth);
  }

  _geometry() {
    const style = getComputedStyle(this.box);
    const font = parseFloat(style.fontSize);
    const {clientWidth: width, clientHeight: height} = this.box;
    const [left, right, top, bottom] = ['left', 'right', 'top', 'bottom']
      .map((side) => font * parseFloat(style.getPropertyValue(`--room-${side}`)));
    return {
      width, height, left, right, top, bottom, font, style,
      plotWidth: Math.max(10, width - left - right), plotHeight: Math.max(10, height - top - bottom),
    };
  }

  /** @param {Shown} shown */
  draw(shown) {
    const box = this._geometry();
    const {rows, ribbon, stretch, channel, range, untilMs} = shown;
    const colours = Object.fromEntries(
      Object.entries(TOKENS).map(([name, token]) => [name, box.style.getPropertyValue(token).trim()]));
    const markers = shown.markers.filter(({t_ms: ms}) => ms >= stretch.fromMs && ms <= stretch.toMs);
    const {data, layout} = figureOf({
      ...shown, box, colours, font: box.style.fontFamily, markersMs: markers.map(({t_ms: ms}) => ms),
    });
    layout.dragmode = matchMedia('(pointer: coarse)').matches ? false : 'zoom'; // a finger scrolls the page
    this._plotly.react(this._plot, data, layout, {displayModeBar: false, doubleClick: false, scrollZoom: false, responsive: false});
    this._hear();
    const place = {
      x: (ms) => box.left + box.plotWidth * (ms - stretch.fromMs) / (stretch.toMs - stretch.fromMs),
      y: (value) => box.top + box.plotHeight * (range.high - value) / (range.high - range.low),
    };
    this._nameLevels(box, place, namesBeside(channel, range));
    this._nameMarkers(box, place, markers);
    this._showNewest(box, place, shown);
    this._showBands(shown);
  }

  /** Phases, bands, and on request the bands without a deadband: all on the same time axis. */
  _showBands({rows, ribbon, plain, stretch, channel, phases, untilMs}) {
    const spanMs = stretch.toMs - stretch.fromMs;
    const shareOf = (ms) => (ms - stretch.fromMs) / spanMs;
    const stretches = phaseStretches(phases, stretch);
    this._lane.show(stretches, shareOf);
    for (const place of [this._phases, this._ribbon.phases, this._plain.phases]) shadePhases(place, stretches, shareOf);
    const namesOf = ({from}) => bandNamesAt(channel, phases, stretch.fromMs + from * spanMs + 1);
    this._ribbon.show(ribbonSteps(brokenByGaps(ribbon, rows), stretch, untilMs), namesOf);
    this._plain.element.hidden = plain === null;
    if (plain !== null) this._plain.show(plainSteps(plain, stretch, untilMs), namesOf);
  }

  _hear() {
    if (this._isHeard) return;
    this._isHeard = true;
    this._plot.on('plotly_doubleclick', () => this._acts.whole());
    this._plot.on('plotly_relayout', (changed) => {
      const [from, to] = [changed['xaxis.range[0]'], changed['xaxis.range[1]']].map(Number);
      if (!Number.isFinite(from) || !Number.isFinite(to)) return;
      this.isHeld = false;
      this._acts.choose({fromMs: Math.max(0, from), toMs: to});
    });
  }

  _nameLevels(box, {y}, names) {
    const room = {from: box.top, to: box.height - box.bottom};
    const places = spread(names.map(({value}) => y(value)), 1.15 * box.font, room);
    fill(this._beside, names, (element, {words, kind}, i) => {
      write(element, words);
      element.dataset.kind = kind;
      element.style.top = `${places[i]}px`;
    });
  }

  _nameMarkers(box, {x}, markers) {
    fill(this._above, markers, (element, {t_ms: ms, words}, i) => {
      const room = (i + 1 < markers.length ? x(markers[i + 1].t_ms) : box.width) - x(ms);
      write(element, room > 2 * box.font ? words : '');
      element.style.left = `${x(ms)}px`;
      element.style.maxWidth = `${Math.max(0, room - 4)}px`;
    });
  }

  _showNewest(box, {x, y}, {newest, stretch}) {
    const isShown = newest && newest.value !== null && newest.atMs >= stretch.fromMs
      && newest.atMs <= stretch.toMs + NEWEST_LATE_MS;
    this._newestMark.hidden = !isShown;
    if (!isShown) return;
    const up = Math.min(box.height - box.bottom, Math.max(box.top, y(newest.value)));
    this._newestMark.style.translate = `${Math.min(box.width - box.right, x(newest.atMs))}px ${up}px`;
  }
}

/** As many elements as values; each shown by `show`. */
function fill(parent, values, show) {
  while (parent.childElementCount > values.length) parent.lastElementChild.remove();
  while (parent.childElementCount < values.length) parent.append(make('span'));
  values.forEach((value, i) => show(parent.children[i], value, i));
}
