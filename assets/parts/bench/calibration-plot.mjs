/** The picture of a calibration, drawn anew only when it, its place or the colours changed. */

import {make, setAttribute} from '../page.mjs';
import {calibrationFigure} from './calibration-figure.mjs';
import {loadPlotly} from './plotly.mjs';

const TOKENS = {ink: '--ink', soft: '--ink-soft', line: '--line', faint: '--line-faint', curve: '--curve', card: '--card'};

export class CalibrationPlot {
  /** @param {string} plotlyUrl */
  constructor(plotlyUrl) {
    this._plotlyUrl = plotlyUrl;
    this._plotly = null;
    this._shown = null; // {points, fit, unit}
    this._drawn = '';
    this.element = make('div', {class: 'calibration-plot', role: 'img', hidden: '', 'data-role': 'calibration-plot'});
    new ResizeObserver(() => this._draw()).observe(this.element);
    for (const query of ['(prefers-color-scheme: dark)', '(prefers-contrast: more)']) {
      matchMedia(query).addEventListener('change', () => this._draw());
    }
  }

  /**
   * @param {object | null} calibration As the bridge tells it; null without one.
   * @param {string} unit
   */
  show(calibration, unit) {
    const points = calibration?.points ?? [];
    this._shown = points.length ? {points, fit: calibration.fit, unit} : null;
    this.element.hidden = !this._shown;
    if (!this._shown) return;
    setAttribute(this.element, 'aria-label',
      `${points.length} ${points.length === 1 ? 'point' : 'points'}, reference over indication with the fit; below, the residuals. `
      + 'The table holds the same numbers.');
    if (this._plotly) this._draw();
    else loadPlotly(this._plotlyUrl).then((plotly) => { this._plotly = plotly; this._draw(); }, () => { this.element.hidden = true; });
  }

  _draw() {
    if (!this._plotly || !this._shown || !this.element.clientWidth) return;
    const style = getComputedStyle(this.element);
    const {clientWidth: width, clientHeight: height} = this.element;
    const colours = Object.fromEntries(
      Object.entries(TOKENS).map(([name, token]) => [name, style.getPropertyValue(token).trim()]));
    const view = {...this._shown, box: {width, height, font: parseFloat(style.fontSize)}, colours, font: style.fontFamily};
    const key = JSON.stringify(view);
    if (key === this._drawn) return;
    this._drawn = key;
    const {data, layout} = calibrationFigure(view);
    this._plotly.react(this.element, data, layout, {displayModeBar: false, staticPlot: true, responsive: false});
  }
}
