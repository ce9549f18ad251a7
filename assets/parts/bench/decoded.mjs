/** The newest line's fields, and how the channel's value is made of them, with this moment's numbers. */

import {formatNumber} from '../numbers.mjs';
import {make, write} from '../page.mjs';
import {visiblePieces} from '../visible.mjs';

const QUALITY = ['good', 'uncertain', 'not to be trusted'];

/**
 * A number as exact as is of use, with a true minus sign.
 * @param {number | null} number
 * @returns {string} At most 6 significant digits; "–" without a number.
 */
export function sixDigits(number) {
  if (number === null || !Number.isFinite(number)) return formatNumber(null, 0);
  return String(Number(number.toPrecision(6))).replace('-', '−');
}

/** @returns {{element: HTMLElement, show: (fields: [string, string, number | null, string][]) => void}} */
export function createFields() {
  const body = make('tbody');
  const head = make('tr', {}, ...['Field', 'As printed', 'Number', 'Unit'].map((words) => make('th', {scope: 'col'}, words)));
  const table = make('table', {class: 'fields', 'data-role': 'fields'}, make('thead', {}, head), body);
  const none = make('p', {class: 'soft'}, 'They come with the next line that is read.');
  table.hidden = true;
  return {
    element: make('div', {}, table, none),
    show(fields) {
      table.hidden = !fields.length;
      none.hidden = fields.length > 0;
      while (body.childElementCount > fields.length) body.lastElementChild.remove();
      while (body.childElementCount < fields.length) {
        body.append(make('tr', {}, make('th', {scope: 'row'}), make('td', {class: 'fixed'}), make('td', {class: 'number'}), make('td')));
      }
      fields.forEach(([name, text, value, unit], i) => {
        const [first, printed, number, last] = body.children[i].children;
        write(first, seen(name));
        write(printed, seen(text));
        write(number, value === null ? '– (missing)' : sixDigits(value));
        write(last, seen(unit));
      });
    },
  };
}

const seen = (text) => visiblePieces(text).map(({words}) => words).join('');

/**
 * @returns {{element: HTMLElement, show: (steps: object[], channel: object | null) => void,
 *     showReading: (newest: object | null, channel: object | null) => void}}
 */
export function createSteps() {
  const list = make('ol', {class: 'steps', 'data-role': 'steps'});
  const reading = make('p', {class: 'steps-reading', 'data-role': 'reading'});
  return {
    element: make('div', {}, list, reading),
    show(steps, channel) {
      const mine = steps.filter((step) => step.channel === channel?.name);
      while (list.childElementCount > mine.length) list.lastElementChild.remove();
      while (list.childElementCount < mine.length) {
        list.append(make('li', {}, make('span', {class: 'step-words'}), make('span', {class: 'step-formula fixed'}),
          make('span', {class: 'step-number'})));
      }
      mine.forEach(({words, formula, number, unit}, i) => {
        const [first, middle, last] = list.children[i].children;
        write(first, seen(words));
        write(middle, seen(formula));
        write(last, `${formula ? '= ' : ''}${sixDigits(number)} ${seen(unit)}`.trim());
      });
    },
    showReading(newest, channel) {
      if (!newest || !channel) {
        write(reading, 'No reading yet.');
        return;
      }
      const {decimals, unit} = channel;
      const u = Number.isFinite(newest.u) ? `, standard uncertainty ± ${formatNumber(newest.u, decimals + 1)} ${unit}` : '';
      const quality = `${QUALITY[newest.quality] ?? ''}${newest.reason ? `: ${newest.reason}` : ''}`;
      write(reading, `Reading: ${formatNumber(newest.value, decimals)} ${unit}${u}; ${quality}.`);
    },
  };
}
