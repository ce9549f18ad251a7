/** A channel's calibration: when it is steady, points captured or typed in, the fit, its picture and its numbers. */

import {ask, createTold} from '../asking.mjs';
import {isSure} from '../confirming.mjs';
import {numberEntry, readEntries, wordsEntry} from '../entering.mjs';
import {createFits} from '../fits.mjs';
import {NO_VALUE, formatNumber, formatU} from '../numbers.mjs';
import {make, write} from '../page.mjs';
import {steadyWords} from '../steady.mjs';
import {CalibrationPlot} from './calibration-plot.mjs';
import {sixDigits} from './decoded.mjs';

const COLUMNS = ['Reference', 'Indication', 'Fitted', 'Residual'];
const FACTS = {words: 'Fit', coefficients: 'Coefficients of the correction', scatter: 'Scatter of the residuals', lack: 'Lack of fit',
  reference: 'Reference', date: 'Date'};
const NOT_YET = 'Not calibrated. The first point that is captured or typed in begins the calibration.';
const KEPT = 'A replay has no board to calibrate. What another gain or offset would show can be tried under “This bench’s settings”.';
const ASKED = {
  title: 'Remove the calibration?', words: 'Its points are taken out of the lesson file. The readings are then as they were without it.',
  stay: 'Keep it', go: 'Remove it',
};

export class CalibrationPanel {
  /**
   * @param {import('../link.mjs').Link} link
   * @param {number} bench
   * @param {string} plotlyUrl
   */
  constructor(link, bench, plotlyUrl) {
    this.link = link;
    this.bench = bench;
    this.worth = null;
    this._plot = new CalibrationPlot(plotlyUrl);
    this._steady = make('p', {class: 'steady', 'data-role': 'steady'}, make('span', {class: 'steady-words'}), make('span'));
    this._units = [];
    this._acts = [this._buildCapture(), this._buildPoint(), this._buildFit()];
    this._kept = make('p', {class: 'soft', hidden: ''}, KEPT);
    this.element = make('div', {class: 'calibration'},
      make('div', {class: 'calibration-acts'}, this._steady, ...this._acts, this._kept), this._buildResult());
    this.show(null);
  }

  /** @param {'live' | 'replay'} source A replay has no board to calibrate. */
  setSource(source) {
    const isKept = source === 'replay';
    for (const element of [...this._acts, this._remove]) element.hidden = isKept;
    this._kept.hidden = !isKept;
    write(this._none, isKept ? 'Not calibrated.' : NOT_YET);
  }

  _buildCapture() {
    const reference = numberEntry('capture-reference', 'Reference', {isNeeded: true});
    const u = numberEntry('capture-u', 'Its u', {isPositive: true});
    const words = wordsEntry('capture-words', 'What it is', 'glass thermometer in the bath');
    const button = make('button', {type: 'submit', class: 'chief'}, 'Capture this steady reading');
    this._units.push(reference.unit, u.unit);
    return form('Capture', [reference, u, words], button, (told) => {
      const numbers = readEntries([reference, u], told);
      return numbers && {
        kind: 'capture', benches: [this.bench], reference: numbers[0], u_reference: numbers[1], words: words.input.value.trim(),
      };
    }, this);
  }

  _buildPoint() {
    const entries = [
      numberEntry('point-reference', 'Reference', {isNeeded: true}), numberEntry('point-u-reference', 'Its u', {isPositive: true}),
      numberEntry('point-indication', 'Indication', {isNeeded: true}), numberEntry('point-u-indication', 'Its u', {isPositive: true}),
    ];
    const words = wordsEntry('point-words', 'What the reference is', 'ice water');
    const button = make('button', {type: 'submit'}, 'Add the point');
    this._units.push(...entries.map(({unit}) => unit));
    const typed = form('', [...entries, words], button, (told) => {
      const numbers = readEntries(entries, told);
      if (!numbers) return null;
      const [reference, ofReference, indication, ofIndication] = numbers;
      return {
        kind: 'point', bench: this.bench, reference, indication, u_reference: ofReference, u_indication: ofIndication,
        words: words.input.value.trim(),
      };
    }, this);
    return make('details', {class: 'typed'}, make('summary', {}, 'Type a point in'), typed);
  }

  _buildFit() {
    const told = createTold();
    this._fits = createFits((fit, button) => {
      if (this.worth) ask(this.link, {kind: 'fit', benches: [this.bench], channel: this.worth.channel, fit}, {told, button});
    });
    return make('section', {class: 'calibration-fit'}, make('h4', {}, 'Fit'), this._fits.element, told);
  }

  _buildResult() {
    this._none = make('p', {class: 'soft'}, NOT_YET);
    this._facts = {};
    const list = make('dl', {class: 'facts', 'data-role': 'calibration'});
    for (const [key, words] of Object.entries(FACTS)) {
      this._facts[key] = make('dd', {'data-fact': `calibration-${key}`}, NO_VALUE);
      list.append(make('dt', {}, words), this._facts[key]);
    }
    this._rows = make('tbody');
    const table = make('table', {class: 'fields', 'data-role': 'points'}, make('caption', {class: 'out-of-sight'}, 'Points'),
      make('thead', {}, make('tr', {}, ...COLUMNS.map((words) => make('th', {scope: 'col'}, words)))), this._rows);
    const told = createTold();
    const button = make('button', {type: 'button'}, 'Remove the calibration');
    button.addEventListener('click', async () => {
      const channel = this.worth?.channel;
      if (channel && await isSure(ASKED)) ask(this.link, {kind: 'uncalibrate', bench: this.bench, channel}, {told, button});
    });
    this._remove = make('div', {class: 'acts'}, button);
    this._found = make('div', {class: 'calibration-found'}, this._plot.element,
      make('p', {class: 'soft'}, 'Bars: the standard uncertainty of each point, where it is known.'),
      list, make('div', {class: 'table-place'}, table), this._remove);
    return make('div', {class: 'calibration-result'}, this._none, this._found, told);
  }

  /** @param {object | null} worth What the bridge tells of the channel; null while unknown. */
  show(worth) {
    this.worth = worth;
    const unit = worth?.unit ?? '';
    for (const element of this._units) write(element, unit);
    const {symbol, words, mean, n} = steadyWords(worth?.steady ?? null, worth);
    write(this._steady.children[0], `${symbol} ${words}`);
    write(this._steady.children[1], mean && `Mean of ${n} readings: ${mean}`);
    this._steady.toggleAttribute('data-steady', worth?.steady.steady ?? false);
    const calibration = worth?.calibration ?? null;
    this._fits.show(calibration?.fit ?? null);
    if (!calibration && this._found.contains(document.activeElement)) this._found.closest('[tabindex]')?.focus();
    this._none.hidden = calibration !== null;
    this._found.hidden = calibration === null;
    this._plot.show(calibration, unit);
    if (calibration) this._showFound(calibration, worth);
  }

  _showFound({words, date, reference, coefficients, u, residual_sd: sd, lack_of_fit: lack, points}, {unit, decimals}) {
    const told = {
      words, date, reference, lack: lack || 'none', scatter: sd === null ? '' : `${formatU(sd)} ${unit}`.trim(),
      coefficients: coefficients.map((one, i) => sixDigits(one) + range(u[i])).join('; '),
    };
    for (const [key, value] of Object.entries(told)) write(this._facts[key], value || NO_VALUE);
    this._facts.lack.toggleAttribute('data-told', lack !== '');
    while (this._rows.childElementCount > points.length) this._rows.lastElementChild.remove();
    while (this._rows.childElementCount < points.length) {
      this._rows.append(make('tr', {}, ...COLUMNS.map(() => make('td', {class: 'number'}))));
    }
    points.forEach((one, i) => {
      const numbers = [
        sixDigits(one.reference) + range(one.u_reference), sixDigits(one.indication) + range(one.u_indication),
        formatNumber(one.fitted, decimals + 1), formatNumber(one.residual, decimals + 1),
      ];
      numbers.forEach((number, j) => write(this._rows.children[i].children[j], number));
    });
  }
}

const range = (u) => (u > 0 ? ` ± ${formatU(u)}` : ''); // nothing where it is not known

/** Entries with a button; what is sent is made by `read`, null when an entry was refused. */
function form(title, entries, button, read, panel) {
  const told = createTold();
  const made = make('form', {class: 'entries', novalidate: ''}, ...(title ? [make('h4', {}, title)] : []),
    ...entries.map(({element}) => element), make('div', {class: 'acts'}, button), told);
  made.addEventListener('submit', async (event) => {
    event.preventDefault();
    if (!panel.worth) return;
    const message = read(told);
    if (!message || !await ask(panel.link, {...message, channel: panel.worth.channel}, {told, button})) return;
    for (const {input, isNeeded} of entries) if (isNeeded) input.value = ''; // the next point has other numbers
  });
  return made;
}
